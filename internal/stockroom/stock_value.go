package stockroom

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/desk"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// StockValue values the own stock item by item at the lower of cost and net
// realisable value (IAS 2): the loose price of the price list less the
// haircut. A lot that the list does not know stays at cost and is counted.
func (room *Room) StockValue(ctx context.Context, on book.Date) (answer.StockValue, error) {
	var out answer.StockValue
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		on = room.desk.Today(tx, on)
		zero := num.Zero(tx.Meta().Currency)
		out = answer.StockValue{On: on, Rows: []answer.ValueRow{}, Cost: zero, WriteDown: zero, Value: zero}
		v, err := openValuer(ctx, tx, on)
		if err != nil {
			return err
		}
		var held []costing.Held
		err = desk.EachStock(ctx, tx, desk.StockFilter{}, func(s answer.StockLot) error {
			if !s.Owner.IsOwn() {
				out.Others++
				return nil
			}
			h, _ := v.held(s.Lot, s.Carats, s.Cost)
			held = append(held, h)
			row := answer.ValueRow{Lot: s.Code, Parcel: s.Parcel, Name: s.Name(), Pieces: s.Pieces, Carats: s.Carats,
				Cost: s.Cost}
			_, row.Days = v.bought(s.Lot)
			if h.HasPrice {
				row.NRV = &h.Price
			} else {
				out.Unpriced++
			}
			out.Rows = append(out.Rows, row)
			out.Cost = out.Cost.Add(row.Cost)
			return nil
		})
		if err != nil {
			return err
		}
		valued, value, down := costing.Value(held)
		for i := range valued {
			out.Rows[i].WriteDown = valued[i].WriteDown
		}
		out.Value, out.WriteDown = zero.Add(value), zero.Add(down)
		return nil
	})
	return out, err
}
