package stockroom

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/costing"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// valueGroups are the groups that the stock can be valued by.
var valueGroups = []string{"parcel", "species", "place"}

// StockValue asks for a valuation of the own stock.
type StockValue struct {
	On book.Date // empty: today
	By string    // one of Groups; empty: parcel
}

// Groups lists what the stock can be valued by.
func (StockValue) Groups() []string { return valueGroups }

// StockValue values the own stock item by item at the lower of cost and net
// realisable value (IAS 2): the loose price of the price list less the
// haircut. A lot that the list does not know stays at cost and is counted. By
// place, a lot that lies in several counts in each with what lies there.
func (room *Room) StockValue(ctx context.Context, r StockValue) (answer.StockValue, error) {
	var out answer.StockValue
	by := cmp.Or(r.By, "parcel")
	if !slices.Contains(valueGroups, by) {
		return out, fault.New(fault.Usage, "value-by", fmt.Sprintf("a valuation is by %s, but not by %q",
			strings.Join(valueGroups, ", "), by), cmp.Or(fault.DidYouMean(by, valueGroups),
			"choose one of them")).AtField("by")
	}
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		on := room.desk.Today(tx, r.On)
		v, err := openValuer(ctx, tx, on)
		if err != nil {
			return err
		}
		head, err := room.desk.Head(ctx, tx, v.config, on, "Stock valuation by "+by)
		if err != nil {
			return err
		}
		zero := num.Zero(tx.Meta().Currency)
		out = answer.StockValue{Head: head, By: by, Rows: []answer.ValueRow{}, Cost: zero}
		var held []costing.Held
		err = desk.StockFilter{}.Each(ctx, tx, func(s answer.StockLot) error {
			if !s.Owner.IsOwn() {
				out.Others++
				return nil
			}
			rows, items := v.rows(s, by)
			out.Rows, held = append(out.Rows, rows...), append(held, items...)
			return nil
		})
		if err != nil {
			return err
		}
		valued, value, down := costing.Value(held)
		for i := range valued {
			row := &out.Rows[i]
			row.WriteDown = valued[i].WriteDown
			out.Cost = out.Cost.Add(row.Cost)
			if row.NRV == nil {
				out.Unpriced++
			}
		}
		out.Value, out.WriteDown = zero.Add(value), zero.Add(down)
		out.Scope = fmt.Sprintf("own stock; %d lots of others (on memo in, or customers' stones) stand outside it at "+
			"no value; net realisable value is the loose price less a haircut of %s %%", out.Others, v.config.Haircut)
		return nil
	})
	return out, err
}

// valuer puts lots at the lower of cost and net realisable value.
type valuer struct {
	on      book.Date
	config  config.Config
	prices  desk.PriceList
	parcels map[string]book.Parcel
	keep    num.Dec
}

func openValuer(ctx context.Context, tx store.ReadTx, on book.Date) (*valuer, error) {
	v := &valuer{on: on, parcels: map[string]book.Parcel{}}
	var err error
	if v.config, err = config.Load(ctx, tx); err != nil {
		return nil, err
	}
	if v.prices, err = desk.LoadPrices(ctx, tx, on); err != nil {
		return nil, err
	}
	v.keep = num.Int(1).Sub(v.config.Haircut.Fraction())
	return v, store.Each(ctx, tx, store.RowFilter{}, func(p book.Parcel) error {
		v.parcels[p.Code] = p
		return nil
	})
}

// held is an item as costing values it.
func (v *valuer) held(lot book.Lot, carats num.Carat, cost num.Money) (costing.Held, book.Price) {
	h := costing.Held{Name: lot.Code, Cost: cost}
	price, known := v.prices.Find(lot)
	if known {
		h.HasPrice, h.Price = true, price.Loose.ForCarats(carats, num.HalfUp).Times(v.keep, num.HalfUp)
	}
	return h, price
}

// bought is when a lot's parcel was bought, and how many days ago.
func (v *valuer) bought(lot book.Lot) (book.Date, int64) {
	p, ok := v.parcels[lot.Parcel]
	if !ok || v.on < p.On {
		return p.On, 0
	}
	return p.On, int64(v.on.Time().Sub(p.On.Time()).Hours() / 24)
}

// rows are a lot's rows: one, or one for each place where it lies.
func (v *valuer) rows(s answer.StockLot, by string) ([]answer.ValueRow, []costing.Held) {
	places := make([]string, len(s.Places))
	for i, b := range s.Places {
		places[i] = string(b.Place)
	}
	parts := []ledger.Balance{{Place: book.Place(strings.Join(places, ", ")), Pieces: s.Pieces, Carats: s.Carats,
		Cost: s.Cost}}
	if by == "place" {
		parts = s.Places
	}
	var out []answer.ValueRow
	var items []costing.Held
	for _, part := range parts {
		h, price := v.held(s.Lot, part.Carats, num.Zero(s.Cost.Currency()).Add(part.Cost))
		r := answer.ValueRow{Lot: s.Code, Parcel: s.Parcel, Name: s.Called(), Place: string(part.Place),
			Pieces: part.Pieces, Carats: part.Carats, Cost: h.Cost}
		switch by {
		case "parcel":
			r.Group = s.Parcel
		case "species":
			r.Group = cmp.Or(s.Species, "not named")
		case "place":
			r.Group = r.Place
		}
		if h.HasPrice {
			nrv := h.Price
			r.NRV, r.Price = &nrv, price.Loose.String()+" per ct, "+string(price.On)+", "+price.Source
		}
		r.Bought, r.Days = v.bought(s.Lot)
		out, items = append(out, r), append(items, h)
	}
	return out, items
}
