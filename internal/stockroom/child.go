package stockroom

import (
	"context"
	"fmt"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// childrenOf makes new lots out of a lot, coded on from the last one that was.
func childrenOf(ctx context.Context, tx store.Tx, parent book.Lot) (child func(part book.Lot) book.Lot, err error) {
	next, err := tx.Next(ctx, book.LotSeries(parent.Code))
	return func(part book.Lot) book.Lot {
		lot := partOf(parent, part)
		lot.Code = fmt.Sprintf("%s.%d", parent.Code, next)
		next++
		return lot
	}, err
}

// partOf is a lot made from parent: what the part does not say is taken over.
// Recut stones are the caller's affair: sorting changes no facet.
func partOf(parent, part book.Lot) book.Lot {
	lot := parent
	lot.Parent, lot.Stone, lot.Note = parent.Code, part.Stone, part.Note
	lot.Agreed, lot.Foreign = num.Money{}, nil
	lot.Prices = part.Prices // a mixed lot's is no price of its parts
	set := func(to *string, from string) {
		if from != "" {
			*to = from
		}
	}
	if part.Species != "" && part.Species != parent.Species {
		lot.Species, lot.Variety, lot.Claim = part.Species, part.Variety, part.Claim
		lot.Facets.Species = part.Facets.Species
		lot.Fenced, lot.Opinion = "", nil
	}
	set(&lot.Variety, part.Variety)
	set(&lot.Shape, part.Shape)
	set(&lot.Color, part.Color)
	set(&lot.Clarity, part.Clarity)
	set(&lot.Cut, part.Cut)
	for _, d := range []struct {
		to   *book.Size
		from book.Size
	}{{&lot.Length, part.Length}, {&lot.Width, part.Width}, {&lot.Depth, part.Depth}} {
		if !d.from.IsZero() {
			*d.to = d.from
		}
	}
	lot.Calibrated = parent.Calibrated || part.Calibrated
	return lot
}
