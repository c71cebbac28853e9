package stockroom

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// ParcelShow returns one parcel, or all of them when code is empty (without
// their lots).
func (room *Room) ParcelShow(ctx context.Context, code string) ([]answer.ParcelShow, error) {
	out := []answer.ParcelShow{}
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		charges, err := store.All[book.Charge](ctx, tx, "")
		if err != nil {
			return err
		}
		show := func(p book.Parcel) answer.ParcelShow {
			s := answer.ParcelShow{Parcel: p, Charges: []book.Charge{}, Left: []answer.StockLot{},
				Held: num.Zero(tx.Meta().Currency)}
			for _, c := range charges {
				if c.Parcel == p.Code {
					s.Charges = append(s.Charges, c)
				}
			}
			return s
		}
		if code == "" {
			return store.Each(ctx, tx, store.RowFilter{Limit: desk.PageLots}, func(p book.Parcel) error {
				out = append(out, show(p))
				return nil
			})
		}
		p, err := desk.ParcelNamed(ctx, tx, code)
		if err != nil {
			return err
		}
		s := show(p)
		err = desk.EachStock(ctx, tx, desk.StockFilter{Parcel: p.Code}, func(l answer.StockLot) error {
			s.Left = append(s.Left, l)
			s.Held = s.Held.Add(l.Cost)
			return nil
		})
		out = append(out, s)
		return err
	})
	return out, err
}
