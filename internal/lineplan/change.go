package lineplan

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/allocate"
	"lotpaper/internal/num"
)

// Kept is the status of a plan that leaves stones where they were although a
// better plan is known or possible.
const Kept = "stones kept in place"

// Replan plans again after something changed and leaves stones where they were
// (Input.Keep) unless moving them is worth more than Input.KeepWorth each.
// most is the best plan that moves what it likes; its bound holds for both, and
// m is the model of both.
func Replan(ctx context.Context, in *Input, s allocate.Settings, currency num.Currency) (m *Model, kept,
	most *Plan, err error) {
	free := *in
	free.Keep = nil
	if m, err = Build(&free); err != nil {
		return nil, nil, nil, err
	}
	best := &answer{m: m, ctx: ctx, settings: s, currency: currency}
	if err := best.solve(); err != nil {
		return nil, nil, nil, err
	}
	m.answer = best
	if most, err = best.plan(); err != nil || len(in.Keep) == 0 {
		return m, most, most, err
	}
	held, err := Build(in)
	if err != nil {
		return nil, nil, nil, err
	}
	a := &answer{m: held, ctx: ctx, settings: s, currency: currency}
	if err := a.solve(); err != nil {
		return nil, nil, nil, err
	}
	// the pieces are those of the search that keeps stones; prices and bound
	// are those of the search that does not, which no reward for keeping bends
	best.result.Pieces, best.value = a.result.Pieces, a.value
	if kept, err = best.plan(); err != nil {
		return nil, nil, nil, err
	}
	if kept.Value != kept.Bound {
		kept.Status = Kept
	}
	return m, kept, most, nil
}

// Change is a lot that a position takes more or fewer pieces of than before.
type Change struct {
	Design, Position, Lot string
	Before, After         int64
	Why                   string
}

// Compare says what moved between earlier uses and a plan of this model, and
// why, by design, position and lot.
func (m *Model) Compare(before []Use, p *Plan) []Change {
	type place struct{ design, position string }
	type spot struct {
		place
		lot string
	}
	at := map[spot]*Change{}
	var order []spot
	moved := map[spot]int64{}
	note := func(u Use) *Change {
		k := spot{place{fold(u.Design), fold(u.Position)}, fold(u.Lot)}
		if at[k] == nil {
			at[k] = &Change{Design: u.Design, Position: u.Position, Lot: u.Lot}
			order = append(order, k)
		}
		return at[k]
	}
	stones := map[place]int64{} // after less before
	for _, u := range before {
		note(u).Before += u.Pieces
		stones[place{fold(u.Design), fold(u.Position)}] -= u.Pieces
	}
	for _, u := range p.Uses() {
		note(u).After += u.Pieces
		stones[place{fold(u.Design), fold(u.Position)}] += u.Pieces
	}
	for k, c := range at {
		moved[k] = c.After - c.Before
	}
	out := []Change{}
	for _, k := range order {
		c := at[k]
		if c.Before == c.After {
			continue
		}
		var here, there []string // other lots of the position, other positions of the lot
		for _, o := range order {
			if o.place == k.place && moved[o]*moved[k] < 0 {
				here = append(here, at[o].Lot)
			}
			if o.lot == k.lot && moved[o]*moved[k] < 0 {
				there = append(there, at[o].Design+" "+at[o].Position)
			}
		}
		if c.After < c.Before {
			c.Why = m.whyLess(c, stones[k.place], here, there)
		} else {
			c.Why = m.whyMore(stones[k.place], here, there)
		}
		out = append(out, *c)
	}
	slices.SortStableFunc(out, func(a, b Change) int {
		return cmp.Or(cmp.Compare(a.Design, b.Design), cmp.Compare(a.Position, b.Position))
	})
	return out
}

// whyLess says why a position takes fewer pieces of a lot than before.
func (m *Model) whyLess(c *Change, stones int64, here, there []string) string {
	item, known := m.index[fold(c.Lot)]
	pl := m.place(c.Design, c.Position)
	switch {
	case pl == nil:
		return "the line has no such position any more"
	case !known:
		return "the lot has nothing left, or is not in the book"
	}
	fit, _ := m.fit(item, pl)
	s := &m.input.Stones[item]
	var words []string
	switch {
	case fit.Stage != Fits:
		words = append(words, "now "+fit.sentence(pl))
	case s.Free < c.Before:
		var away []string
		for _, a := range s.Away {
			away = append(away, fmt.Sprintf("%d %s", a.Pieces, a.Why))
		}
		words = append(words, strings.TrimSuffix(fmt.Sprintf("%d pieces are free now: %s", s.Free,
			strings.Join(away, ", ")), ": "))
	}
	if len(there) > 0 {
		words = append(words, "it goes into "+strings.Join(there, " and ")+" instead")
	}
	if len(here) > 0 {
		words = append(words, strings.Join(here, " and ")+" takes its place")
	}
	if len(words) == 0 && stones < 0 {
		words = append(words, "fewer pieces of the design are made")
	}
	if len(words) == 0 {
		words = append(words, "the plan is worth more without it there")
	}
	return strings.Join(words, "; ")
}

// whyMore says why a position takes more pieces of a lot than before.
func (m *Model) whyMore(stones int64, here, there []string) string {
	var words []string
	if len(here) > 0 {
		words = append(words, "in place of "+strings.Join(here, " and "))
	}
	if len(there) > 0 {
		words = append(words, "it comes from "+strings.Join(there, " and "))
	}
	if len(words) == 0 && stones > 0 {
		words = append(words, "more pieces of the design are made")
	}
	if len(words) == 0 {
		words = append(words, "the plan is worth more with it there")
	}
	return strings.Join(words, "; ")
}
