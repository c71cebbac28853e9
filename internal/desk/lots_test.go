package desk

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
	"lotpaper/internal/store/sqlite"
	"lotpaper/internal/testkit"
)

// The lots of a parcel and of a place, which are found by index, are those that
// a walk of the whole book finds, in its order, now and at any earlier moment.
func TestEachStock_ByIndexAsByWalk(t *testing.T) {
	s, err := sqlite.Open(t.Context(), testkit.FrozenBook(t, testkit.EveryKind), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	err = s.View(t.Context(), func(tx store.ReadTx) error {
		find := func(f StockFilter) (out []answer.StockLot) {
			t.Helper()
			err := f.Each(t.Context(), tx, func(s answer.StockLot) error {
				out = append(out, s)
				return nil
			})
			if err != nil {
				t.Fatal(err)
			}
			return out
		}
		now := find(StockFilter{All: true})
		for _, then := range []AsOf{{On: "2026-12-31"}, {At: "E91"}} { // the newest entry
			if d := cmp.Diff(codes(now), codes(find(StockFilter{All: true, AsOf: then}))); d != "" {
				t.Errorf("all until %+v is not all:\n%s", then, d)
			}
		}
		filters := []StockFilter{{Parcel: "p2", Place: book.Safe}, {Parcel: "P2", Place: "memo/Galerie Sandbar"},
			{Place: "customer/Galerie Sandbar"},
			{Place: "memo/Galerie Sandbar", All: true},
			{Parcel: "P4", Owner: "others"}}
		for _, l := range now {
			filters = append(filters, StockFilter{Parcel: l.Parcel}, StockFilter{Parcel: l.Parcel, All: true})
			for _, b := range l.Places {
				filters = append(filters, StockFilter{Place: b.Place})
			}
		}
		slices.SortFunc(filters, func(a, b StockFilter) int { return strings.Compare(a.Words(), b.Words()) })
		before := 0
		for _, then := range []AsOf{{}, {On: "2026-03-06"}, {At: "E20"}, {On: "2025-01-01"}} {
			whole := find(StockFilter{All: true, AsOf: then})
			if len(whole) == before {
				t.Errorf("%+v: %d lots, as at the moment before", then, len(whole))
			}
			before = len(whole)
			for _, f := range slices.Compact(filters) {
				var want []answer.StockLot
				for _, l := range whole {
					if f.Place != "" {
						l = at(l, f.Place)
					}
					if f.selects(l) {
						want = append(want, l)
					}
				}
				f.AsOf = then
				if d := cmp.Diff(codes(want), codes(find(f))); d != "" {
					t.Errorf("%+v: walk and index differ:\n%s", f, d)
				}
			}
		}
		return nil
	})
	if err != nil {
		t.Error(err)
	}
}

// at is a lot with what it has at one place.
func at(l answer.StockLot, place book.Place) answer.StockLot {
	x := answer.StockLot{Lot: l.Lot, Cost: num.Zero("EUR")}
	for _, b := range l.Places {
		if b.Place == place {
			x.Places, x.Pieces, x.Carats, x.Cost = []ledger.Balance{b}, b.Pieces, b.Carats, b.Cost
		}
	}
	return x
}

// codes says what a list holds, in words that compare.
func codes(list []answer.StockLot) (out []string) {
	for _, l := range list {
		line := l.Code + " " + num.Int(l.Pieces).String() + " " + l.Carats.String() + " " + l.Cost.Words()
		for _, b := range l.Places {
			line += " " + string(b.Place) + " " + num.Int(b.Pieces).String()
		}
		out = append(out, line)
	}
	return out
}
