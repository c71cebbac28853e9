package lineplan

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/allocate"
	"lotpaper/internal/num"
)

// Short is a position that the plan cannot fill as often as wanted.
type Short struct {
	Design   string
	Position string
	Missing  int64 // stones
	Why      string
	Worth    num.Money // the most that one further stone may cost
	// Together names other positions of the design that lack stones too: then
	// Worth counts only when they are filled as well, and is what is left when
	// they cost nothing.
	Together []string
	Relaxed  []Relaxed
}

// Relaxed is one rule of a position made wider.
type Relaxed struct {
	Rule   string // in words: "sizes 0.10 mm wider either way"
	Admits int64  // further pieces that would fit
	AtMost num.Money
}

// Limits of re-solving the problem with a further stone or a wider rule: a
// problem whose own search took little work is solved again for each question,
// a larger one is answered from its prices.
const (
	probeWork  = 400_000_000 // steps in all
	mostProbes = 200
)

// shortages lists the positions of designs that are made less often than
// wanted and have too few stones for what is missing, and the designs that are
// not made although stones are there.
func (a *answer) shortages(p *Plan) error {
	left := map[int]int64{}
	for i, s := range a.m.input.Stones {
		left[i] = s.Free - p.Used[s.Lot]
	}
	for di, d := range a.m.input.Designs {
		missing := d.Quantity - p.Made[d.Name]
		if missing <= 0 {
			continue
		}
		mine := map[int]int64{}
		for i, n := range left {
			mine[i] = n
		}
		var lacks []lack
		var cost int64
		for _, pl := range a.m.places[di] {
			n, spent := a.m.take(pl, missing, mine)
			cost += spent
			if n < missing*pl.Count {
				lacks = append(lacks, lack{pl, missing*pl.Count - n})
			}
		}
		if len(lacks) == 0 {
			p.Unmade = append(p.Unmade, a.unmade(d, missing, cost))
			continue
		}
		for _, l := range lacks {
			s, err := a.short(l, lacks, p)
			if err != nil {
				return err
			}
			p.Short = append(p.Short, s)
		}
	}
	return nil
}

// lack is a position with the stones that it lacks.
type lack struct {
	*place
	stones int64
}

// take fills a place up to so many times from the stones that are left,
// cheapest first, and says how many stones it found and what they cost.
func (m *Model) take(p *place, times int64, left map[int]int64) (stones, cost int64) {
	switch {
	case p.Match == "pair" && p.Count%2 == 0:
		edges, _ := m.pairs(p)
		slices.SortStableFunc(edges, func(x, y allocate.Edge) int { return cmp.Compare(x.Cost, y.Cost) })
		for _, e := range edges {
			for stones < times*p.Count && left[e.I] > 0 && left[e.J] > 0 && (e.I != e.J || left[e.I] > 1) {
				left[e.I]--
				left[e.J]--
				stones += 2
				cost += e.Cost
			}
		}
	case matched(p.Position):
		for _, r := range m.suites(p) {
			for stones < times*p.Count {
				taken, sum, ok := takeSuite(r, left)
				if !ok {
					break
				}
				for item, n := range taken {
					left[item] -= n
				}
				stones += p.Count
				cost += sum
			}
		}
	default:
		fits := append([]candidate{}, p.fits...)
		slices.SortStableFunc(fits, func(x, y candidate) int { return cmp.Compare(x.cost, y.cost) })
		for _, c := range fits {
			n := min(left[c.item], times*p.Count-stones)
			left[c.item] -= n
			stones += n
			cost += n * c.cost
		}
	}
	return stones, cost
}

func takeSuite(r allocate.Reference, left map[int]int64) (taken map[int]int64, cost int64, ok bool) {
	taken = map[int]int64{}
	for _, s := range r.Slots {
		need := int64(s.Count)
		for _, e := range s.Entries {
			n := min(need, left[e.Item]-taken[e.Item])
			taken[e.Item] += n
			need -= n
			cost += n * e.Cost
		}
		if need > 0 {
			return nil, 0, false
		}
	}
	return taken, cost, true
}

// unmade says why pieces are not made although stones for them are there.
func (a *answer) unmade(d Design, missing, cost int64) Unmade {
	each, earns := cost/missing, d.Margin.Minor(num.HalfUp)
	u := Unmade{Design: d.Name, Pieces: missing}
	fixed := int64(0)
	if !d.Fixed.IsZero() && missing == d.Quantity {
		fixed = d.Fixed.Minor(num.HalfUp)
	}
	switch {
	case each <= earns && missing*earns-cost <= fixed && fixed > 0:
		u.Why = fmt.Sprintf("all pieces of %s would earn %s after their stones, and making any of it costs %s once",
			d.Name, a.money(missing*earns-cost).Words(), a.money(fixed).Words())
	case each > earns:
		u.Why = fmt.Sprintf("the stones that are left for %s would cost %s a piece, and a piece earns only %s before "+
			"its stones", d.Name, a.money(each).Words(), a.money(earns).Words())
	default:
		u.Why = "a further piece seems to pay, but the search ended before that was settled: give it more work"
	}
	return u
}

// short words one shortage and asks what further stones and wider rules are
// worth.
func (a *answer) short(l lack, all []lack, p *Plan) (Short, error) {
	s := Short{Design: l.design.Name, Position: l.name, Missing: l.stones, Why: a.why(l, p)}
	worth, alone, err := a.furtherStone(l, nil, p)
	if err != nil {
		return s, err
	}
	if !alone {
		var others []lack
		for _, o := range all {
			if o.place != l.place {
				others = append(others, o)
				s.Together = append(s.Together, o.name)
			}
		}
		if len(others) > 0 {
			if worth, _, err = a.furtherStone(l, others, p); err != nil {
				return s, err
			}
		}
	}
	s.Worth = a.money(worth)
	if !a.weighing {
		return s, nil
	}
	s.Relaxed, err = a.relaxed(l)
	return s, err
}

// why words a shortage: how many fit by kind and size, and what took the rest.
func (a *answer) why(l lack, p *Plan) string {
	t := &l.tally
	parts := []string{fmt.Sprintf("wants %s: %d fit by kind, shape and size", l.Position.Wanted(), t.bySize())}
	parts = append(parts, t.reasons(l.place)...)
	var used, unmatched int64
	for _, c := range l.fits {
		used += p.Used[c.s.Lot]
		if matched(l.Position) && !matchable(c.s) {
			unmatched += c.s.Free
		}
	}
	if used > 0 {
		parts = append(parts, fmt.Sprintf("%d used by this plan", used))
	}
	if unmatched > 0 {
		parts = append(parts, fmt.Sprintf("%d in lots that are not calibrated, so they cannot be matched unseen",
			unmatched))
	}
	if rest := t.pieces[Fits] - used - unmatched; rest > 0 && matched(l.Position) {
		parts = append(parts, fmt.Sprintf("%d left without a match within %s mm", rest, tolerance(l.Position)))
	} else if rest > 0 {
		parts = append(parts, fmt.Sprintf("%d left", rest))
	}
	if l.Match == "graduated" && (l.LengthMin == 0 || l.LengthMax == 0) {
		parts = append(parts, "a graduated suite needs length_min and length_max")
	}
	return strings.Join(parts, ", ") + fmt.Sprintf("; %d short", l.stones)
}
