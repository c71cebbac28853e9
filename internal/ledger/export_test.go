package ledger

import (
	"cmp"
	"slices"

	"lotpaper/internal/book"
)

// At returns what lot has at place.
func (b *Balances) At(lot string, place book.Place) Total { return b.Held[Spot{lot, place}] }

// List returns all balances that are not zero, ordered by lot and place.
func (b *Balances) List() []Balance {
	out := make([]Balance, 0, len(b.Held))
	for k, t := range b.Held {
		out = append(out, Balance{k.Lot, k.Place, t.Pieces, t.Carats, t.Cost})
	}
	slices.SortFunc(out, func(x, y Balance) int {
		return cmp.Or(cmp.Compare(x.Lot, y.Lot),
			cmp.Compare(x.Place, y.Place))
	})
	return out
}
