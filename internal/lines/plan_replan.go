package lines

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/num"
)

// lockFault is the fault that a lock cannot be met; any other error stays.
func lockFault(err error) error {
	var lock *lineplan.LockError
	if !errors.As(err, &lock) {
		return err
	}
	return fault.New(fault.Refused, "lock-impossible", lock.Error(), "lock another stone, or plan without this lock").
		AtField("lock").AtRef(lock.Lock.Lot)
}

// replan plans again after stones were lost, and leaves the others where an
// earlier plan has them: the one that is given, else the one that the line
// holds, else the plan as it would have been.
func (p *Planned) replan(ctx context.Context, r LinePlan) error {
	before := r.Before
	if before == nil {
		before = p.heldUses(r.Line)
	}
	if err := p.solve(ctx, r); err != nil { // with the stone: what would have been
		return err
	}
	if len(before) == 0 {
		before = p.Plan.Uses()
	}
	for _, lost := range r.Lost {
		for i := range p.Input.Stones {
			s := &p.Input.Stones[i]
			if strings.EqualFold(s.Lot, strings.TrimSpace(lost)) {
				s.Free = max(0, s.Free-1)
				s.Away = append(s.Away, lineplan.Away{Pieces: 1, Why: "lost"})
			}
		}
	}
	p.Input.Keep, p.Input.KeepWorth = before, p.keepWorth()
	if r.Keep != nil {
		p.Input.KeepWorth = num.MoneyFromDec(*r.Keep, p.currency, num.HalfUp)
	}
	var err error
	if p.model, p.Plan, p.Most, err = lineplan.Replan(ctx, p.Input, p.settings(r), p.currency); err != nil {
		return lockFault(err)
	}
	p.KeepWorth = p.Input.KeepWorth
	p.Changes = p.model.Compare(before, p.Plan)
	return nil
}

// keepWorth is what moving a stone must gain when nothing is said: a twentieth
// of the mean trade price of the line's designs.
func (p *Planned) keepWorth() num.Money {
	sum := num.Zero(p.currency)
	for _, d := range p.Designs {
		sum = sum.Add(d.PriceTrade)
	}
	return desk.AverageOf(sum, int64(20*max(1, len(p.Designs))))
}

// heldUses are the holds of the line as uses of an earlier plan.
func (p *Planned) heldUses(line string) []lineplan.Use {
	var out []lineplan.Use
	for _, h := range p.held {
		for _, d := range p.Designs {
			for i, pos := range d.Positions {
				if name := book.PositionName(pos, i); strings.EqualFold(h.For, line+"/"+d.Name+"/"+name) {
					out = append(out, lineplan.Use{Design: d.Name, Position: name, Lot: h.Lot, Pieces: h.Pieces})
				}
			}
		}
	}
	return out
}

// speciesOf is the species and variety that a resolved name stands for.
func speciesOf(name string) (species, variety string) {
	named, f := facts.Resolve(name)
	switch {
	case f != nil:
		return name, ""
	case named.Variety != nil:
		return named.Materials[0].Name, named.Variety.Name
	}
	return named.Materials[0].Name, ""
}

// Price replaces a design's trade price for this plan.
func (r *LinePlan) Price(design, amount string) error {
	d, f := num.ParseDec(amount)
	if f != nil || d.Sign() <= 0 {
		return fault.New(fault.Usage, "price-form", fmt.Sprintf("a price is DESIGN=AMOUNT in the book's currency and "+
			"more than 0, but is %q", design+"="+amount), "write it like R1=95").AtField("price")
	}
	if r.Assume == nil {
		r.Assume = map[string]num.Dec{}
	}
	r.Assume["price/"+design] = d
	return nil
}
