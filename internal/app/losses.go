package app

import (
	"context"

	"lotpaper/internal/book"
	"lotpaper/internal/durability"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// lossesOf reads the book's own record of losses: stones that went to a setter
// and broke there. The level at which a stone was judged then is not kept, so
// the record counts for the level that most stones are set at, care; what came
// back damaged is counted by the returns that say so.
func lossesOf(ctx context.Context, tx store.ReadTx) (lossRecord, error) {
	var set, broke int
	for after := int64(0); ; {
		entries, err := tx.Entries(ctx, store.EntryFilter{After: after, Limit: pageLots})
		if err != nil {
			return nil, err
		}
		for _, e := range entries {
			after = e.Sequence
			if e.Kind == ledger.Reverse {
				continue
			}
			for _, p := range e.Postings {
				switch {
				case p.Place.Kind() == book.AtSetter && p.Pieces > 0:
					set += int(p.Pieces)
				case e.Kind == ledger.Break && p.Place.Kind() == book.AtSetter && p.Pieces < 0:
					broke -= int(p.Pieces)
				}
			}
		}
		if len(entries) < pageLots {
			break
		}
	}
	if set == 0 {
		return nil, nil
	}
	return lossRecord{durability.LossSetting: {durability.Care: {N: set, Lost: min(broke, set)}}}, nil
}
