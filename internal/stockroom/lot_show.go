package stockroom

import (
	"context"
	"errors"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/store"
)

// LotShow asks for one lot.
type LotShow struct{ Lot string }

// LotShow returns one lot: what it is, what it has, where, and what it came
// from and became.
func (room *Room) LotShow(ctx context.Context, r LotShow) (answer.LotShow, error) {
	var out answer.LotShow
	err := room.desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.StockLot, err = desk.StockOf(ctx, tx, r.Lot); err != nil {
			return err
		}
		if out.TakenBack, err = lotVoid(ctx, tx, out.Lot); err != nil {
			return err
		}
		out.Children = []string{}
		children, err := store.Of[book.Lot](ctx, tx, book.ToLot(out.Code))
		if err != nil {
			return err
		}
		for _, l := range children {
			out.Children = append(out.Children, l.Code)
		}
		readings, err := store.Of[book.Reading](ctx, tx, book.ToLot(out.Code))
		if err != nil {
			return err
		}
		out.Readings = len(readings)
		voids, err := store.Of[book.Void](ctx, tx, book.ToLot(out.Code))
		if err != nil {
			return err
		}
		out.Void = len(voids)
		if out.Reports, err = store.Of[book.Report](ctx, tx, book.ToLot(out.Code)); err != nil {
			return err
		}
		if out.Judged, err = room.opinionOf(ctx, tx, out.StockLot); err != nil {
			return err
		}
		out.Holds, err = desk.HoldsOn(ctx, tx, out.Code, room.desk.Today(tx, ""))
		return err
	})
	return out, err
}

// lotVoid is the entry that took back what brought a lot into the book, or the
// purchase of its parcel; empty: both stand.
func lotVoid(ctx context.Context, tx store.ReadTx, l book.Lot) (string, error) {
	by, err := desk.VoidBy(ctx, tx, book.KindLot, l.Code)
	if err != nil || by != "" || l.Parcel == "" {
		return by, err
	}
	if by, err = desk.VoidBy(ctx, tx, book.KindParcel, l.Parcel); errors.Is(err, store.ErrNotFound) {
		err = nil
	}
	return by, err
}
