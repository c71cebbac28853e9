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
		return store.Each(ctx, tx, store.RowFilter{}, func(p book.Parcel) error {
			p.Vendor = parties.Of(p.Vendor)
			s, err := withCharges(ctx, tx, p)
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
		p.Vendor = parties.Of(p.Vendor)
		s, err := withCharges(ctx, tx, p)
		if err != nil {
			return err
		}
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

// withCharges is a parcel with its charges.
func withCharges(ctx context.Context, tx store.ReadTx, p book.Parcel) (answer.ParcelShow, error) {
	charges, err := store.Of[book.Charge](ctx, tx, book.ToParcel(p.Code))
	return answer.ParcelShow{Parcel: p, Charges: charges, Left: []answer.StockLot{},
		Held: num.Zero(tx.Meta().Currency)}, err
}
