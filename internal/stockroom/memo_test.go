package stockroom_test

import (
	"fmt"
	"strings"
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/testkit/books"
)

// dayOf is the part of a movement on a day.
func dayOf(day book.Date, reason string) stockroom.Movement {
	return stockroom.Movement{Write: desk.Write{On: day, Who: "tester", Reason: reason}}
}

// forAll is a line at a price for all of it.
func forAll(m stockroom.Moving, price string) stockroom.Selling {
	return stockroom.Selling{Moving: m, Price: num.UnitPrice{Money: books.Money(price)}, Basis: book.LineTotal}
}

// Two memos of one party hold their own, the overdue one is listed first, and what
// is out is told at the memos' prices. On 2 March (the clock of the test) M1 of 1
// February, due on 20 February, is 29 days out and 10 overdue.
func TestMemoList_Ageing(t *testing.T) {
	a := books.New(t)
	day := func(d book.Date) stockroom.Movement { return dayOf(d, "") }
	if _, err := a.Stockroom.ParcelImport(t.Context(), stockroom.ParcelImport{Write: day("2026-01-10").Write,
		Vendor: "V", Currency: "EUR", File: books.Text("p.csv", books.OneLot)}); err != nil {
		t.Fatal(err)
	}
	out := func(on, due book.Date, pieces int64, price string) {
		t.Helper()
		lines := []stockroom.Selling{forAll(stockroom.Moving{Lot: "A", Pieces: pieces,
			Carats: num.Carat(pieces) * 2000},
			price)}
		if price == "" {
			lines = stockroom.Together(lines[0].Moving)
		}
		if _, err := a.Stockroom.MemoOut(t.Context(), stockroom.MemoOut{Movement: day(on), Party: "C", Due: due,
			Lines: lines}); err != nil {
			t.Fatal(err)
		}
	}
	out("2026-01-20", "2026-03-31", 1, "90")
	out("2026-02-01", "2026-02-20", 3, "200")
	list, err := a.Stockroom.MemoList(t.Context(), stockroom.MemoList{})
	if err != nil {
		t.Fatal(err)
	}
	got := ""
	for _, m := range list.Memos {
		got += fmt.Sprintf("%s %d days, %d overdue, %d of %s for %s\n", m.Number, m.Days, m.Overdue, m.Lots[0].Pieces,
			m.Lots[0].Lot, m.Value)
	}
	if want := "M2 29 days, 10 overdue, 3 of A for 200.00\nM1 41 days, 0 overdue, 1 of A for 90.00\n"; got != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
	if p := list.Total; p.Memos != 2 || p.Overdue != 1 || p.Pieces != 4 || p.Value.String() != "290.00" ||
		len(list.Parties) != 1 {
		t.Errorf("in all %+v of %d parties", p, len(list.Parties))
	}
	if _, err := a.Stockroom.MemoExtend(t.Context(), stockroom.MemoExtend{Write: dayOf("2026-03-01", "later").Write,
		Number: "M2", Due: "2026-04-01"}); err != nil {
		t.Fatal(err)
	}
	if list, _ := a.Stockroom.MemoList(t.Context(), stockroom.MemoList{}); list.Total.Overdue != 0 {
		t.Errorf("after the extension %d are overdue", list.Total.Overdue)
	}
	books.Sound(t, a)
}

// lentBook has a lot of 3 stones of 6.000 ct lent at 1000.00 USD, at 0.92 EUR.
func lentBook(t *testing.T) *house.House {
	t.Helper()
	a := books.New(t)
	if _, err := a.Desk.RatesImport(t.Context(), desk.RatesImport{Write: books.Who,
		File: books.Text("rates.csv", books.Rates)}); err != nil {
		t.Fatal(err)
	}
	if _, err := a.Stockroom.ParcelImport(t.Context(), stockroom.ParcelImport{Write: books.Who, Vendor: "L",
		Currency: "USD", File: books.Text("p.csv", "lot,owner,species,shape,pieces,weight_ct,price,price_basis\n"+
			"M,memo-in/L,beryl,oval,3,6.000,1000,total\n")}); err != nil {
		t.Fatal(err)
	}
	return a
}

// What is lent has no cost until it is bought, its price follows its stones, and
// all of it together is the price that was agreed: 1.000 and 5.000 of 6.000 ct are
// 166.67 and 833.33 USD, and 1.500 of these 5.000 ct 250.00. A late charge on its
// parcel finds nothing that could carry it.
func TestMemoIn_AgreedPrice(t *testing.T) {
	a := lentBook(t)
	ctx := t.Context()
	if _, err := a.Stockroom.LotSplit(ctx, stockroom.LotSplit{Movement: books.Moving, Lot: "M", Pieces: 1,
		Carats: 1000}); err != nil {
		t.Fatal(err)
	}
	if _, err := a.Stockroom.LotSplit(ctx, stockroom.LotSplit{Movement: books.Moving, Lot: "M", Pieces: 1,
		Carats: 1500}); err != nil {
		t.Fatal(err)
	}
	for code, want := range map[string]string{"M": "583.33", "M.1": "166.67", "M.2": "250.00"} {
		if s := books.Stock(t, a)[code]; s.Foreign == nil || s.Foreign.Amount.String() != want || !s.Cost.IsZero() {
			t.Errorf("%s is lent for %+v at a cost of %s, want %s USD", code, s.Foreign, s.Cost, want)
		}
	}
	_, err := a.Stockroom.ChargeAdd(ctx, stockroom.ChargeAdd{Write: books.Who, Parcel: "P1", Kind: "freight",
		Amount: books.Money("40")})
	if err == nil {
		t.Error("a charge was put on what is lent")
	}
	if _, err := a.Stockroom.LotMerge(ctx, stockroom.LotMerge{Movement: books.Moving,
		Lots: []string{"M.1", "M.2"}}); err != nil {
		t.Fatal(err)
	}
	if s := books.Stock(t, a)["M.1.1"]; s.Foreign == nil || s.Foreign.Amount.String() != "416.67" {
		t.Errorf("merged %+v", s.Foreign)
	}
	books.Sound(t, a)
}

// A lent lot that is out with a customer is bought and sold in one entry: the
// lender is owed 166.67 USD at the rate of the day, 153.34 EUR, which leaves with
// the stone; the rest stays the lender's and out. A reversal gives it back.
func TestMemoSell_BuysWhereItLies(t *testing.T) {
	a := lentBook(t)
	ctx := t.Context()
	if _, err := a.Stockroom.MemoOut(ctx, stockroom.MemoOut{Movement: books.Moving, Party: "C",
		Lines: stockroom.Together(stockroom.Moving{Lot: "M"})}); err != nil {
		t.Fatal(err)
	}
	sell := stockroom.MemoSell{Movement: books.Moving, Number: "M1",
		Lines: []stockroom.Selling{forAll(stockroom.Moving{Lot: "M", Pieces: 1, Carats: 1000}, "300")}}
	_, err := a.Stockroom.MemoSell(ctx, sell)
	books.Refused(t, err, "sale-not-own")
	sell.Buy = true
	sold, err := a.Stockroom.MemoSell(ctx, sell)
	if err != nil {
		t.Fatal(err)
	}
	if sold.Sale.Cost.String() != "153.34" {
		t.Errorf("cost %s", sold.Sale.Cost)
	}
	if s := books.Stock(t, a)["M"]; s.Pieces != 2 || s.Owner.Lender() != "L" || s.Foreign.Amount.String() != "833.33" ||
		s.At("paper/M1").Pieces != 2 {
		t.Errorf("left: %+v", s)
	}
	books.Sound(t, a)
	if _, err := a.Stockroom.LedgerReverse(ctx, stockroom.LedgerReverse{Write: books.Who,
		Entry: sold.Entry}); err != nil {
		t.Fatal(err)
	}
	if s := books.Stock(t, a)["M"]; s.Pieces != 3 || s.Foreign.Amount.String() != "1000.00" {
		t.Errorf("after the reversal: %+v", s)
	}
	books.Sound(t, a)
}

// A claim is owed at the memo's price; the cost stands at charge/claim, and what is
// over it is earned: 400 for a cost of 20 of 100.
func TestMemoClose_Claim(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, books.OneLot)
	if _, err := a.Stockroom.MemoOut(t.Context(), stockroom.MemoOut{Movement: books.Moving, Party: "C",
		Lines: []stockroom.Selling{forAll(stockroom.Moving{Lot: "A", Pieces: 2, Carats: 4000}, "400")}}); err != nil {
		t.Fatal(err)
	}
	done, err := a.Stockroom.MemoClose(t.Context(), stockroom.MemoClose{Movement: books.Moving, Number: "M1",
		Missing: stockroom.MissingClaim})
	if err != nil {
		t.Fatal(err)
	}
	if c := done.Claims; len(c) != 1 || c[0].Amount.String() != "400.00" || c[0].Over.String() != "380.00" ||
		c[0].Paper != "M1" || c[0].Lot != "A" {
		t.Errorf("claims %+v", c)
	}
	if s := books.Stock(t, a)["A"]; s.Pieces != 8 || s.Cost.String() != "80.00" {
		t.Errorf("left %+v", s)
	}
	books.Sound(t, a)
}

// What is cut of a lender's stones has their part of the agreed price: two of three, of
// 3.000 of 6.000 ct, are half of 1000.00 USD, whatever they weigh then. Once they had
// none, and the stone that was left all of it.
func TestOrderReceive_LentKeepsAgreedPrice(t *testing.T) {
	a := lentBook(t)
	ctx := t.Context()
	drafted, err := a.Stockroom.OrderDraft(ctx, stockroom.OrderDraft{Write: books.Who, Cutter: "K", Note: "recut"})
	if err != nil {
		t.Fatal(err)
	}
	number := drafted.Orders[0].Number
	if _, err := a.Stockroom.OrderSend(ctx, stockroom.OrderSend{Movement: books.Moving, Number: number,
		Lots: []stockroom.Supplying{{Moving: stockroom.Moving{Lot: "M"}}}}); err != nil {
		t.Fatal(err)
	}
	done, err := a.Stockroom.OrderReceive(ctx, stockroom.OrderReceive{Movement: books.Moving, Number: number,
		Came: []stockroom.Came{{Lot: "M", Weighed: book.Weighed{Pieces: 2, Carats: 2000},
			From: book.Weighed{Pieces: 2, Carats: 3000}}}})
	if err != nil {
		t.Fatal(err)
	}
	for _, code := range []string{"M", done.Lots[0]} {
		if s := books.Stock(t, a)[code]; s.Foreign == nil || s.Foreign.Amount.String() != "500.00" {
			t.Errorf("%s is lent for %+v, want 500.00 USD", code, s.Foreign)
		}
	}
	if _, err := a.Stockroom.LedgerReverse(ctx, stockroom.LedgerReverse{Write: books.Who,
		Entry: done.Entry}); err != nil {
		t.Fatal(err)
	}
	if s := books.Stock(t, a)["M"]; s.Foreign.Amount.String() != "1000.00" {
		t.Errorf("after the reversal M is lent for %s", s.Foreign.Amount)
	}
	books.Sound(t, a)
}

// What is owed for a missing piece holds its stones, and each lot is owed at its own
// price: 500 for a piece of 90.00 with a stone of 10.00, and 60 for two stones of 20.00.
// Once the stone was claimed beside its piece, and had the price of the next lot.
func TestMemoClose_ClaimOfPiece(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, books.OneLot)
	ctx := t.Context()
	made, err := a.Stockroom.PieceAdd(ctx, stockroom.PieceAdd{Movement: books.Moving, Vendor: "V",
		Price: stockroom.Paid{Amount: books.Money("90")}, Jewel: book.Jewel{Is: "ring"},
		Lots: []stockroom.Moving{{Lot: "A", Pieces: 1, Carats: 2000}}})
	if err != nil {
		t.Fatal(err)
	}
	piece := made.Piece.Piece
	if _, err := a.Stockroom.MemoOut(ctx, stockroom.MemoOut{Movement: books.Moving, Party: "C",
		Lines: []stockroom.Selling{forAll(stockroom.Moving{Lot: piece}, "500"),
			forAll(stockroom.Moving{Lot: "A", Pieces: 2, Carats: 4000}, "60")}}); err != nil {
		t.Fatal(err)
	}
	done, err := a.Stockroom.MemoClose(ctx, stockroom.MemoClose{Movement: books.Moving, Number: "M1",
		Missing: stockroom.MissingClaim})
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]string{}
	for _, c := range done.Claims {
		got[c.Lot] = c.Number + " " + c.Amount.String() + " over " + c.Over.String()
	}
	list, err := a.Stockroom.LedgerReceivables(ctx, stockroom.LedgerReceivables{})
	if err != nil || len(list.Parties) != 1 || list.Parties[0].Book.String() != "560.00" {
		t.Errorf("owed %+v, %v", list.Parties, err)
	}
	if len(got) != 2 || !strings.HasSuffix(got[piece], " 500.00 over 400.00") || !strings.HasSuffix(got["A"],
		" 60.00 over 40.00") {
		t.Errorf("claims %v", got)
	}
	books.Sound(t, a)
}

// A lender's stone that comes damaged out of a piece is a lot of its own with its part of
// the agreed price: 2.000 of 6.000 ct are 333.33 of 1000.00 USD. Once it had none.
func TestPieceUnset_DamagedLentKeepsAgreedPrice(t *testing.T) {
	a := lentBook(t)
	ctx := t.Context()
	made, err := a.Stockroom.PieceAdd(ctx, stockroom.PieceAdd{Movement: books.Moving, Vendor: "V",
		Price: stockroom.Paid{Amount: books.Money("90")}, Jewel: book.Jewel{Is: "ring"},
		Lots: []stockroom.Moving{{Lot: "M", Pieces: 2, Carats: 4000}}})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := a.Stockroom.PieceUnset(ctx, stockroom.PieceUnset{Movement: books.Moving, Piece: made.Piece.Piece,
		Lines: []stockroom.UnsetLine{{Moving: stockroom.Moving{Lot: "M", Pieces: 1, Carats: 2000},
			Damaged: "chipped"}}}); err != nil {
		t.Fatal(err)
	}
	for code, want := range map[string]string{"M": "666.67", "M.1": "333.33"} {
		if s := books.Stock(t, a)[code]; s.Foreign == nil || s.Foreign.Amount.String() != want {
			t.Errorf("%s is lent for %+v, want %s USD", code, s.Foreign, want)
		}
	}
	books.Sound(t, a)
}
