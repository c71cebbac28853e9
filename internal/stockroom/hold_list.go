package stockroom

import (
	"context"
	"slices"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/store"
)

// HoldList asks for the holds.
type HoldList struct {
	All bool // also those that have expired or were released
}

// HoldList lists what is held for whom, and until when.
func (room *Room) HoldList(ctx context.Context, r HoldList) (answer.Holds, error) {
	out := answer.Holds{Holds: []answer.Hold{}}
	err := room.desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.Head, err = room.desk.ListHead(ctx, tx, "Holds"); err != nil {
			return err
		}
		on := room.desk.Today(tx, "")
		open, err := desk.HoldsOn(ctx, tx, "", on)
		if err != nil {
			return err
		}
		return store.Each(ctx, tx, store.RowFilter{}, func(h book.Hold) error {
			if h.Open(on) { // as many as there are still
				i := slices.IndexFunc(open, func(x book.Hold) bool { return x.RecordKey() == h.RecordKey() })
				if h.Pieces = 0; i >= 0 {
					h.Pieces = open[i].Pieces
				}
			}
			if !r.All && !h.Open(on) {
				return nil
			}
			lot, err := desk.StockOf(ctx, tx, h.Lot)
			if err == nil {
				out.Holds = append(out.Holds, answer.HoldOf(&lot, h, on))
			}
			return err
		})
	})
	return out, err
}
