package storetest

import (
	"context"
	"maps"
	"slices"
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// testPastBalances: what lay where on a day, and after an entry, is read from the
// postings, with every filter of the balances of now.
func testPastBalances(t *testing.T, e Engine) {
	f := newFixture(t, e)
	on := func(day book.Date, x ledger.Entry) ledger.Entry {
		x.PostedOn = day
		return x
	}
	f.mustPost(buy(lot("P1", "A-1"), 10, 10000, cents(5000)))                                                      // E1
	f.mustPost(buy(lot("P2", "B-1"), 2, 3000, cents(600)))                                                         // E2
	f.mustPost(on("2026-02-01", move(ledger.Issue, "A-1", book.Safe, "cutter/Okoro", 4, 4000, cents(2000))))       // E3
	f.mustPost(on("2026-03-01", move(ledger.Sell, "A-1", "cutter/Okoro", "customer/Lind", 4, 4000, cents(2000))))  // E4
	f.mustPost(on("2026-03-05", move(ledger.Sell, "B-1", book.Safe, "customer/Lind", 2, 3000, cents(600))))        // E5
	f.mustPost(on("2026-03-07", buy(lot("P1", "A-2"), 1, 500, cents(100))))                                        // E6
	f.mustPost(on("2026-02-10", buy(lot("P3", "C-1"), 3, 900, cents(300))))                                        // E7
	wrong := f.mustPost(on("2026-03-10", move(ledger.Issue, "A-1", book.Safe, "setter/Ito", 1, 1000, cents(500)))) // E8
	f.mustPost(wrong.Reversed(wrong.PostedOn, "wrong setter", ""))                                                 // E9
	// E10
	f.mustPost(on("2026-03-20", move(ledger.Issue, "C-1", book.Safe, "setter/Ito", 1, 300, cents(100))))
	has := func(lot string, at book.Place, pieces int64) ledger.Balance {
		return ledger.Balance{Lot: lot, Place: at, Pieces: pieces}
	}
	for name, c := range map[string]struct {
		filter store.BalanceFilter
		want   []ledger.Balance // lot, place and pieces
	}{
		"before all": {store.BalanceFilter{On: "2026-01-04"}, nil},
		"the first day counts": {store.BalanceFilter{On: day, RealOnly: true},
			[]ledger.Balance{has("A-1", book.Safe, 10), has("B-1", book.Safe, 2)}},
		"boundaries": {store.BalanceFilter{On: "2026-03-01", Lot: "a-1"},
			[]ledger.Balance{has("A-1", "customer/Lind", 4), has("A-1", book.Safe, 6), has("A-1", acme, -10)}},
		"by day, whatever the order of entries": {store.BalanceFilter{On: "2026-02-28", RealOnly: true},
			[]ledger.Balance{has("A-1", "cutter/Okoro", 4), has("A-1", book.Safe, 6), has("B-1", book.Safe, 2),
				has("C-1", book.Safe, 3)}},
		"after an entry": {store.BalanceFilter{At: 4, RealOnly: true},
			[]ledger.Balance{has("A-1", book.Safe, 6), has("B-1", book.Safe, 2)}},
		"after a wrong entry": {store.BalanceFilter{At: 8, Place: "setter/Ito"},
			[]ledger.Balance{has("A-1", "setter/Ito", 1)}},
		"a reversed day": {store.BalanceFilter{On: "2026-03-10", Place: "setter/Ito"}, nil},
		"day and entry": {store.BalanceFilter{On: "2026-03-10", At: 8, Place: "setter/Ito"},
			[]ledger.Balance{has("A-1", "setter/Ito", 1)}},
		"a place": {store.BalanceFilter{On: "2026-02-15", Place: "cutter/Okoro"},
			[]ledger.Balance{has("A-1", "cutter/Okoro", 4)}},
		"a boundary": {store.BalanceFilter{On: "2026-03-04", Place: "customer/Lind"},
			[]ledger.Balance{has("A-1", "customer/Lind", 4)}},
		"a parcel": {store.BalanceFilter{At: 6, Ref: book.ToParcel("p1"), RealOnly: true},
			[]ledger.Balance{has("A-1", book.Safe, 6), has("A-2", book.Safe, 1)}},
		"a page": {store.BalanceFilter{On: "2026-03-10", RealOnly: true, AfterLot: "A-1", Limit: 1},
			[]ledger.Balance{has("A-2", book.Safe, 1)}},
	} {
		var got []ledger.Balance
		f.view(func(ctx context.Context, tx store.ReadTx) {
			var err error
			if got, err = tx.Balances(ctx, c.filter); err != nil {
				t.Fatal(name, err)
			}
		})
		if !slices.EqualFunc(got, c.want, func(a, b ledger.Balance) bool {
			return a.Lot == b.Lot && a.Place == b.Place && a.Pieces == b.Pieces
		}) {
			t.Errorf("%s: %+v, want %+v", name, got, c.want)
		}
	}
	// The newest day, and the newest entry, give what the derived table has.
	f.view(func(ctx context.Context, tx store.ReadTx) {
		head, err := tx.Head(ctx)
		if err != nil {
			t.Fatal(err)
		}
		for _, filter := range []store.BalanceFilter{{}, {RealOnly: true}, {Place: "setter/Ito"}, {Lot: "A-1"}} {
			now, err := tx.Balances(ctx, filter)
			if err != nil || len(now) == 0 {
				t.Fatal(now, err)
			}
			for _, past := range []store.BalanceFilter{{On: "2026-03-20"}, {At: head.Sequence}} {
				filter.On, filter.At = past.On, past.At
				then, err := tx.Balances(ctx, filter)
				if err != nil || !slices.Equal(now, then) {
					t.Errorf("%+v: %+v, now %+v (%v)", filter, then, now, err)
				}
			}
		}
	})
}

// testReversals: the book tells which entries are reversed, and which entry wrote
// a record first, whatever its newest version says.
func testReversals(t *testing.T, e Engine) {
	f := newFixture(t, e)
	wrong := f.mustPost(buy(lot("P1", "A-1"), 1, 1000, cents(100)))
	f.mustPost(buy(lot("P1", "A-2"), 1, 1000, cents(100)))
	changed := lot("P1", "A-1")
	changed.Note = "to be returned"
	second := f.mustPost(ledger.Entry{Kind: ledger.Record, Records: []book.Record{changed}})
	reversal := f.mustPost(wrong.Reversed(day, "wrong file", ""))
	f.view(func(ctx context.Context, tx store.ReadTx) {
		got, err := tx.Reversals(ctx)
		if err != nil || !maps.Equal(got, map[string]string{wrong.Code: reversal.Code}) {
			t.Errorf("reversals = %v, %v", got, err)
		}
		row, err := tx.Row(ctx, book.KindLot, "a-1")
		if err != nil || row.Entry != second.Code || row.Since != wrong.Code {
			t.Errorf("A-1 is of %s since %s, %v", row.Entry, row.Since, err)
		}
		for name, filter := range map[string]store.RowFilter{"all": {}, "a parcel's": {Ref: book.ToParcel("P1")},
			"a prefix": {Prefix: "A-"}, "a page": {Limit: 2}} {
			rows, err := tx.Rows(ctx, book.KindLot, filter)
			if err != nil || len(rows) != 2 || rows[0].Since != wrong.Code || rows[1].Since != "E2" ||
				rows[1].Entry != "E2" {
				t.Errorf("%s: %+v, %v", name, rows, err)
			}
		}
		versions, err := tx.History(ctx, book.KindLot, "A-1")
		if err != nil || len(versions) != 2 || versions[0].Since != wrong.Code || versions[1].Since != wrong.Code ||
			versions[1].Entry != second.Code {
			t.Errorf("versions = %+v, %v", versions, err)
		}
	})
}
