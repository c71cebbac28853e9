package stockroom_test

import (
	"slices"
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/house"
	"lotpaper/internal/ledger"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/store"
	"lotpaper/internal/testkit/books"
)

// twoOffices is a book with ten stones of A (20.00 ct, 100.00) in LISBON.
func twoOffices(t *testing.T) (*house.House, store.Store) {
	t.Helper()
	a, s := books.Interrupted(t)
	if _, err := a.Desk.ConfigSet(t.Context(), desk.ConfigSet{Write: books.Who,
		Values: map[string]string{"offices": "LISBON; PORTO"}}); err != nil {
		t.Fatal(err)
	}
	books.Buy(t, a, books.OneLot)
	return a, s.Store
}

// at is what lot A has at a place: pieces, carats, cost.
func at(t *testing.T, a *house.House, place book.Place) (int64, string, string) {
	t.Helper()
	s := books.Stock(t, a)["A"]
	b := s.At(place)
	return b.Pieces, b.Carats.String(), b.Cost.String()
}

// Of ten stones that cost 100.00, four of 7.00 ct take 7/20 of it: 35.00. Three
// arrive with 5.25 ct and 26.25; the last, 1.75 ct and 8.75, is lost.
func TestStockMove_Cost(t *testing.T) {
	a, _ := twoOffices(t)
	ctx := t.Context()
	if _, err := a.Stockroom.StockMove(ctx, stockroom.StockMove{Movement: books.Moving, To: "safe/PORTO",
		Lots: []stockroom.Moving{{Lot: "A", Pieces: 4, Carats: 7000}}}); err != nil {
		t.Fatal(err)
	}
	check := func(place book.Place, pieces int64, carats, cost string) {
		t.Helper()
		if p, c, m := at(t, a, place); p != pieces || c != carats || m != cost {
			t.Errorf("%s has %d pieces, %s ct, %s; want %d, %s, %s", place, p, c, m, pieces, carats, cost)
		}
	}
	check("safe/LISBON", 6, "13.000", "65.00")
	check("paper/T1", 4, "7.000", "35.00")
	if _, err := a.Stockroom.StockReceive(ctx, stockroom.StockReceive{Movement: books.Moving, Number: "T1",
		Lots: []stockroom.Moving{{Lot: "A", Pieces: 3, Carats: 5250}}}); err != nil {
		t.Fatal(err)
	}
	check("safe/PORTO", 3, "5.250", "26.25")
	check("paper/T1", 1, "1.750", "8.75")
	if _, err := a.Stockroom.StockClose(ctx, stockroom.StockClose{Movement: books.Moving, Number: "T1"}); err != nil {
		t.Fatal(err)
	}
	check("paper/T1", 0, "0.000", "0.00")
	check("safe/LISBON", 6, "13.000", "65.00")
	check("safe/PORTO", 3, "5.250", "26.25")
	books.Sound(t, a)
}

// What is claimed leaves its cost at charge/claim, and the carrier owes it: once the
// claim was against nobody, so no payment could settle it.
func TestStockClose_Claim(t *testing.T) {
	a, _ := twoOffices(t)
	ctx := t.Context()
	if _, err := a.Stockroom.StockMove(ctx, stockroom.StockMove{Movement: books.Moving, To: "safe/PORTO",
		Lots: []stockroom.Moving{{Lot: "A", Pieces: 4, Carats: 7000}}}); err != nil {
		t.Fatal(err)
	}
	r := stockroom.StockClose{Movement: books.Moving, Number: "T1", Claim: true}
	_, err := a.Stockroom.StockClose(ctx, r)
	books.Refused(t, err, "claim-party")
	r.Party = "Carrier"
	done, err := a.Stockroom.StockClose(ctx, r)
	if err != nil {
		t.Fatal(err)
	}
	claimed := slices.ContainsFunc(done.Postings, func(p ledger.Posting) bool {
		return p.Place == "charge/claim" && p.Cost.String() == "35.00"
	})
	if !claimed {
		t.Errorf("no 35.00 at charge/claim: %v", done.Postings)
	}
	paid, err := a.Stockroom.PaymentAdd(ctx, stockroom.PaymentAdd{Write: books.Who, Party: "Carrier",
		For: []string{"K1"}, Amount: books.Money("35")})
	if err != nil || !paid.Items[0].Left.IsZero() {
		t.Errorf("the claim is paid with %v left, %v", paid.Items, err)
	}
	books.Sound(t, a)
}

// Stones stay held while they move between offices, and are refused to others as
// before.
func TestStockMove_Held(t *testing.T) {
	a, s := twoOffices(t)
	ctx := t.Context()
	hold := book.Hold{Lot: "A", For: "customer/C", Pieces: 8}
	if err := s.Update(ctx, func(tx store.Tx) error {
		return tx.Post(ctx, &ledger.Entry{Kind: ledger.Record, PostedOn: "2026-03-02", Reason: "held", Who: "x",
			Records: []book.Record{hold}})
	}); err != nil {
		t.Fatal(err)
	}
	if _, err := a.Stockroom.StockMove(ctx, stockroom.StockMove{Movement: books.Moving, To: "safe/PORTO",
		Lots: []stockroom.Moving{{Lot: "A", Pieces: 4, Carats: 7000}}}); err != nil {
		t.Fatal(err)
	}
	_, err := a.Stockroom.LotSplit(ctx, stockroom.LotSplit{Movement: books.Moving, Lot: "A", Pieces: 3, Carats: 6500})
	books.Refused(t, err, "held")
	books.Sound(t, a)
}
