package stockroom_test

import (
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/testkit/books"
)

// keepFor holds stones of a lot.
func keepFor(t *testing.T, a *house.House, r stockroom.HoldAdd) {
	t.Helper()
	r.Write = books.Who
	if _, err := a.Stockroom.HoldAdd(t.Context(), r); err != nil {
		t.Fatal(err)
	}
}

// Stones in the safe of another office serve a hold too: once four of ten could not be
// sold in Lisbon, with five held and four more in Porto.
func TestHold_TwoOffices(t *testing.T) {
	a, _ := twoOffices(t)
	ctx := t.Context()
	if _, err := a.Stockroom.StockMove(ctx, stockroom.StockMove{Movement: books.Moving, To: "safe/PORTO",
		Lots: []stockroom.Moving{{Lot: "A", Pieces: 4, Carats: 8000}}}); err != nil {
		t.Fatal(err)
	}
	if _, err := a.Stockroom.StockReceive(ctx, stockroom.StockReceive{Movement: books.Moving, Number: "T1",
		Lots: []stockroom.Moving{{Lot: "A", Pieces: 4, Carats: 8000}}}); err != nil {
		t.Fatal(err)
	}
	keepFor(t, a, stockroom.HoldAdd{Lot: "A", Pieces: 5, For: "customer/C"})
	sale := func(pieces int64) error {
		_, err := a.Stockroom.SaleAdd(ctx, stockroom.SaleAdd{Movement: books.Moving, Customer: "K",
			From: "safe/LISBON", Lines: stockroom.Together(stockroom.Moving{Lot: "A", Pieces: pieces,
				Carats: num.Carat(2000 * pieces)}), Bill: stockroom.Bill{Price: books.Money("50")}})
		return err
	}
	books.Refused(t, sale(6), "held")
	if err := sale(5); err != nil {
		t.Error(err)
	}
	books.Sound(t, a)
}

// Stones of two lots that are held for one customer and merged stay held until the
// later day: once the day of the last lot counted, and a hold without one ended.
func TestLotMerge_HoldUntil(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, "lot,species,shape,pieces,weight_ct,price,price_basis\nA,topaz,oval,10,20.00,100,total\n"+
		"B,topaz,oval,10,20.00,100,total\n")
	keepFor(t, a, stockroom.HoldAdd{Lot: "A", Pieces: 2, For: "customer/C"})
	keepFor(t, a, stockroom.HoldAdd{Lot: "B", Pieces: 3, For: "customer/C", Until: "2026-03-09"})
	m := books.Moving
	m.For = "customer/C"
	if _, err := a.Stockroom.LotMerge(t.Context(), stockroom.LotMerge{Movement: m,
		Lots: []string{"A", "B"}}); err != nil {
		t.Fatal(err)
	}
	list, err := a.Stockroom.HoldList(t.Context(), stockroom.HoldList{})
	if err != nil || len(list.Holds) != 1 || list.Holds[0].Pieces != 5 || list.Holds[0].Until != "" {
		t.Errorf("holds %+v, %v, want 5 without a last day", list.Holds, err)
	}
}

// A rebate that is more than a lot carries any more lowers it to nothing, and the rest
// is a variance (IAS 2.11 lowers the cost of purchase): once it was refused, because
// the lot would have fallen below zero.
func TestChargeCredit_WrittenDown(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, books.OneLot)
	ctx := t.Context()
	charge, err1 := a.Stockroom.ChargeAdd(ctx, stockroom.ChargeAdd{Write: books.Who, Parcel: "P1", Kind: "freight",
		Amount: books.Money("30")})
	_, err2 := a.Stockroom.LotWriteDown(ctx, stockroom.LotWriteDown{Write: books.Who, Lot: "A", To: books.Money("5")})
	credit, err3 := a.Stockroom.ChargeCredit(ctx, stockroom.ChargeCredit{Charge: charge.Charge.Code,
		Rebate: stockroom.Rebate{Write: books.Who, Amount: books.Money("12")}})
	for _, err := range []error{err1, err2, err3} {
		if err != nil {
			t.Fatal(err)
		}
	}
	if cost := books.Stock(t, a)["A"].Cost; !cost.IsZero() {
		t.Errorf("the lot carries %s, want nothing", cost)
	}
	if v := credit.Charge.Variance; v != books.Money("-7") {
		t.Errorf("the variance is %s, want -7", v)
	}
	books.Sound(t, a)
}

// A hold on stones that shrink later never holds more than there is: after a sale of
// the held part, a loss by count, and stones that broke at the setter's, each question
// that reads holds counts what is left.
func TestHold_Shrinks(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, "lot,species,shape,pieces,weight_ct,price,price_basis\nA,topaz,oval,10,20.00,100,total\n")
	ctx := t.Context()
	keepFor(t, a, stockroom.HoldAdd{Lot: "A", Pieces: 6, For: "customer/C"})
	served := books.Moving
	served.For = "C"
	held := func(after string, want, of int64) {
		t.Helper()
		list, err := a.Stockroom.HoldList(ctx, stockroom.HoldList{})
		if err != nil {
			t.Fatal(err)
		}
		show, err := a.Stockroom.LotShow(ctx, stockroom.LotShow{Lot: "A"})
		if err != nil {
			t.Fatal(err)
		}
		var listed, shown int64
		for _, h := range list.Holds {
			listed += h.Pieces
			if h.Of != of {
				t.Errorf("after %s the list says of %d, want %d", after, h.Of, of)
			}
		}
		for _, h := range show.Holds {
			shown += h.Pieces
		}
		if listed != want || shown != want || show.Pieces != of || listed > show.Pieces {
			t.Errorf("after %s %d are held by the list, %d by the lot of %d; want %d of %d", after, listed, shown,
				show.Pieces, want, of)
		}
	}
	sell := func(m stockroom.Movement, pieces int64) error {
		_, err := a.Stockroom.SaleAdd(ctx, stockroom.SaleAdd{Movement: m, Customer: "C", Lines: stockroom.Together(
			stockroom.Moving{Lot: "A", Pieces: pieces, Carats: num.Carat(2000 * pieces)}),
			Bill: stockroom.Bill{Price: books.Money("50")}})
		return err
	}
	lose := func(m stockroom.Movement, pieces int64) error {
		_, err := a.Stockroom.LotAdjust(ctx, stockroom.LotAdjust{Movement: m, Lot: "A", Pieces: -pieces,
			Carats: num.Carat(-2000 * pieces), To: "loss/count"})
		return err
	}
	served.Reason = "gone"
	plain := books.Moving
	plain.Reason = "gone"
	if err := sell(served, 2); err != nil {
		t.Fatal(err)
	}
	held("a sale of 2 held ones", 4, 8)
	books.Refused(t, lose(plain, 5), "held")
	if err := lose(plain, 4); err != nil {
		t.Fatal(err)
	}
	held("a loss of all free ones", 4, 4)
	books.Refused(t, lose(plain, 1), "held")
	books.Refused(t, sell(books.Moving, 1), "held")
	if err := lose(served, 1); err != nil {
		t.Fatal(err)
	}
	held("a loss of a held one", 3, 3)
	if _, err := a.Stockroom.WorkOut(ctx, stockroom.WorkOut{Movement: served, Party: "S",
		Lots: []stockroom.Moving{{Lot: "A", Pieces: 2, Carats: 4000}}}); err != nil {
		t.Fatal(err)
	}
	held("2 held ones went to a setter", 1, 3)
	keepFor(t, a, stockroom.HoldAdd{Lot: "A", Pieces: 2, For: "customer/D"}) // what is out can be held too
	if _, err := a.Stockroom.WorkBack(ctx, stockroom.WorkBack{Movement: books.Moving, Ticket: "W1",
		Lines: []stockroom.WorkLine{{Moving: stockroom.Moving{Lot: "A"}, Broken: book.Weighed{Pieces: 2,
			Carats: 4000}}}}); err != nil {
		t.Fatal(err)
	}
	held("both broke", 1, 1) // once 3 of 1 were held
	books.Refused(t, sell(books.Moving, 1), "held")
	if err := sell(served, 1); err != nil {
		t.Fatal(err)
	}
	held("the last one was sold", 0, 0)
	books.Sound(t, a)
}
