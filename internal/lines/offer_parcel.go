package lines

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// offered is a parcel that an offer is for, as a plan sees it.
type offered struct {
	parcel book.Parcel
	lots   []offeredLot
	at     map[string]int       // place in lots, by code
	fixed  map[string]num.Money // trade prices that are held still, by design
	offers []book.Offer         // asks and bids so far
}

// offeredLot is a lot of that parcel.
type offeredLot struct {
	answer.StockLot
	price  num.UnitPrice // loose, per carat; priced false: not known
	priced bool
	brings num.Money // what all its pieces bring as leftovers
	stone  int       // its place among the plan's stones
}

// offer reads the parcel that an offer is for. The lots of a parcel that is
// only on offer become stones of the plan; those of one that was bought or is
// here on memo are in stock already.
func (p *Planned) offer(ctx context.Context, tx store.ReadTx, b *bench.Identifier, prices desk.PriceList,
	code string) error {
	o := &offered{at: map[string]int{}}
	p.offered = o
	var err error
	if o.parcel, err = desk.ParcelNamed(ctx, tx, code); err != nil {
		return err
	}
	if o.offers, err = offersOf(ctx, tx, o.parcel.Code); err != nil {
		return err
	}
	if o.parcel.Kind == book.OfferOnly {
		if err := p.offerList(ctx, tx, b, prices); err != nil {
			return err
		}
	}
	for i, st := range p.Input.Stones {
		s, ok := p.Stones[st.Lot]
		if !ok || !strings.EqualFold(s.Parcel, o.parcel.Code) {
			continue
		}
		x := offeredLot{StockLot: s, stone: i}
		if row, known := prices.Find(s.Lot); known {
			x.price, x.priced = row.Loose, true
		}
		o.at[s.Code] = len(o.lots)
		o.lots = append(o.lots, x)
	}
	if len(o.lots) == 0 {
		return fault.New(fault.Refused, "parcel-empty", "nothing is left of the parcel "+o.parcel.Code,
			"an offer is for stones that are there: see the parcel").AtRef(o.parcel.Code).Do("parcel", "show",
			o.parcel.Code)
	}
	return nil
}

// offerList puts the lots of a parcel that is only on offer among the stones
// of the plan, as if they lay in the safe.
func (p *Planned) offerList(ctx context.Context, tx store.ReadTx, b *bench.Identifier, prices desk.PriceList) error {
	o := p.offered
	var list []book.SuppliedLot
	for _, x := range o.offers {
		if len(x.Lots) > 0 {
			list = x.Lots
		}
	}
	if len(list) == 0 {
		return fault.New(fault.Refused, "offer-list-missing", "the book keeps no pieces and weights of the offer "+
			o.parcel.Code, "import the vendor's list again, as an offer").AtRef(o.parcel.Code).Do("parcel", "import")
	}
	index, err := bench.LoadReadings(ctx, tx)
	if err != nil {
		return err
	}
	for _, l := range list {
		lot, err := desk.LotNamed(ctx, tx, l.Lot)
		if err != nil {
			return err
		}
		s := answer.StockLot{Lot: lot, Pieces: l.Pieces, Carats: l.Carats, Cost: num.Zero(p.currency).Add(lot.Agreed),
			Places: []ledger.Balance{{Lot: lot.Code, Place: book.Safe, Pieces: l.Pieces, Carats: l.Carats}}}
		id, err := b.IdentityOf(ctx, tx, s, index)
		if err != nil {
			return fmt.Errorf("lot %s: %w", lot.Code, err)
		}
		p.Stones[lot.Code] = s
		p.Identities[lot.Code] = &id
		p.Input.Stones = append(p.Input.Stones, planStone(s, id, 0, prices, p.Config))
	}
	return nil
}

// value says what each lot brings as leftovers: its loose price less the
// haircut, nothing when the price list does not know it.
func (o *offered) value(c desk.Config) {
	keep := num.Int(1).Sub(c.Haircut.Fraction())
	for i := range o.lots {
		l := &o.lots[i]
		l.brings = num.Zero(l.Cost.Currency())
		if l.priced {
			l.brings = l.price.ForCarats(l.Carats, num.HalfUp).Times(keep, num.HalfUp)
		}
	}
}

// leftover is what n pieces of a lot of the parcel bring; ok is false for
// every other lot.
func (o *offered) leftover(lot string, n int64) (num.Money, bool) {
	if o == nil {
		return num.Money{}, false
	}
	i, ok := o.at[lot]
	if !ok {
		return num.Money{}, false
	}
	l := &o.lots[i]
	q := l.brings.Dec().Mul(num.Int(n)).Each(l.Pieces, l.brings.Currency().Digits(), num.HalfUp)
	return num.MoneyFromDec(q, l.brings.Currency(), num.HalfUp), true
}

// worth is what the whole parcel brings as leftovers.
func (o *offered) worth(c num.Currency) num.Money {
	total := num.Zero(c)
	for i := range o.lots {
		total = total.Add(o.lots[i].brings)
	}
	return total
}

// shares splits a price of the parcel over its lots: by what was asked or paid
// for each, else by weight, else by pieces.
func (o *offered) shares(total num.Money) []num.Money {
	costs, carats, pieces := make([]num.Dec, len(o.lots)), make([]num.Dec, len(o.lots)), make([]num.Dec, len(o.lots))
	var cost, weight bool
	for i := range o.lots {
		l := &o.lots[i]
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

// fixedPrice is the price that an offer holds still; zero: none.
func (p *Planned) fixedPrice(design string) num.Money {
	if p.offered == nil {
		return num.Money{}
	}
	return p.offered.fixed[design]
}

// stonesAt are the plan's stones when the parcel costs total. The price per
// carat is what ceilings are held against; what using a stone costs the plan
// is what it would bring loose, or its share of the price when the book values
// stones at cost.
func (p *Planned) stonesAt(total num.Money) []lineplan.Stone {
	stones := slices.Clone(p.Input.Stones)
	shares := p.offered.shares(total)
	for i := range p.offered.lots {
		l := &p.offered.lots[i]
		s := &stones[l.stone]
		if q, ok := shares[i].Dec().Div(l.Carats.Dec(), 6, num.HalfUp); ok {
			s.PerCarat = num.UnitPriceFromDec(q, p.currency, num.HalfUp)
		}
		s.Value, _ = p.offered.leftover(l.Code, 1)
		if p.Config.StoneValue == "book_cost" {
			s.Value = eachOf(shares[i], l.Pieces).Round(num.HalfUp)
		}
	}
	return stones
}

// at is the line to plan when the parcel costs total, without the lots in out.
func (p *Planned) at(total num.Money, out map[string]bool) *Planned {
	q := *p
	in := *p.Input
	q.Input = &in
	q.Warnings = nil
	q.Designs = slices.Clone(p.Designs)
	in.Designs = q.Designs
	in.Stones = p.stonesAt(total)
	in.Out = map[string]bool{}
	for k, v := range p.Input.Out {
		in.Out[k] = v
	}
	for k := range out {
		in.Out[k] = true
	}
	return &q
}

// task names what a price changes in the planner's task: the cost of each
// stone, and which ceilings it is over.
func (o *offered) task(total num.Money, p *Planned) string {
	var b strings.Builder
	stones := p.stonesAt(total)
	for i := range o.lots {
		s := &stones[o.lots[i].stone]
		fmt.Fprintf(&b, "%d", s.Value.Micros())
		for _, d := range p.Designs {
			for _, pos := range d.Positions {
				if !pos.PriceMax.IsZero() && s.PerCarat.Cmp(pos.PriceMax.Money) > 0 {
					b.WriteByte('+')
				} else {
					b.WriteByte('-')
				}
			}
		}
	}
	return b.String()
}
