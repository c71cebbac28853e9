package stockroom

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// ValuationBy are the groups that a valuation can be drawn up by.
var ValuationBy = []string{"parcel", "species", "place"}

// StockValuation is the valuation of the own stock as a document, by parcel,
// species or place. By place, a lot that lies in several counts in each with
// what lies there.
func (room *Room) StockValuation(ctx context.Context, on book.Date, by string) (*answer.Valuation, error) {
	if by == "" {
		by = "parcel"
	}
	if !slices.Contains(ValuationBy, by) {
		return nil, fault.New(fault.Usage, "value-by", fmt.Sprintf("a valuation is by %s, but not by %q",
			strings.Join(ValuationBy, ", "), by), cmp.Or(fault.DidYouMean(by, ValuationBy),
			"choose one of them")).AtField("by")
	}
	out := &answer.Valuation{By: by, Rows: []answer.ValuationRow{}}
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		on = room.desk.Today(tx, on)
		v, err := openValuer(ctx, tx, on)
		if err != nil {
			return err
		}
		head, err := tx.Head(ctx)
		if err != nil {
			return err
		}
		out.Head = desk.DocumentHead(v.config, tx.Meta(), head, on, "", "Stock valuation by "+by)
		others := 0
		err = desk.EachStock(ctx, tx, desk.StockFilter{}, func(s answer.StockLot) error {
			if !s.Owner.IsOwn() {
				others++
				return nil
			}
			out.Rows = append(out.Rows, v.rows(s, by)...)
			return nil
		})
		out.Scope = fmt.Sprintf("own stock; %d lots of others (on memo in, or customers' stones) stand outside it at "+
			"no value; net realisable value is the loose price less a haircut of %s %%", others, v.config.Haircut)
		return err
	})
	return out, err
}

// valuer puts lots at the lower of cost and net realisable value.
type valuer struct {
	on      book.Date
	config  desk.Config
	prices  desk.PriceList
	parcels map[string]book.Parcel
	keep    num.Dec
}

func openValuer(ctx context.Context, tx store.ReadTx, on book.Date) (*valuer, error) {
	v := &valuer{on: on, parcels: map[string]book.Parcel{}}
	var err error
	if v.config, err = desk.LoadConfig(ctx, tx); err != nil {
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
func (v *valuer) bought(lot book.Lot) (book.Date, int) {
	p, ok := v.parcels[lot.Parcel]
	if !ok || v.on < p.On {
		return p.On, 0
	}
	return p.On, int(v.on.Time().Sub(p.On.Time()).Hours() / 24)
}

// rows are a lot's rows: one, or one for each place where it lies.
func (v *valuer) rows(s answer.StockLot, by string) []answer.ValuationRow {
	places := make([]string, len(s.Places))
	for i, b := range s.Places {
		places[i] = string(b.Place)
	}
	parts := []ledger.Balance{{Place: book.Place(strings.Join(places, ", ")), Pieces: s.Pieces, Carats: s.Carats,
		Cost: s.Cost}}
	if by == "place" {
		parts = s.Places
	}
	var out []answer.ValuationRow
	for _, part := range parts {
		h, price := v.held(s.Lot, part.Carats, num.Zero(s.Cost.Currency()).Add(part.Cost))
		r := answer.ValuationRow{Lot: s.Code, Name: s.Name(), Place: string(part.Place), Owner: string(s.Owner),
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
		on, days := v.bought(s.Lot)
		r.Bought, r.Days = on, int64(days)
		out = append(out, r)
	}
	return out
}
