package app

import (
	"context"

	"lotpaper/internal/book"
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
		config, err := loadConfig(ctx, tx)
		if err != nil {
			return err
		}
		prices, err := loadPrices(ctx, tx, on)
		if err != nil {
			return err
		}
		parcels := map[string]book.Parcel{}
		if err := store.Each(ctx, tx, store.RowFilter{}, func(p book.Parcel) error {
			parcels[p.Code] = p
			return nil
		}); err != nil {
			return err
		}
		keep := num.Int(1).Sub(config.Haircut.Fraction())
		return eachStock(ctx, tx, StockFilter{}, func(s StockLot) error {
			if !s.Owner.IsOwn() {
				out.Others++
				return nil
			}
			row := ValueRow{Lot: s.Code, Parcel: s.Parcel, Name: s.Name(), Pieces: s.Pieces, Carats: s.Carats, Cost: s.Cost, WriteDown: zero}
			if p, ok := parcels[s.Parcel]; ok && on >= p.On {
				row.Days = int(on.Time().Sub(p.On.Time()).Hours() / 24)
			}
			if price, ok := prices.find(s.Lot); ok {
				nrv := price.Loose.ForCarats(s.Carats, num.HalfUp).Times(keep, num.HalfUp)
				row.NRV = &nrv
				if s.Cost.Cmp(nrv) > 0 {
					row.WriteDown = s.Cost.Sub(nrv)
				}
			} else {
				out.Unpriced++
			}
			out.Rows = append(out.Rows, row)
			out.Cost = out.Cost.Add(row.Cost)
			out.WriteDown = out.WriteDown.Add(row.WriteDown)
			out.Value = out.Cost.Sub(out.WriteDown)
			return nil
		})
	})
	return out, err
}
