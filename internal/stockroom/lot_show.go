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
		if out.TakenBack, err = takenBack(ctx, tx, out.Lot); err != nil {
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
		today := room.desk.Today(tx, "")
		if out.Holds, err = desk.HoldsOn(ctx, tx, out.Code, today); err != nil {
			return err
		}
		out.Out, err = lotOut(ctx, tx, out.StockLot, today)
		return err
	})
	return out, err
}

// lotOut are the papers that stones of a lot lie on.
func lotOut(ctx context.Context, tx store.ReadTx, s answer.StockLot, today book.Date) ([]answer.LotOut, error) {
	out := []answer.LotOut{}
	parties, err := desk.ReadParties(ctx, tx)
	if err != nil {
		return out, err
	}
	err = desk.EachPaper(ctx, tx, store.RowFilter{Ref: book.ToLot(s.Code)}, func(p desk.Paper) error {
		if p.Old || p.Void || s.At(p.Place).Pieces == 0 {
			return nil
		}
		x := answer.LotOut{Paper: p.Number, Place: p.Place, With: parties.Of(p.Party), Due: p.Due}
		if p.Kind == book.KindTransfer {
			t, err := store.Get[book.Transfer](ctx, tx, p.Number)
			if err != nil {
				return err
			}
			x.To = t.To
		}
		if p.Due != "" && today > p.Due {
			x.Overdue = today.DaysSince(p.Due)
		}
		out = append(out, x)
		return nil
	})
	return out, err
}

// takenBack is lotVoid by the reversals of now.
func takenBack(ctx context.Context, tx store.ReadTx, l book.Lot) (string, error) {
	reversed, err := tx.Reversals(ctx)
	if err != nil || len(reversed) == 0 {
		return "", err
	}
	return lotVoid(ctx, tx, reversed, l)
}

// lotVoid is the entry that took back what brought a lot into the book, or the
// purchase of its parcel; empty: both stand.
func lotVoid(ctx context.Context, tx store.ReadTx, reversed map[string]string, l book.Lot) (string, error) {
	row, err := tx.Row(ctx, book.KindLot, l.Code)
	if by := reversed[row.Since]; err != nil || by != "" || l.Parcel == "" {
		return by, err
	}
	if row, err = tx.Row(ctx, book.KindParcel, l.Parcel); errors.Is(err, store.ErrNotFound) {
		return "", nil
	}
	return reversed[row.Since], err
}
