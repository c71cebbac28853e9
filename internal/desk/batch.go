package desk

import (
	"context"

	"lotpaper/internal/book"
	"lotpaper/internal/store"
)

// StandingBatch is a batch whose entry was not reversed.
type StandingBatch struct {
	book.Batch
	Entry string // that wrote it
}

// BatchesOf returns the batches of a paper or of a party that were not reversed,
// oldest first.
func BatchesOf(ctx context.Context, tx store.ReadTx, of book.Ref) ([]StandingBatch, error) {
	rows, err := tx.Rows(ctx, book.KindBatch, store.RowFilter{Ref: of})
	if err != nil || len(rows) == 0 {
		return nil, err
	}
	reversed, err := tx.Reversals(ctx)
	if err != nil {
		return nil, err
	}
	var out []StandingBatch
	for _, row := range rows {
		if reversed[row.Since] != "" {
			continue
		}
		b, err := store.Get[book.Batch](ctx, tx, row.Key)
		if err != nil {
			return nil, err
		}
		out = append(out, StandingBatch{b, row.Since})
	}
	return out, nil
}

// CameByItem returns how many stones of each item of an order came back as wanted,
// or were bought, in its batches; what no item names is under the empty name.
func CameByItem(batches []StandingBatch) map[string]int64 {
	out := map[string]int64{}
	for _, b := range batches {
		for _, l := range b.Lines {
			if l.Outcome == book.Accepted || l.Outcome == book.Bought {
				out[l.Item] += l.Pieces
			}
		}
	}
	return out
}
