package lines

import (
	"context"
	"fmt"
	"reflect"

	"lotpaper/internal/answer"
	"lotpaper/internal/chance"
	"lotpaper/internal/costing"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// offerPlan is the plan behind one price of a parcel.
type offerPlan struct {
	designs []answer.OfferDesign
	uses    []answer.OfferUse
	made    int64
	more    int64 // than without the parcel; may be negative
	set     int64 // stones of the parcel
	left    int64
	brings  num.Money // what the stones that are left bring
}

// words say in short what the plan makes.
func (p *offerPlan) words() string {
	more := fmt.Sprintf("%d more than without the parcel", p.more)
	if p.more < 0 {
		more = fmt.Sprintf("%d fewer than without the parcel", -p.more)
	}
	return fmt.Sprintf("%d pieces made, %s; %d of its stones set, %d left that bring %s", p.made, more, p.set, p.left,
		p.brings.Words())
}

// offerSearch plans and prices the line at each price of the parcel.
type offerSearch struct {
	ctx      context.Context
	request  Offer
	base     *basis
	without  *pricedLine
	minus    *costing.Model // the line without the parcel, to be taken off; nil: the whole line counts
	alone    num.Money      // what the line earns without the parcel, as planned
	known    map[string]costing.Planned
	counted  []string
	not      []string
	warnings fault.List
}

// start plans the line without the parcel, and holds still the prices of
// designs that the line leaves to the book: a dealer cannot ask more of the
// customer because the parcel was dear.
func (s *offerSearch) start() error {
	market, err := s.line(num.Zero(s.base.currency), nil)
	if err != nil {
		return err
	}
	s.base.fixed = map[string]num.Money{}
	for i := range market.designs {
		if d := &market.designs[i]; d.open {
			s.base.fixed[d.Name] = d.trade.Price
		}
	}
	parcel := map[string]bool{}
	for i := range s.base.parcel.lots {
		parcel[s.base.parcel.lots[i].Code] = true
	}
	if s.without, err = s.line(num.Zero(s.base.currency), parcel); err != nil {
		return err
	}
	s.alone = num.Zero(s.base.currency)
	for i := range s.without.designs {
		if d := &s.without.designs[i]; d.made > 0 {
			s.alone = s.alone.Add(d.result.Profit)
		}
	}
	if s.request.Whole {
		return nil
	}
	m, faults := s.without.model(s.request.Only, false)
	if faults.Blocks() {
		return faults
	}
	s.minus = m.Model
	return nil
}

// line is the line planned and priced when the parcel costs total; without are
// lots that may not be used.
func (s *offerSearch) line(total num.Money, without map[string]bool) (*pricedLine, error) {
	p, err := s.base.solve(s.ctx, s.request.Plan, s.base.taskAt(total, without))
	if err != nil {
		return nil, err
	}
	return s.base.price(p)
}

// at plans the line when the parcel costs total. Prices that give the planner
// the same task give the same plan.
func (s *offerSearch) at(total num.Money) (costing.Planned, error) {
	key := s.base.taskKey(total)
	if have, ok := s.known[key]; ok {
		return have, nil
	}
	line, err := s.line(total, nil)
	if err != nil {
		return costing.Planned{}, err
	}
	m, faults := line.model(s.request.Only, false)
	if faults.Blocks() {
		return costing.Planned{}, faults
	}
	if s.counted == nil {
		s.counted, s.not = m.counted, m.not
		s.warnings = append(s.warnings, line.told...)
	}
	plan := s.planOf(line)
	model := m.Model
	if s.minus != nil {
		model = difference(model, s.minus)
	}
	// The stones that are set stand in the model at what they bring as
	// leftovers, so every stone's worth comes back here.
	p := costing.Planned{Model: model, Leftovers: s.base.parcel.worth(s.base.currency), Words: plan.words(), Data: plan}
	s.known[key] = p
	return p, nil
}

// planOf is the plan in the words of the offer.
func (s *offerSearch) planOf(l *pricedLine) *offerPlan {
	plan := &offerPlan{designs: []answer.OfferDesign{}, uses: []answer.OfferUse{}, brings: num.Zero(l.currency)}
	for i := range l.designs {
		d, without := &l.designs[i], s.without.designs[i].made
		plan.designs = append(plan.designs, answer.OfferDesign{Design: d.Name, Wanted: d.Quantity, Made: d.made,
			Without: without})
		plan.made += d.made
		plan.more += d.made - without
	}
	parcel := s.base.parcel
	for i := range parcel.lots {
		lot := &parcel.lots[i]
		u := answer.OfferUse{Lot: lot.Code, Name: lot.Name(), Pieces: lot.Pieces, Set: l.plan.Used[lot.Code],
			Known: lot.priced}
		u.Each, _ = parcel.leftover(lot.Code, 1)
		whole, _ := parcel.leftover(lot.Code, lot.Pieces)
		set, _ := parcel.leftover(lot.Code, u.Set)
		u.Left = whole.Sub(set)
		plan.set += u.Set
		plan.left += u.Pieces - u.Set
		plan.brings = plan.brings.Add(u.Left)
		plan.uses = append(plan.uses, u)
	}
	return plan
}

// difference is a line less another one, to be simulated with the same random
// numbers: the designs of the other stand in it with all that they earn and
// cost the other way round, and designs that are the same in both are left out.
func difference(m, minus *costing.Model) *costing.Model {
	var out []costing.ModelDesign
	at, same := map[string]int{}, map[int]bool{}
	for i, x := range minus.Designs {
		at[x.Name] = i
	}
	for _, d := range m.Designs {
		if i, ok := at[d.Name]; ok && reflect.DeepEqual(d, minus.Designs[i]) {
			same[i] = true
			continue
		}
		out = append(out, d)
	}
	for i, x := range minus.Designs {
		if same[i] {
			continue
		}
		x.Price, x.Base, x.Fixed, x.Salvage, x.ReturnCost = x.Price.Neg(), x.Base.Neg(), x.Fixed.Neg(), x.Salvage.Neg(),
			x.ReturnCost.Neg()
		x.Exposed, x.Billed = negated(x.Exposed), negated(x.Billed)
		stones := make([]costing.ModelStone, len(x.Stones))
		for j, s := range x.Stones {
			s.Each, s.Wrong, s.Cut = s.Each.Neg(), s.Wrong.Neg(), s.Cut.Neg()
			stones[j] = s
		}
		x.Stones = stones
		out = append(out, x)
	}
	m.Designs = out
	if m.Beliefs == nil {
		m.Beliefs, m.Drivers = map[string]chance.Beta{}, map[string]costing.Driver{}
	}
	for name, b := range minus.Beliefs {
		m.Beliefs[name] = b
	}
	for name, d := range minus.Drivers {
		m.Drivers[name] = d
	}
	return m
}

// negated are amounts the other way round.
func negated(exposed []costing.Exposed) []costing.Exposed {
	out := make([]costing.Exposed, len(exposed))
	for i, e := range exposed {
		out[i] = costing.Exposed{Driver: e.Driver, Amount: e.Amount.Neg()}
	}
	return out
}
