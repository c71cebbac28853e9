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
		show := func(p book.Parcel) (answer.ParcelShow, error) {
			s := answer.ParcelShow{Parcel: p, Left: []answer.StockLot{}, Held: num.Zero(tx.Meta().Currency)}
			var err error
			s.Charges, err = store.Of[book.Charge](ctx, tx, book.ToParcel(p.Code))
			return s, err
		}
		if code == "" {
			return store.Each(ctx, tx, store.RowFilter{Limit: desk.PageLots}, func(p book.Parcel) error {
				s, err := show(p)
				out = append(out, s)
				return err
			})
		}
		p, err := desk.ParcelNamed(ctx, tx, code)
		if err != nil {
			return err
		}
		s, err := show(p)
		if err != nil {
			return err
		}
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
