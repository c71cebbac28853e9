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
var valueGroups = []string{"parcel", "species", "place", "party"}

// StockValue asks for a valuation of the own stock, at the prices of the day that
// it is of.
type StockValue struct {
	desk.AsOf
	By string // one of Groups; empty: parcel
}

// Groups lists what the stock can be valued by.
func (StockValue) Groups() []string { return valueGroups }

// StockValue values the own stock item by item at the lower of cost and net
// realisable value (IAS 2): the loose price of the price list less the
// haircut; of a finished piece, which is one item with its stones, its asking
// price less the haircut. What has no price stays at cost and is counted. By
// place or party, a lot that lies in several places counts in each with what lies
// there.
func (room *Room) StockValue(ctx context.Context, r StockValue) (answer.StockValue, error) {
	var out answer.StockValue
	by := cmp.Or(r.By, "parcel")
	if !slices.Contains(valueGroups, by) {
		return out, fault.New(fault.Usage, "value-by", fmt.Sprintf("a valuation is by %s, but not by %q",
			strings.Join(valueGroups, ", "), by), cmp.Or(fault.DidYouMean(by, valueGroups),
			"choose one of them")).AtField("by")
	}
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		then, err := r.Moment(ctx, tx)
		if err != nil {
			return err
		}
		on := room.desk.Today(tx, then.Day())
		v, err := openValuer(ctx, tx, then, on)
		if err != nil {
			return err
		}
		head, err := room.desk.Head(ctx, tx, v.config, on, "Stock valuation by "+by)
		if err != nil {
			return err
		}
		zero := num.Zero(tx.Meta().Currency)
		out = answer.StockValue{Head: head, AsOf: then.Answer, By: by, Rows: []answer.ValueRow{}, Cost: zero}
		var held []costing.Held
		if v.inside, err = readInsides(ctx, tx, r.AsOf, then); err != nil {
			return err
		}
		err = desk.StockFilter{AsOf: r.AsOf, Kind: desk.AnyLot}.Each(ctx, tx, func(s answer.StockLot) error {
			if !s.Owner.IsOwn() {
				out.Others++
				return nil
			}
			s, some := v.inside.item(s)
			if !some {
				return nil
			}
			rows, items, err := v.rows(ctx, tx, s, by)
			if err != nil {
				return err
			}
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
			"no value; net realisable value is the loose price, of a finished piece its asking price, less a haircut "+
			"of %s %%", out.Others, v.config.Haircut)
		if then.Answer != nil {
			out.Scope = then.Answer.Words() + "; " + out.Scope
		}
		return nil
	})
	return out, err
}

// valuer puts lots at the lower of cost and net realisable value.
type valuer struct {
	on      book.Date
	then    desk.Moment
	config  config.Config
	prices  desk.PriceList
	parcels map[string]book.Parcel
	inside  insides // what lies in finished pieces
	keep    num.Dec
	parties *desk.Parties
	has     map[book.Place]string // who has what lies at a place, once it was asked for
}

func openValuer(ctx context.Context, tx store.ReadTx, then desk.Moment, on book.Date) (*valuer, error) {
	v := &valuer{on: on, then: then, parcels: map[string]book.Parcel{}, has: map[book.Place]string{}}
	var err error
	if v.parties, err = desk.ReadParties(ctx, tx); err != nil {
		return nil, err
	}
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
	if lot.IsPiece() {
		return v.heldPiece(lot, h)
	}
	price, known := v.prices.Find(lot)
	if known {
		h.HasPrice, h.Price = true, price.Loose.ForCarats(carats, num.HalfUp).Times(v.keep, num.HalfUp)
	}
	return h, price
}

// bought is when a lot's parcel was bought, and how many days ago.
func (v *valuer) bought(lot book.Lot) (book.Date, int64) {
	p, ok := v.parcels[lot.Parcel]
	if lot.IsPiece() {
		p, ok = book.Parcel{On: lot.Jewel.Since}, true
	}
	if !ok || v.on < p.On {
		return p.On, 0
	}
	return p.On, v.on.DaysSince(p.On)
}

// rows are a lot's rows: one, or one for each place where it lies.
func (v *valuer) rows(ctx context.Context, tx store.ReadTx, s answer.StockLot, by string) ([]answer.ValueRow,
	[]costing.Held, error) {
	places := make([]string, len(s.Places))
	for i, b := range s.Places {
		places[i] = string(b.Place)
	}
	parts := []ledger.Balance{{Place: book.Place(strings.Join(places, ", ")), Pieces: s.Pieces, Carats: s.Carats,
		Cost: s.Cost}}
	if by == "place" || by == "party" {
		parts = s.Places
	}
	var out []answer.ValueRow
	var items []costing.Held
	for _, part := range parts {
		h, price := v.held(s.Lot, part.Carats, num.Zero(s.Cost.Currency()).Add(part.Cost))
		r := answer.ValueRow{Lot: s.Code, Parcel: s.Parcel, Name: v.inside.name(s), Place: string(part.Place),
			Pieces: part.Pieces, Carats: part.Carats, Cost: h.Cost}
		switch by {
		case "parcel":
			r.Group = s.Parcel
		case "species":
			r.Group = cmp.Or(s.Species, "not named")
		case "place":
			r.Group = r.Place
		case "party":
			var err error
			if r.Group, err = v.party(ctx, tx, part.Place); err != nil {
				return nil, nil, err
			}
		}
		if s.IsPiece() && (by == "parcel" || by == "species") {
			r.Group = finishedPieces
		}
		if h.HasPrice {
			nrv := h.Price
			r.NRV, r.Price = &nrv, price.Loose.String()+" per ct, "+string(price.On)+", "+price.Source
			if s.IsPiece() {
				r.Price = price.Loose.String() + ", asking price"
			}
		}
		r.Bought, r.Days = v.bought(s.Lot)
		out, items = append(out, r), append(items, h)
	}
	return out, items, nil
}

// Who has what no party has: the stones of pieces that are no lots of the book, and
// what is on its way.
const (
	inPieces = "in pieces"
	onTheWay = "between offices"
)

// party is who has what lies at a place: the party of the paper, or of the old
// papers there; a safe by its name. The stones of a piece are where the piece is.
func (v *valuer) party(ctx context.Context, tx store.ReadTx, at book.Place) (string, error) {
	if name, known := v.has[at]; known {
		return name, nil
	}
	name := at.Name()
	switch at.Kind() {
	case book.AtOffice:
		name = string(at)
	case book.AtPiece:
		lay, err := tx.Balances(ctx, v.then.Balances(store.BalanceFilter{Lot: name, RealOnly: true}))
		if err != nil {
			return "", err
		}
		if name = inPieces; len(lay) > 0 {
			if name, err = v.party(ctx, tx, lay[0].Place); err != nil {
				return "", err
			}
		}
	case book.AtMemo, book.AtCutter, book.AtSetter:
		name = v.parties.Of(name)
	case book.AtPaper:
		err := desk.EachPaper(ctx, tx, store.RowFilter{}, func(p desk.Paper) error {
			v.has[p.Place] = cmp.Or(v.parties.Of(p.Party), onTheWay)
			return nil
		})
		if err != nil {
			return "", err
		}
		name = cmp.Or(v.has[at], string(at))
	}
	v.has[at] = name
	return name, nil
}
