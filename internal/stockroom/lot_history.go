package stockroom

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/store"
)

// LotHistory asks what happened to one lot.
type LotHistory struct{ Lot string }

// LotHistory returns every version and every entry of a lot.
func (room *Room) LotHistory(ctx context.Context, r LotHistory) (answer.LotHistory, error) {
	var out answer.LotHistory
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		lot, err := desk.Named[book.Lot](ctx, tx, r.Lot)
		if err != nil {
			return err
		}
		out.Lot = lot.Code
		if out.Head, err = room.desk.ListHead(ctx, tx, "Lot "+lot.Code); err != nil {
			return err
		}
		if out.Versions, err = store.Versions[book.Lot](ctx, tx, lot.Code); err != nil {
			return err
		}
		out.Entries, err = tx.Entries(ctx, store.EntryFilter{Lot: lot.Code})
		return err
	})
	return out, err
}
