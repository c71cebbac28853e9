package app

import (
	"context"

	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// ValueRow is the valuation of one lot.
type ValueRow struct {
	Lot       string     `json:"lot"`
	Parcel    string     `json:"parcel"`
	Name      string     `json:"name"`
	Pieces    int64      `json:"pieces"`
	Carats    num.Carat  `json:"carats"`
	Cost      num.Money  `json:"cost"`
	NRV       *num.Money `json:"nrv"`        // null: the price list does not know it
	WriteDown num.Money  `json:"write_down"` // item by item, never by class
	Days      int        `json:"days"`       // since the parcel's date
}

// StockValue is the valuation of the dealer's own stock. Lots of others are
// counted and carry no value.
type StockValue struct {
	On        book.Date  `json:"on"`
	Rows      []ValueRow `json:"rows"`
	Cost      num.Money  `json:"cost"`
	WriteDown num.Money  `json:"write_down"`
	Value     num.Money  `json:"value"`    // lower of cost and net realisable value
	Unpriced  int        `json:"unpriced"` // rows without a price: held at cost
	Others    int        `json:"others"`   // lots of others, out of the valuation
}

// StockValue values the own stock item by item at the lower of cost and net
// realisable value (IAS 2): the loose price of the price list less the
// haircut. A lot that the list does not know stays at cost and is counted.
func (a *App) StockValue(ctx context.Context, on book.Date) (StockValue, error) {
	var out StockValue
	err := a.view(ctx, func(tx store.ReadTx) error {
		on = a.today(tx, on)
		zero := num.Zero(tx.Meta().Currency)
		out = StockValue{On: on, Rows: []ValueRow{}, Cost: zero, WriteDown: zero, Value: zero}
		v, err := openValuer(ctx, tx, on)
		if err != nil {
			return err
		}
		var held []costing.Held
		err = eachStock(ctx, tx, StockFilter{}, func(s StockLot) error {
			if !s.Owner.IsOwn() {
				out.Others++
				return nil
			}
			h, _ := v.held(s.Lot, s.Carats, s.Cost)
			held = append(held, h)
			row := ValueRow{Lot: s.Code, Parcel: s.Parcel, Name: s.Name(), Pieces: s.Pieces, Carats: s.Carats, Cost: s.Cost}
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
