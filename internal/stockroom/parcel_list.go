package stockroom

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// ParcelList asks for all parcels.
type ParcelList struct{}

// ParcelList lists the parcels with their charges, without their lots.
func (room *Room) ParcelList(ctx context.Context, _ ParcelList) (answer.Parcels, error) {
	out := answer.Parcels{Parcels: []answer.ParcelShow{}}
	err := room.desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.Head, err = room.desk.ListHead(ctx, tx, "Parcels"); err != nil {
			return err
		}
		parties, err := desk.ReadParties(ctx, tx)
		if err != nil {
			return err
		}
		reversed, err := tx.Reversals(ctx)
		if err != nil {
			return err
		}
		return store.EachRow(ctx, tx, store.RowFilter{}, func(row store.Row, p book.Parcel) error {
			p.Vendor = parties.Of(p.Vendor)
			s, err := withCharges(ctx, tx, p, reversed)
			s.Void = reversed[row.Since]
			out.Parcels = append(out.Parcels, s)
			return err
		})
	})
	return out, err
}

// ParcelShow asks for one parcel, by its code or its label.
type ParcelShow struct{ Parcel string }

// ParcelShow returns one parcel with its charges and what is left of it.
func (room *Room) ParcelShow(ctx context.Context, r ParcelShow) (answer.Parcels, error) {
	var out answer.Parcels
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		p, err := desk.ParcelNamed(ctx, tx, r.Parcel)
		if err != nil {
			return err
		}
		parties, err := desk.ReadParties(ctx, tx)
		if err != nil {
			return err
		}
		reversed, err := tx.Reversals(ctx)
		if err != nil {
			return err
		}
		row, err := tx.Row(ctx, book.KindParcel, p.Code)
		if err != nil {
			return err
		}
		p.Vendor = parties.Of(p.Vendor)
		s, err := withCharges(ctx, tx, p, reversed)
		if err != nil {
			return err
		}
		s.Void = reversed[row.Since]
		err = desk.StockFilter{Parcel: p.Code}.Each(ctx, tx, func(l answer.StockLot) error {
			s.Left = append(s.Left, l)
			s.Held = s.Held.Add(l.Cost)
			return nil
		})
		out.Parcels = []answer.ParcelShow{s}
		return err
	})
	return out, err
}

// withCharges is a parcel with its charges; reversed says which entries were taken
// back.
func withCharges(ctx context.Context, tx store.ReadTx, p book.Parcel,
	reversed map[string]string) (answer.ParcelShow, error) {
	out := answer.ParcelShow{Parcel: p, Charges: []answer.ChargeShown{}, Left: []answer.StockLot{},
		Held: num.Zero(tx.Meta().Currency)}
	filter := store.RowFilter{Ref: book.ToParcel(p.Code)}
	err := store.EachRow(ctx, tx, filter, func(row store.Row, c book.Charge) error {
		out.Charges = append(out.Charges, answer.ChargeShown{Charge: c, Void: reversed[row.Since]})
		return nil
	})
	return out, err
}
