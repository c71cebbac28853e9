package lines

import (
	"context"
	"fmt"
	"maps"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// wantedParcel is a parcel that an offer is for, as a plan sees it.
type wantedParcel struct {
	book.Parcel
	lots   []wantedLot
	at     map[string]int // place in lots, by code
	offers []book.Offer   // asks and bids so far
}

// wantedLot is a lot of that parcel.
type wantedLot struct {
	answer.StockLot
	price  num.UnitPrice // loose, per carat; priced false: not known
	priced bool
	brings num.Money // what all its pieces bring as leftovers
	stone  int       // its place among the plan's stones
}

// readParcel reads a parcel that an offer is for. The lots of a parcel that is
// only on offer become stones of the task; those of one that was bought or is
// here on memo are in stock already.
func (b *basis) readParcel(ctx context.Context, tx store.ReadTx, identifier *bench.Identifier, prices desk.PriceList,
	code string) (*wantedParcel, error) {
	p := &wantedParcel{at: map[string]int{}}
	var err error
	if p.Parcel, err = desk.ParcelNamed(ctx, tx, code); err != nil {
		return nil, err
	}
	if p.offers, err = offersOf(ctx, tx, p.Code); err != nil {
		return nil, err
	}
	if p.Kind == book.OfferOnly {
		if err := b.addOfferedLots(ctx, tx, identifier, prices, p); err != nil {
			return nil, err
		}
	}
	for i, st := range b.task.Stones {
		s, ok := b.lots[st.Lot]
		if !ok || !strings.EqualFold(s.Parcel, p.Code) {
			continue
		}
		x := wantedLot{StockLot: s, stone: i}
		if row, known := prices.Find(s.Lot); known {
			x.price, x.priced = row.Loose, true
		}
		p.at[s.Code] = len(p.lots)
		p.lots = append(p.lots, x)
	}
	if len(p.lots) == 0 {
		return nil, fault.New(fault.Refused, "parcel-empty", "nothing is left of the parcel "+p.Code,
			"an offer is for stones that are there: see the parcel").AtRef(p.Code).Do("parcel", "show", p.Code)
	}
	return p, nil
}

// addOfferedLots puts the lots of a parcel that is only on offer among the
// stones of the task, as if they lay in the safe.
func (b *basis) addOfferedLots(ctx context.Context, tx store.ReadTx, identifier *bench.Identifier,
	prices desk.PriceList, p *wantedParcel) error {
	var list []book.SuppliedLot
	for _, x := range p.offers {
		if len(x.Lots) > 0 {
			list = x.Lots
		}
	}
	if len(list) == 0 {
		return fault.New(fault.Refused, "offer-list-missing", "the book keeps no pieces and weights of the offer "+
			p.Code, "import the vendor's list again, as an offer").AtRef(p.Code).Do("parcel", "import")
	}
	lots := make([]answer.StockLot, len(list))
	for i, l := range list {
		lot, err := desk.Named[book.Lot](ctx, tx, l.Lot)
		if err != nil {
			return err
		}
		lots[i] = answer.StockLot{Lot: lot, Pieces: l.Pieces, Carats: l.Carats,
			Cost:   num.Zero(b.currency).Add(lot.Agreed),
			Places: []ledger.Balance{{Lot: lot.Code, Place: book.Safe, Pieces: l.Pieces, Carats: l.Carats}}}
	}
	return identifier.Lots(ctx, tx, lots, func(s answer.StockLot, id bench.LotIdentity) error {
		b.lots[s.Code] = s
		b.identities[s.Code] = &id
		b.task.Stones = append(b.task.Stones, stoneOf(s, id, 0, prices, b.config))
		return nil
	})
}

// holds is how many pieces and carats the parcel has.
func (p *wantedParcel) holds() (pieces int64, carats num.Carat) {
	for i := range p.lots {
		pieces += p.lots[i].Pieces
		carats += p.lots[i].Carats
	}
	return pieces, carats
}

// history are the asks and bids so far, oldest first.
func (p *wantedParcel) history() []answer.OfferHistory {
	out := []answer.OfferHistory{}
	for _, o := range p.offers {
		x := answer.OfferHistory{On: o.On, Party: o.Party, Side: o.Side, Total: o.Total, Note: o.Note}
		if o.Foreign != nil {
			x.Foreign = fmt.Sprintf("%s at %s", o.Foreign.Amount.Words(), o.Foreign.Rate)
		}
		out = append(out, x)
	}
	return out
}

// setLeftovers works out what each lot brings as leftovers: its loose price
// less the haircut, nothing when the price list does not know it.
func (p *wantedParcel) setLeftovers(c config.Config) {
	keep := num.Int(1).Sub(c.Haircut.Fraction())
	for i := range p.lots {
		l := &p.lots[i]
		l.brings = num.Zero(l.Cost.Currency())
		if l.priced {
			l.brings = l.price.ForCarats(l.Carats, num.HalfUp).Times(keep, num.HalfUp)
		}
	}
}

// leftover is what n pieces of a lot of the parcel bring; ok is false for
// every other lot, and when no offer is made.
func (p *wantedParcel) leftover(lot string, n int64) (worth num.Money, ok bool) {
	if p == nil {
		return num.Money{}, false
	}
	i, ok := p.at[lot]
	if !ok {
		return num.Money{}, false
	}
	l := &p.lots[i]
	q := l.brings.Dec().Mul(num.Int(n)).Each(l.Pieces, l.brings.Currency().Digits(), num.HalfUp)
	return num.MoneyFromDec(q, l.brings.Currency(), num.HalfUp), true
}

// worth is what the whole parcel brings as leftovers.
func (p *wantedParcel) worth(c num.Currency) num.Money {
	total := num.Zero(c)
	for i := range p.lots {
		total = total.Add(p.lots[i].brings)
	}
	return total
}

// shares splits a price of the parcel over its lots: by what was asked or paid
// for each, else by weight, else by pieces.
func (p *wantedParcel) shares(total num.Money) []num.Money {
	n := len(p.lots)
	costs, carats, pieces := make([]num.Dec, n), make([]num.Dec, n), make([]num.Dec, n)
	var cost, weight bool
	for i := range p.lots {
		l := &p.lots[i]
		costs[i], carats[i], pieces[i] = l.Agreed.Dec(), l.Carats.Dec(), num.Int(l.Pieces)
		if l.Cost.Sign() > 0 {
			costs[i] = l.Cost.Dec()
		}
		cost, weight = cost || costs[i].Sign() > 0, weight || l.Carats > 0
	}
	switch {
	case cost:
		return total.Share(costs)
	case weight:
		return total.Share(carats)
	}
	return total.Share(pieces)
}

// taskAt is the task when the parcel costs total and the lots of without may
// not be used. The price per carat is what ceilings are held against; what
// using a stone costs the plan is what it would bring loose, or its share of the
// price when the book values stones at cost.
func (b *basis) taskAt(total num.Money, without map[string]bool) *lineplan.Input {
	task := b.newTask()
	shares := b.parcel.shares(total)
	for i := range b.parcel.lots {
		l := &b.parcel.lots[i]
		s := &task.Stones[l.stone]
		if q, ok := shares[i].Dec().Div(l.Carats.Dec(), 6, num.HalfUp); ok {
			s.PerCarat = num.UnitPriceFromDec(q, b.currency, num.HalfUp)
		}
		s.Value, _ = b.parcel.leftover(l.Code, 1)
		if b.config.StoneValue == "book_cost" {
			s.Value = eachOf(shares[i], l.Pieces).Round(num.HalfUp)
		}
	}
	task.Out = maps.Clone(b.task.Out)
	maps.Copy(task.Out, without)
	return task
}

// taskKey names what a price of the parcel changes in the task: the cost of
// each stone, and which ceilings it is over.
func (b *basis) taskKey(total num.Money) string {
	var key strings.Builder
	task := b.taskAt(total, nil)
	for i := range b.parcel.lots {
		s := &task.Stones[b.parcel.lots[i].stone]
		fmt.Fprintf(&key, "%d", s.Value.Micros())
		for _, d := range task.Designs {
			for _, pos := range d.Positions {
				if !pos.PriceMax.IsZero() && s.PerCarat.Cmp(pos.PriceMax.Money) > 0 {
					key.WriteByte('+')
				} else {
					key.WriteByte('-')
				}
			}
		}
	}
	return key.String()
}
