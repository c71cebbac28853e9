package lineplan

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"lotpaper/internal/allocate"
	"lotpaper/internal/num"
)

// What further stones and wider rules are worth.
//
// A small problem that was solved to its best is solved again with the stone,
// or with the wider rule: the difference is the answer, and the bound of the
// second search makes it an "at most".
//
// A larger one is answered from its prices. Let A be the rent of every stone,
// and least(p) the cheapest fill of position p with each stone at its cost
// plus rent. For any A >= 0,
//
//	UB(A) = sum of capacity x A + sum over designs of quantity x max(0, V - sum of least(p))
//
// is at least the best plan: a plan pays at least least(p) for each fill, and
// gets back at most the rents. A further stone for p at cost c leaves A valid
// when the design's slack is given to p: rho = V - least of its other
// positions, so it adds at most max(0, rho - c) for each fill.

// least is the cheapest fill of a place at cost plus rent; ok is false when no
// stones fill it.
func (a *answer) least(p *place) (cost int64, ok bool) {
	rent := a.result.Prices.Items
	at := func(e allocate.Entry) int64 { return e.Cost + rent[e.Item] }
	cheapest := func(entries []allocate.Entry, count int) (int64, bool) {
		list := slices.Clone(entries)
		slices.SortStableFunc(list, func(x, y allocate.Entry) int { return cmp.Compare(at(x), at(y)) })
		sum, need := int64(0), int64(count)
		for _, e := range list {
			n := min(need, a.m.input.Stones[e.Item].Free)
			sum += n * at(e)
			need -= n
		}
		return sum, need <= 0
	}
	best := int64(math.MaxInt64)
	for _, pos := range a.m.positions(p, nil) {
		switch pos.Kind {
		case allocate.Single:
			return cheapest(pos.Entries, pos.PerPiece())
		case allocate.Pair:
			for _, e := range pos.Edges {
				best = min(best, e.Cost+rent[e.I]+rent[e.J])
			}
			if best == math.MaxInt64 {
				return 0, false
			}
			return best * (p.Count / 2), true
		case allocate.Suite:
			for _, r := range pos.References {
				sum, all := int64(0), true
				for _, s := range r.Slots {
					c, ok := cheapest(s.Entries, s.Count)
					sum, all = sum+c, all && ok
				}
				if all {
					best = min(best, sum)
				}
			}
		}
	}
	return best, best != math.MaxInt64
}

// room is what a design's piece can pay to fill a place once more: its value
// less the cheapest fills of its other places. alone is false when another
// place cannot be filled at all; then it counts nothing.
func (a *answer) room(p *place) (rho int64, alone bool) {
	rho, alone = p.design.Margin.Minor(num.HalfUp), true
	for _, other := range a.m.places[p.di] {
		if other == p {
			continue
		}
		if cost, ok := a.least(other); ok {
			rho -= cost
		} else {
			alone = false
		}
	}
	return max(0, rho), alone
}

// furtherStone is the most that one further stone of a place may cost, when
// the other places that lack stones are filled for nothing.
func (a *answer) furtherStone(l lack, others []lack, p *Plan) (worth int64, alone bool, err error) {
	need := func(l lack) int64 { // stones that one more fill asks for
		if matched(l.Position) {
			return l.Count
		}
		var left int64
		for _, c := range l.fits {
			left += c.s.Free - p.Used[c.s.Lot]
		}
		return min(l.stones, max(1, l.Count-left))
	}
	if a.probes == 0 {
		rho, alone := a.room(l.place)
		if len(others) > 0 {
			alone = true
		}
		return rho / need(l), alone, nil
	}
	problem := a.copy()
	for _, o := range append([]lack{l}, others...) {
		a.phantom(&problem, o.place, need(o))
	}
	low, high, err := a.probe(problem)
	if low == 0 && high > 0 && len(others) == 0 {
		return high / need(l), true, err
	}
	return high / need(l), high > 0, err
}

// copy is the problem without anything shared that a probe changes.
func (a *answer) copy() allocate.Problem {
	out := allocate.Problem{Items: slices.Clone(a.m.Problem.Items), Designs: slices.Clone(a.m.Problem.Designs)}
	for i := range out.Designs {
		out.Designs[i].Positions = slices.Clone(out.Designs[i].Positions)
	}
	return out
}

// phantom adds so many stones that fill a place and cost nothing.
func (a *answer) phantom(problem *allocate.Problem, p *place, pieces int64) {
	item := len(problem.Items)
	problem.Items = append(problem.Items, allocate.Item{Key: fmt.Sprintf("\x00further %d", item),
		Capacity: int(pieces)})
	for r, row := range a.m.rows {
		if row.di != p.di || len(row.locks) > 0 {
			continue
		}
		for i := range problem.Designs[r].Positions {
			if row.toward[i] != p.pi {
				continue
			}
			pos := &problem.Designs[r].Positions[i]
			switch pos.Kind {
			case allocate.Single:
				pos.Entries = append(slices.Clone(pos.Entries), allocate.Entry{Item: item})
			case allocate.Pair:
				pos.Edges = append(slices.Clone(pos.Edges), allocate.Edge{I: item, J: item})
			case allocate.Suite:
				pos.References = append(slices.Clone(pos.References), allocate.Reference{Key: "\x00further",
					Slots: []allocate.Slot{{Count: int(p.Count), Entries: []allocate.Entry{{Item: item}}}}})
			}
		}
	}
}

// probe solves a changed problem and says what that adds: at least low, at
// most high.
func (a *answer) probe(problem allocate.Problem) (low, high int64, err error) {
	a.probes--
	s := a.settings
	r, err := allocate.Solve(a.ctx, problem, s)
	if err != nil {
		return 0, 0, fmt.Errorf("plan: %w", err)
	}
	return max(0, r.Value-a.result.Value), max(0, r.Bound-a.result.Value), nil
}

// upper is UB(A) of the plan's rents.
func (a *answer) upper() int64 {
	sum := int64(0)
	for i, rent := range a.result.Prices.Items {
		sum += rent * max(0, a.m.input.Stones[i].Free)
	}
	for di, d := range a.m.input.Designs {
		rho, all := d.Margin.Minor(num.HalfUp), true
		for _, p := range a.m.places[di] {
			cost, ok := a.least(p)
			rho, all = rho-cost, all && ok
		}
		if all {
			sum += max(0, rho) * d.Quantity
		}
	}
	return sum
}

// wider is a rule of a position made wider.
type wider struct {
	rule   string
	change func(p *place)
}

// widenings are the rules that a short position could relax, one at a time.
func widenings(p *place) []wider {
	var out []wider
	add := func(rule string, change func(p *place)) { out = append(out, wider{rule, change}) }
	for _, by := range []num.Millimetre{10, 20, 30, 50} {
		add(fmt.Sprintf("sizes %s mm wider either way", by), func(p *place) {
			for _, low := range []*num.Millimetre{&p.LengthMin, &p.WidthMin, &p.DepthMin} {
				if *low > 0 {
					*low = max(1, *low-by)
				}
			}
			for _, high := range []*num.Millimetre{&p.LengthMax, &p.WidthMax, &p.DepthMax} {
				if *high > 0 {
					*high += by
				}
			}
		})
	}
	if matched(p.Position) {
		add(fmt.Sprintf("stones matched within %s mm instead of %s", 2*tolerance(p.Position), tolerance(p.Position)),
			func(p *place) { p.Tolerance = 2 * tolerance(p.Position) })
	}
	if p.Treatment != "" {
		add("any treatment", func(p *place) { p.Treatment = "" })
	}
	if p.Color != "" {
		add("any colour", func(p *place) { p.Color = "" })
	}
	if p.Clarity != "" {
		add("any clarity", func(p *place) { p.Clarity = "" })
	}
	if !p.PriceMax.IsZero() {
		add("no price ceiling", func(p *place) { p.PriceMax = num.UnitPrice{} })
	}
	if rank := identityRank(p.identity); rank > 0 {
		add("identity "+identities[rank-1]+" instead of "+p.identity,
			func(p *place) { p.identity = identities[rank-1] })
	}
	if p.accept < levelOf("caution") {
		add(fmt.Sprintf("accepting %s instead of %s (a risk: see setting check)", levels[p.accept+1], levels[p.accept]),
			func(p *place) { p.accept++; p.Accept = levels[p.accept] })
	}
	return out
}

// relaxed asks of each wider rule how many pieces it admits and what they are
// worth at most, best first.
func (a *answer) relaxed(l lack) ([]Relaxed, error) {
	out := []Relaxed{}
	bySize := int64(0)
	for _, w := range widenings(l.place) {
		wide := a.m.widened(l.place, w.change)
		r := Relaxed{Rule: w.rule}
		for _, c := range wide.fits {
			if _, had := l.cost[c.item]; !had {
				r.Admits += c.s.Free
			}
		}
		isMatch := wide.Tolerance != l.Tolerance
		isSize := wide.LengthMin != l.LengthMin || wide.LengthMax != l.LengthMax || wide.WidthMax != l.WidthMax ||
			wide.WidthMin != l.WidthMin || wide.DepthMax != l.DepthMax || wide.DepthMin != l.DepthMin
		if r.Admits == 0 && !isMatch || isSize && r.Admits == bySize {
			continue
		}
		if isSize {
			bySize = r.Admits
		}
		most, err := a.widerWorth(l.place, wide, r.Admits, isMatch)
		if err != nil {
			return nil, err
		}
		if most > 0 {
			r.AtMost = a.money(most)
			out = append(out, r)
		}
	}
	slices.SortStableFunc(out, func(x, y Relaxed) int { return y.AtMost.Cmp(x.AtMost) })
	return out, nil
}

// widened is a place with a wider rule, filled again.
func (m *Model) widened(p *place, change func(*place)) *place {
	wide := newPlace(m.input, p.di, p.pi, p.Position)
	change(wide)
	wide.window = readWindow(wide.Color)
	m.fill(wide, false)
	return wide
}

// widerWorth is what a wider rule adds at most.
func (a *answer) widerWorth(p, wide *place, admits int64, isMatch bool) (int64, error) {
	if a.probes > 0 {
		problem := a.copy()
		for r, row := range a.m.rows {
			if row.di != p.di || len(row.locks) > 0 {
				continue
			}
			var positions []allocate.Position
			for i, pos := range problem.Designs[r].Positions {
				if row.toward[i] != p.pi {
					positions = append(positions, pos)
				}
			}
			problem.Designs[r].Positions = append(positions, a.m.positions(wide, nil)...)
		}
		_, high, err := a.probe(problem)
		return high, err
	}
	rho, alone := a.room(p)
	cost, ok := a.least(wide)
	if !ok || !alone || cost >= rho {
		return 0, nil
	}
	fills := p.design.Quantity
	if !isMatch { // a fill that gains takes at least one of the new stones
		fills = min(fills, admits)
	}
	return fills*(rho-cost) + a.upper() - a.result.Value, nil
}
