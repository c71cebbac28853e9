package stockroom_test

import (
	"strings"
	"testing"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/fitting"
	"lotpaper/internal/lines"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/store"
	"lotpaper/internal/testkit/books"
)

// A parcel of three grades shares its cost as a published exercise does: cost
// 35,000; 70, 105 and 175 stones of prices 800, 300 and 110 with further costs
// of 250, 120 and 5 a stone ("Joint cost of graded stones", SolutionInn, an
// exercise of a cost-accounting text): by net realisable value 17,783, 8,730
// and 8,487; by count 7,000, 10,500 and 17,500.
func TestLotSort_PublishedJointCost(t *testing.T) {
	parts := []stockroom.SortPart{
		{Label: "I", Pieces: 70, Carats: 70000, Value: books.Money("56000"), Further: books.Money("17500")},
		{Label: "II", Pieces: 105, Carats: 105000, Value: books.Money("31500"), Further: books.Money("12600")},
		{Label: "III", Pieces: 175, Carats: 175000, Value: books.Money("19250"), Further: books.Money("875")},
	}
	for key, want := range map[book.ShareKey][]string{
		book.ByNRV:    {"17783", "8730", "8487"},
		book.ByPieces: {"7000", "10500", "17500"},
	} {
		a := books.New(t)
		books.Buy(t, a, "lot,species,shape,pieces,weight_ct,price,price_basis\nA,topaz,oval,350,350.00,35000,total\n")
		done, err := a.Stockroom.LotSort(t.Context(), stockroom.LotSort{Movement: books.Moving, Lot: "A", Key: key,
			Parts: parts})
		if err != nil {
			t.Fatal(err)
		}
		got := books.Stock(t, a)
		for i, code := range done.Lots {
			if c := got[code].Cost.Dec().Fixed(0); c != want[i] {
				t.Errorf("by %s: %s costs %s, want %s", key, code, c, want[i])
			}
		}
		books.Sound(t, a)
	}
}

func TestLotSort_Refusals(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, books.OneLot)
	sort := func(parts ...stockroom.SortPart) error {
		_, err := a.Stockroom.LotSort(t.Context(), stockroom.LotSort{Movement: books.Moving, Lot: "A", Parts: parts})
		return err
	}
	books.Refused(t, sort(stockroom.SortPart{Pieces: 4, Carats: 8000}, stockroom.SortPart{Pieces: 5, Carats: 12000}),
		"sort-pieces")
	books.Refused(t, sort(stockroom.SortPart{Pieces: 4, Carats: 8000}, stockroom.SortPart{Pieces: 6, Carats: 11900}),
		"sort-weight")
	books.Refused(t, sort(stockroom.SortPart{Pieces: 4, Carats: 8000, Fixed: books.Money("101")},
		stockroom.SortPart{Pieces: 6, Carats: 12000}), "sort-fixed")
	if err := sort(stockroom.SortPart{Pieces: 4, Carats: 7990, Fixed: books.Money("70")}, stockroom.SortPart{Pieces: 6,
		Carats: 11980}); err != nil {
		t.Fatal(err)
	}
	got := books.Stock(t, a)
	if got["A.1"].Cost.String() != "70.00" || got["A.2"].Cost.String() != "30.00" || got["A"].Pieces != 0 {
		t.Errorf("after the sort: %v", got)
	}
	books.Sound(t, a)
}

func TestLotSplitMergeAdjust(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, books.OneLot)
	ctx := t.Context()
	if _, err := a.Stockroom.LotSplit(ctx, stockroom.LotSplit{Movement: books.Moving, Lot: "A", Pieces: 1, Carats: 4000,
		Stone: "S1"}); err != nil {
		t.Fatal(err)
	}
	if got := books.Stock(t, a)["A.1"]; got.Cost.String() != "20.00" || got.Stone != "S1" {
		t.Errorf("split off %+v", got)
	}
	_, err := a.Stockroom.LotAdjust(ctx, stockroom.LotAdjust{Movement: books.Moving, Lot: "A", Pieces: -1,
		Carats: -2000,
		To:     book.LossBreakage})
	if err != nil {
		t.Fatal(err)
	}
	if got := books.Stock(t, a)["A"]; got.Pieces != 8 || got.Cost.String() != "80.00" {
		t.Errorf("after a breakage the cost stays on what is left, but A is %+v", got)
	}
	if _, err := a.Stockroom.LotAdjust(ctx, stockroom.LotAdjust{Movement: books.Moving, Lot: "A", Pieces: -1,
		Carats: -1750,
		To:     book.LossCount}); err != nil {
		t.Fatal(err)
	}
	if got := books.Stock(t, a)["A"]; got.Cost.String() != "70.00" {
		t.Errorf("an abnormal loss takes its cost, but A costs %s", got.Cost)
	}
	if _, err := a.Stockroom.LotMerge(ctx, stockroom.LotMerge{Movement: books.Moving,
		Lots: []string{"A", "A.1"}}); err != nil {
		t.Fatal(err)
	}
	if got := books.Stock(t, a)["A.2"]; got.Pieces != 8 || got.Cost.String() != "90.00" || got.Carats != 16250 {
		t.Errorf("merged %+v", got)
	}
	books.Sound(t, a)
}

// A late charge goes to what is held by its key; the part of what was sold is
// a variance.
func TestChargeAdd_Late(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, "lot,species,shape,pieces,weight_ct,price,price_basis\nA,topaz,oval,5,10.00,100,total\nB,beryl,"+
		"oval,5,30.00,300,total\n")
	ctx := t.Context()
	if _, err := a.Stockroom.SaleAdd(ctx, stockroom.SaleAdd{Movement: books.Moving, Customer: "C",
		Lines: stockroom.Together(stockroom.Moving{Lot: "A"}),
		Bill:  stockroom.Bill{Price: books.Money("150")}}); err != nil {
		t.Fatal(err)
	}
	done, err := a.Stockroom.ChargeAdd(ctx, stockroom.ChargeAdd{Write: books.Who, Parcel: "P1", Kind: "freight",
		Amount: books.Money("40")})
	if err != nil {
		t.Fatal(err)
	}
	if done.Charge.Variance.String() != "10.00" || books.Stock(t, a)["B"].Cost.String() != "330.00" {
		t.Errorf("variance %s, B costs %s", done.Charge.Variance, books.Stock(t, a)["B"].Cost)
	}
	done, err = a.Stockroom.ChargeAdd(ctx, stockroom.ChargeAdd{Write: books.Who, Lot: "B", Kind: "laboratory",
		Amount: books.Money("25"), Tax: books.Money("5")})
	if err != nil || books.Stock(t, a)["B"].Cost.String() != "355.00" || done.Charge.Tax.String() != "5.00" {
		t.Errorf("laboratory: %+v, %v", done.Charge, err)
	}
	books.Sound(t, a)
}

func TestMemo_OutBackSell(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, books.OneLot)
	ctx := t.Context()
	out, err := a.Stockroom.MemoOut(ctx, stockroom.MemoOut{Movement: books.Moving, Party: "C",
		Lines: stockroom.Together(stockroom.Moving{Lot: "A", Pieces: 5, Carats: 10000})})
	if err != nil {
		t.Fatal(err)
	}
	_, err = a.Stockroom.MemoBack(ctx, stockroom.MemoBack{Movement: books.Moving, Number: out.Memo.Number,
		Lots: []stockroom.Moving{{Lot: "A", Pieces: 5, Carats: 9000}}})
	books.Refused(t, err, "return-differs")
	if _, err = a.Stockroom.MemoBack(ctx, stockroom.MemoBack{Movement: books.Moving, Number: out.Memo.Number,
		Lots: []stockroom.Moving{{Lot: "A", Pieces: 3, Carats: 6000}}}); err != nil {
		t.Fatal(err)
	}
	sold, err := a.Stockroom.MemoSell(ctx, stockroom.MemoSell{Movement: books.Moving, Number: out.Memo.Number,
		Bill: stockroom.Bill{Price: books.Money("60")}})
	if err != nil || sold.Sale.Cost.String() != "20.00" {
		t.Fatalf("sold %+v, %v", sold.Sale, err)
	}
	if open, _ := a.Stockroom.MemoList(ctx, stockroom.MemoList{}); len(open.Memos) != 0 {
		t.Errorf("open memos: %v", open.Memos)
	}
	back, err := a.Stockroom.SaleReturn(ctx, stockroom.SaleReturn{Movement: books.Moving, Number: sold.Sale.Number})
	if err != nil || books.Stock(t, a)["A"].Cost.String() != "100.00" || back.Credit == nil ||
		back.Credit.Cost != sold.Sale.Cost {
		t.Errorf("returned: %v, A costs %s", err, books.Stock(t, a)["A"].Cost)
	}
	_, err = a.Stockroom.SaleReturn(ctx, stockroom.SaleReturn{Movement: books.Moving, Number: sold.Sale.Number})
	books.Refused(t, err, "sale-returned")
	books.Sound(t, a)
}

// An order is sent with its paper in one write: no kill leaves one without the
// other.
func TestOrderSend_OneWrite(t *testing.T) {
	a, s := books.Interrupted(t)
	books.Buy(t, a, books.OneLot)
	ctx := t.Context()
	drafted, err := a.Stockroom.OrderDraft(ctx, stockroom.OrderDraft{Write: books.Who, Cutter: "K", Note: "recut"})
	if err != nil {
		t.Fatal(err)
	}
	entries := func() (n int64) {
		if err := s.View(ctx, func(tx store.ReadTx) error {
			head, err := tx.Head(ctx)
			n = head.Sequence
			return err
		}); err != nil {
			t.Fatal(err)
		}
		return n
	}
	before := entries()
	sent, err := a.Stockroom.OrderSend(ctx, stockroom.OrderSend{Movement: books.Moving,
		Number: drafted.Orders[0].Number,
		Lots:   []stockroom.Supplying{{Moving: stockroom.Moving{Lot: "A"}}}})
	if err != nil {
		t.Fatal(err)
	}
	shown, err := a.Stockroom.OrderShow(ctx, stockroom.OrderShow{Number: sent.Order.Number})
	if err != nil || entries() != before+1 || shown.Orders[0].State != "sent" ||
		shown.Orders[0].Document != sent.Document.Number || len(sent.Document.Bytes) == 0 {
		t.Errorf("%d entries, the book has %+v, %v", entries()-before, shown.Orders, err)
	}
	books.Sound(t, a)
}

// Cut stones keep the cost of what was cut, their weight loss is a loss of
// cutting, and they are nobody's tested stones any more.
func TestOrder_SendReceive(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, books.OneLot)
	ctx := t.Context()
	drafted, err := a.Stockroom.OrderDraft(ctx, stockroom.OrderDraft{Write: books.Who, Cutter: "K",
		Note: "recut to 7 x 5"})
	if err != nil {
		t.Fatal(err)
	}
	o := drafted.Orders[0]
	if _, err := a.Stockroom.OrderSend(ctx, stockroom.OrderSend{Movement: books.Moving, Number: o.Number,
		Lots: []stockroom.Supplying{{Moving: stockroom.Moving{Lot: "A"}}}}); err != nil {
		t.Fatal(err)
	}
	came := func(c stockroom.Came) (answer.OrderReceived, error) {
		c.Lot = "A"
		return a.Stockroom.OrderReceive(ctx, stockroom.OrderReceive{Movement: books.Moving, Number: o.Number,
			Came: []stockroom.Came{c}})
	}
	_, err = came(stockroom.Came{Weighed: book.Weighed{Pieces: 10, Carats: 21000}})
	books.Refused(t, err, "receive-heavier")
	done, err := came(stockroom.Came{Weighed: book.Weighed{Pieces: 9, Carats: 12500}, Broken: 1, Shape: "oval"})
	if err != nil {
		t.Fatal(err)
	}
	cut := books.Stock(t, a)[done.Lots[0]]
	if cut.Cost.String() != "100.00" || cut.Pieces != 9 || cut.Facets.Species.Basis != book.Stated ||
		!cut.Length.IsZero() {
		t.Errorf("cut stones: %+v", cut)
	}
	history, err := a.Stockroom.LotHistory(ctx, stockroom.LotHistory{Lot: "A"})
	if err != nil {
		t.Fatal(err)
	}
	lost := map[book.Place]num.Carat{}
	for _, e := range history.Entries {
		for _, p := range e.Postings {
			lost[p.Place] += p.Carats
		}
	}
	if lost[book.LossCutting] != 5500 || lost[book.LossBreakage] != 2000 { // one stone of ten broke, 2 ct on average
		t.Errorf("lost in cutting %s ct and by breaking %s ct, want 5.500 and 2.000", lost[book.LossCutting],
			lost[book.LossBreakage])
	}
	books.Sound(t, a)
}

// What setters set and broke moves the believed chance of breaking at the
// level of the position, and damaged returns that of coming back.
func TestSetter_LearnsLosses(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, books.OneLot)
	ctx := t.Context()
	line := books.Text("d.csv", "design,piece,metal,fineness,metal_g,quantity,price_trade,labour_min\nR,ring,silver,"+
		"925,3,5,90,20\n")
	positions := books.Text("p.csv", "design,position,setting,shape,species,count\nR,center,prong,oval,topaz,1\n")
	if _, err := a.Lines.Import(ctx, lines.Import{Write: books.Who, Line: "L", Designs: line,
		Positions: &positions}); err != nil {
		t.Fatal(err)
	}
	before, err := a.Fitting.Losses(ctx, fitting.Losses{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := a.Stockroom.WorkOut(ctx, stockroom.WorkOut{Movement: books.Moving, Party: "S",
		Lots: []stockroom.Moving{{Lot: "A"}}}); err != nil {
		t.Fatal(err)
	}
	done, err := a.Stockroom.WorkBack(ctx, stockroom.WorkBack{Movement: books.Moving, Party: "S",
		Lines: []stockroom.WorkLine{{Moving: stockroom.Moving{Lot: "A"}, Set: 8, Broken: book.Weighed{Pieces: 2},
			Spot: book.LineSpot{Line: "L", Spot: "R/center"}}}, Piece: "R-1"})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(done.Postings[len(done.Postings)-1].Place), "piece/R-1") {
		t.Errorf("postings = %v", done.Postings)
	}
	if got := books.Stock(t, a)["A"]; got.Pieces != 8 || got.Cost.String() != "100.00" {
		t.Errorf("set stones keep the cost: %+v", got)
	}
	after, err := a.Fitting.Losses(ctx, fitting.Losses{})
	if err != nil {
		t.Fatal(err)
	}
	changed := 0
	for i, rate := range after.Rates {
		if rate.Stones > 0 {
			changed++
			if rate.Stones != 10 || rate.Lost != 2 || rate.Mean <= before.Rates[i].Mean ||
				string(rate.Kind) != "setting" {
				t.Errorf("learnt %+v from %+v", rate, before.Rates[i])
			}
		}
	}
	if changed != 1 {
		t.Errorf("%d rates changed, want the one of that level", changed)
	}
	books.Sound(t, a)
}
