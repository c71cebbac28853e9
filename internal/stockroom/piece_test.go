package stockroom_test

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/testkit/books"
)

const ringStones = "lot,species,shape,pieces,weight_ct,price,price_basis\nA,topaz,oval,2,2.00,200,total\nB,spinel," +
	"round,10,3.00,300,total\n"

// eur is an amount of the tests' book.
func eur(t *testing.T, s string) stockroom.Paid {
	t.Helper()
	m, f := num.ParseMoney(s, "EUR")
	if f != nil {
		t.Fatal(f)
	}
	return stockroom.Paid{Amount: m}
}

// ring has a ring made: one stone of A and two of B, a third of B broke and is
// claimed; metal 120.00, making 80.00.
func ring(t *testing.T, a *house.House) answer.WorkMoved {
	t.Helper()
	books.Buy(t, a, ringStones)
	if _, err := a.Stockroom.WorkOut(t.Context(), stockroom.WorkOut{Movement: books.Moving, Party: "S",
		Lots: []stockroom.Moving{{Lot: "A", Pieces: 1, Carats: 1000},
			{Lot: "B", Pieces: 3, Carats: 900}}}); err != nil {
		t.Fatal(err)
	}
	done, err := a.Stockroom.WorkBack(t.Context(), stockroom.WorkBack{Movement: books.Moving, Ticket: "W1", Claim: true,
		Piece: stockroom.NewPiece, Jewel: book.Jewel{Is: "ring"}, Metal: eur(t, "120"), Making: eur(t, "80"),
		Lines: []stockroom.WorkLine{{Moving: stockroom.Moving{Lot: "A"}, SetRest: true},
			{Moving: stockroom.Moving{Lot: "B"}, Set: 2, Broken: book.Weighed{Pieces: 1}}}})
	if err != nil {
		t.Fatal(err)
	}
	return done
}

// show reads a piece.
func show(t *testing.T, a *house.House, code string) answer.Piece {
	t.Helper()
	p, err := a.Stockroom.PieceShow(t.Context(), stockroom.PieceShow{Piece: code})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// A ring of three stones is made, sold, comes back damaged and is taken apart. By
// hand: A costs 100.00 a stone, B 30.00 a stone. In the ring lie 100.00 and 60.00,
// 30.00 are claimed from the setter, and with metal and making the ring costs
// 360.00. Unset with one stone of B broken, whose cost stays on B: the mounting
// keeps 200.00, A has its 200.00 and B 270.00.
func TestPiece_MadeSoldReturnedUnset(t *testing.T) {
	a := books.New(t)
	ctx := t.Context()
	made := ring(t, a)
	if p := made.Pieces[0]; p.Piece != "J1" || p.Cost.String() != "360.00" || p.InIt.String() != "160.00" ||
		p.MetalOf.String() != "120.00" || p.Making.String() != "80.00" || p.Place != book.Safe {
		t.Fatalf("made %+v", p)
	}
	claimed := num.Zero("EUR")
	for _, x := range made.Postings {
		if x.Place == "charge/claim" {
			claimed = claimed.Add(x.Cost)
		}
	}
	if claimed.String() != "30.00" {
		t.Errorf("claimed %s, want 30.00", claimed)
	}
	value, err := a.Stockroom.StockValue(ctx, stockroom.StockValue{})
	if err != nil || value.Cost.String() != "670.00" || len(value.Rows) != 3 { // 500.00 - 30.00 + 200.00
		t.Errorf("valued %s in %d rows, %v", value.Cost, len(value.Rows), err)
	}
	sold, err := a.Stockroom.SaleAdd(ctx, stockroom.SaleAdd{Movement: books.Moving, Customer: "C",
		Lines: stockroom.Together(stockroom.Moving{Lot: "J1"}), Bill: stockroom.Bill{Price: books.Money("900")}})
	if err != nil {
		t.Fatal(err)
	}
	if len(sold.Sale.Lines) != 1 || len(sold.Sale.Lines[0].Parts) != 3 || sold.Sale.Cost.String() != "360.00" {
		t.Fatalf("sold %+v", sold.Sale)
	}
	if p := show(t, a, "J1"); p.State != "sold" || len(p.Stones) != 0 {
		t.Errorf("after the sale %+v", p)
	}
	books.Sound(t, a)
	if _, err := a.Stockroom.SaleReturn(ctx, stockroom.SaleReturn{Movement: books.Moving, Number: "S1",
		Damaged: true}); err != nil {
		t.Fatal(err)
	}
	if p := show(t, a, "J1"); p.Cost.String() != "360.00" || p.Place != book.Safe || p.Damaged == nil ||
		len(p.Stones) != 2 {
		t.Errorf("after the return %+v", p)
	}
	_, err = a.Stockroom.PieceUnset(ctx, stockroom.PieceUnset{Movement: books.Moving, Piece: "j1",
		Lines: []stockroom.UnsetLine{{Moving: stockroom.Moving{Lot: "A", Pieces: 1, Carats: 1000}},
			{Moving: stockroom.Moving{Lot: "B", Pieces: 1, Carats: 300}, Broken: book.Weighed{Pieces: 1}}}})
	if err != nil {
		t.Fatal(err)
	}
	got := books.Stock(t, a)
	if got["A"].Cost.String() != "200.00" || got["A"].Pieces != 2 || got["B"].Cost.String() != "270.00" ||
		got["B"].Pieces != 8 {
		t.Errorf("unset: A %+v, B %+v", got["A"], got["B"])
	}
	if p := show(t, a, "J1"); p.Cost.String() != "200.00" || len(p.Stones) != 0 {
		t.Errorf("the mounting %+v", p)
	}
	books.Sound(t, a)
}

// What a piece cannot do is refused, and nothing is written.
func TestPiece_Refusals(t *testing.T) {
	a := books.New(t)
	ctx := t.Context()
	ring(t, a)
	out := func(lots ...stockroom.Moving) error {
		_, err := a.Stockroom.MemoOut(ctx, stockroom.MemoOut{Movement: books.Moving, Party: "K",
			Lines: stockroom.Together(lots...)})
		return err
	}
	unset := func(lines ...stockroom.UnsetLine) error {
		_, err := a.Stockroom.PieceUnset(ctx, stockroom.PieceUnset{Movement: books.Moving, Piece: "J1", Lines: lines})
		return err
	}
	one := stockroom.UnsetLine{Moving: stockroom.Moving{Lot: "A", Pieces: 1, Carats: 1000}}
	books.Refused(t, unset(), "unset-what")
	books.Refused(t, unset(stockroom.UnsetLine{Moving: stockroom.Moving{Lot: "A", Pieces: 1}}), "return-weight")
	books.Refused(t, unset(stockroom.UnsetLine{Moving: stockroom.Moving{Lot: "A", Pieces: 1, Carats: 900}}),
		"return-differs")
	_, err := a.Stockroom.LotSplit(ctx, stockroom.LotSplit{Movement: books.Moving, Lot: "J1", Pieces: 1})
	books.Refused(t, err, "piece-not-stones")
	_, err = a.Stockroom.SaleAdd(ctx, stockroom.SaleAdd{Movement: books.Moving, Customer: "C", From: "piece/J1",
		Lines: stockroom.Together(stockroom.Moving{Lot: "A"}), Bill: stockroom.Bill{Price: books.Money("900")}})
	books.Refused(t, err, "piece-whole")
	_, err = a.Stockroom.LedgerReverse(ctx, stockroom.LedgerReverse{Write: books.Who, Entry: "E3"})
	if err == nil {
		t.Error("the entry that sent the stones out was taken back under the ring")
	}
	if err := out(stockroom.Moving{Lot: "J1"}); err != nil {
		t.Fatal(err)
	}
	books.Refused(t, unset(one), "piece-elsewhere")
	books.Sound(t, a)
}

// jeweller plays random work on finished pieces.
type jeweller struct {
	*rapid.T
	t      *testing.T
	house  *house.House
	own    map[string]num.Money // by piece in stock: what metal and making cost
	sold   map[string]string    // by sale: the piece
	played map[string]int
}

// A piece costs what its metal and making cost and what its stones cost, through
// any order of setting, taking out, selling and returning; what is in stock costs
// together what was bought and paid, less what was sold.
func TestPiece_CostLaw(t *testing.T) {
	played := map[string]int{}
	rapid.Check(t, func(rt *rapid.T) {
		j := &jeweller{T: rt, t: t, house: books.New(t), own: map[string]num.Money{}, sold: map[string]string{},
			played: played}
		books.Buy(t, j.house, ringStones)
		gone := num.Zero("EUR")
		paid := books.Money("500")
		for range 8 {
			switch rapid.SampledFrom([]string{"add", "set", "unset", "sell", "return"}).Draw(rt, "act") {
			case "add":
				paid = paid.Add(j.add())
			case "set":
				paid = paid.Add(j.set())
			case "unset":
				j.unset()
			case "sell":
				gone = gone.Add(j.sell())
			case "return":
				gone = gone.Sub(j.back())
			}
			j.law(paid.Sub(gone))
		}
		books.Sound(t, j.house)
	})
	if len(played) > 0 && (played["set"] == 0 || played["unset"] == 0 || played["sell"] == 0) {
		t.Errorf("played %v: each should come", played)
	}
}

// law holds every piece and the whole stock to their costs.
func (j *jeweller) law(all num.Money) {
	list, err := j.house.Stockroom.PieceList(j.t.Context(), stockroom.PieceList{})
	if err != nil {
		j.Fatal(err)
	}
	stones := books.Stock(j.t, j.house)
	for _, p := range list.Pieces {
		inside := num.Zero("EUR")
		for _, s := range stones {
			at := s.At(book.PlaceOf(book.AtPiece, p.Piece))
			inside = inside.Add(at.Cost)
		}
		if p.InIt.Cmp(inside) != 0 || p.Cost.Cmp(j.own[p.Piece].Add(inside)) != 0 {
			j.Fatalf("%s costs %s with stones of %s, want %s and %s", p.Piece, p.Cost, p.InIt, j.own[p.Piece], inside)
		}
	}
	value, err := j.house.Stockroom.StockValue(j.t.Context(),
		stockroom.StockValue{By: rapid.SampledFrom([]string{"parcel",
			"place"}).Draw(j.T, "by")})
	if err != nil || value.Cost.Cmp(all) != 0 {
		j.Fatalf("the stock costs %s, want %s (%v)", value.Cost, all, err)
	}
}

// money draws an amount in cents.
func (j *jeweller) money(what string) num.Money {
	return num.FromMinor(rapid.Int64Range(0, 9999).Draw(j.T, what), "EUR")
}

// some draws pieces of a lot at a place, with their part of the weight; false when
// nothing is there.
func (j *jeweller) some(lot string, at book.Place) (stockroom.Moving, bool) {
	s := books.Stock(j.t, j.house)[lot]
	here := s.At(at)
	if here.Pieces == 0 {
		return stockroom.Moving{}, false
	}
	n := rapid.Int64Range(1, here.Pieces).Draw(j.T, "pieces")
	return stockroom.Moving{Lot: lot, Pieces: n, Carats: num.Carat(int64(here.Carats) * n / here.Pieces)}, true
}

// piece draws a piece in stock.
func (j *jeweller) piece() (string, bool) {
	if len(j.own) == 0 {
		return "", false
	}
	var codes []string
	for code := range j.own {
		codes = append(codes, code)
	}
	slices.Sort(codes)
	return rapid.SampledFrom(codes).Draw(j.T, "piece"), true
}

// ok counts what was played; a refusal ends the test.
func (j *jeweller) ok(what string, err error) {
	if l, refused := fault.From(err); refused {
		j.Fatalf("%s: %s", what, l[0].What)
	}
	if err != nil {
		j.Fatal(err)
	}
	j.played[what]++
}

func (j *jeweller) add() num.Money {
	metal, making := j.money("metal"), j.money("making")
	done, err := j.house.Stockroom.PieceAdd(j.t.Context(), stockroom.PieceAdd{Movement: books.Moving,
		Jewel: book.Jewel{Is: "ring"}, Metal: stockroom.Paid{Amount: metal}, Making: stockroom.Paid{Amount: making}})
	j.ok("add", err)
	j.own[done.Piece.Piece] = metal.Add(making)
	return metal.Add(making)
}

func (j *jeweller) set() num.Money {
	piece, ok := j.piece()
	x, some := j.some(rapid.SampledFrom([]string{"A", "B"}).Draw(j.T, "lot"), book.Safe)
	if !ok || !some {
		return num.Zero("EUR")
	}
	out, err := j.house.Stockroom.WorkOut(j.t.Context(), stockroom.WorkOut{Movement: books.Moving,
		Party: "S", Into: piece,
		Lots: []stockroom.Moving{x}})
	j.ok("set", err)
	making := j.money("setting")
	_, err = j.house.Stockroom.WorkBack(j.t.Context(), stockroom.WorkBack{Movement: books.Moving,
		Ticket: out.Ticket.Number,
		Making: stockroom.Paid{Amount: making}, Lines: []stockroom.WorkLine{{Moving: stockroom.Moving{Lot: x.Lot},
			SetRest: true}}})
	j.ok("set", err)
	j.own[piece] = j.own[piece].Add(making)
	return making
}

func (j *jeweller) unset() {
	piece, ok := j.piece()
	if !ok {
		return
	}
	x, some := j.some(rapid.SampledFrom([]string{"A", "B"}).Draw(j.T, "lot"), book.PlaceOf(book.AtPiece, piece))
	if !some {
		return
	}
	line := stockroom.UnsetLine{Moving: x}
	if x.Pieces > 1 && rapid.Bool().Draw(j.T, "broken") { // its cost stays on the rest of the lot
		line.Pieces, line.Broken = x.Pieces-1, book.Weighed{Pieces: 1, Carats: x.Carats / num.Carat(x.Pieces)}
		line.Carats = x.Carats - line.Broken.Carats
	}
	_, err := j.house.Stockroom.PieceUnset(j.t.Context(), stockroom.PieceUnset{Movement: books.Moving, Piece: piece,
		Lines: []stockroom.UnsetLine{line}})
	j.ok("unset", err)
}

func (j *jeweller) sell() num.Money {
	piece, ok := j.piece()
	if !ok {
		return num.Zero("EUR")
	}
	cost := show(j.t, j.house, piece).Cost
	done, err := j.house.Stockroom.SaleAdd(j.t.Context(), stockroom.SaleAdd{Movement: books.Moving, Customer: "C",
		Lines: stockroom.Together(stockroom.Moving{Lot: piece}), Bill: stockroom.Bill{Price: books.Money("900")}})
	j.ok("sell", err)
	if done.Sale.Cost.Cmp(cost) != 0 {
		j.Fatalf("%s cost %s and left with %s", piece, cost, done.Sale.Cost)
	}
	j.sold[done.Sale.Number] = fmt.Sprint(piece, " ", j.own[piece].Micros())
	delete(j.own, piece)
	return cost
}

func (j *jeweller) back() num.Money {
	var numbers []string
	for number := range j.sold {
		numbers = append(numbers, number)
	}
	if len(numbers) == 0 {
		return num.Zero("EUR")
	}
	slices.Sort(numbers)
	number := rapid.SampledFrom(numbers).Draw(j.T, "sale")
	var piece string
	var micros int64
	if _, err := fmt.Sscan(j.sold[number], &piece, &micros); err != nil {
		j.Fatal(err)
	}
	done, err := j.house.Stockroom.SaleReturn(j.t.Context(), stockroom.SaleReturn{Movement: books.Moving,
		Number: number})
	j.ok("return", err)
	delete(j.sold, number)
	j.own[piece] = num.Micros(micros, "EUR")
	return done.Credit.Cost
}
