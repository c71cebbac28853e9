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

// LotHistory returns every version and every entry of a lot, and the trail of its
// stones through other lots.
func (room *Room) LotHistory(ctx context.Context, r LotHistory) (answer.LotHistory, error) {
	var out answer.LotHistory
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		lot, err := desk.Named[book.Lot](ctx, tx, r.Lot)
		if err != nil {
			return err
		}
		out.Lot = lot.Code
		if out.TakenBack, err = takenBack(ctx, tx, lot); err != nil {
			return err
		}
		if out.Head, err = room.desk.ListHead(ctx, tx, "Lot "+lot.Code); err != nil {
			return err
		}
		if out.Versions, err = store.Versions[book.Lot](ctx, tx, lot.Code); err != nil {
			return err
		}
		if out.Changed, err = lotVersions(ctx, tx, out.Versions); err != nil {
			return err
		}
		if out.Entries, err = tx.Entries(ctx, store.EntryFilter{Lot: lot.Code}); err != nil {
			return err
		}
		out.Trail, err = lotTrail(ctx, tx, lot.Code)
		return err
	})
	return out, err
}

// lotVersions says what each version of a lot after its first one changed.
func lotVersions(ctx context.Context, tx store.ReadTx, versions []book.Lot) ([]answer.LotVersion, error) {
	out := []answer.LotVersion{}
	if len(versions) < 2 {
		return out, nil
	}
	rows, err := tx.History(ctx, book.KindLot, versions[0].Code)
	if err != nil {
		return nil, err
	}
	for i := 1; i < len(versions); i++ {
		e, err := tx.Entry(ctx, rows[i].Entry)
		if err != nil {
			return nil, err
		}
		out = append(out, answer.LotVersion{Version: i + 1, Entry: e.Code, On: e.PostedOn, Who: e.Who, Reason: e.Reason,
			Changes: answer.LotChanges(versions[i-1], versions[i])})
	}
	return out, nil
}
