package allocate

import (
	"fmt"
	"math"
)

// Check recomputes a result from the problem alone: every stone allowed where
// it is, none used beyond its capacity, no design beyond its quantity, the value
// what the pieces earn, the bound not below it. It shares no code with the
// search.
func Check(p Problem, r Result) error {
	used := make([]int, len(p.Items))
	made := make([]int, len(p.Designs))
	costs := newCostTable(p)
	value := int64(0)
	for n, piece := range r.Pieces {
		if piece.Design < 0 || piece.Design >= len(p.Designs) {
			return fmt.Errorf("allocate: piece %d: no design has index %d", n, piece.Design)
		}
		d := p.Designs[piece.Design]
		made[piece.Design]++
		if len(piece.Fills) != len(d.Positions) {
			return fmt.Errorf("allocate: piece %d of %q: %d fills for %d positions", n, d.Key, len(piece.Fills),
				len(d.Positions))
		}
		if value += d.Value; made[piece.Design] == 1 {
			value -= d.Fixed
		}
		for k, fill := range piece.Fills {
			cost, err := costs.fill(piece.Design, k, fill)
			if err != nil {
				return fmt.Errorf("allocate: piece %d of %q position %q: %w", n, d.Key, d.Positions[k].Key, err)
			}
			value -= cost
			for _, i := range fill.Items {
				used[i]++
			}
		}
	}
	for i, u := range used {
		if u > p.Items[i].Capacity {
			return fmt.Errorf("allocate: item %q is used %d times, its capacity is %d", p.Items[i].Key, u,
				p.Items[i].Capacity)
		}
	}
	for d, m := range made {
		if m > p.Designs[d].Quantity {
			return fmt.Errorf("allocate: design %q is made %d times, its quantity is %d", p.Designs[d].Key, m,
				p.Designs[d].Quantity)
		}
	}
	switch {
	case value != r.Value:
		return fmt.Errorf("allocate: the pieces are worth %d, the result says %d", value, r.Value)
	case r.BoundAll < r.Bound:
		return fmt.Errorf("allocate: the bound over further pairs %d is below the bound %d", r.BoundAll, r.Bound)
	case r.Bound < value:
		return fmt.Errorf("allocate: bound %d is below the value %d", r.Bound, value)
	case (r.Status == Optimal) != (r.Bound == value):
		return fmt.Errorf("allocate: status %q with value %d and bound %d", r.Status, value, r.Bound)
	case math.Abs(r.GapPercent-gapPercent(value, r.Bound)) > 1e-9:
		return fmt.Errorf("allocate: gap %g %% with value %d and bound %d", r.GapPercent, value, r.Bound)
	}
	return nil
}

// gapPercent is 100 (bound - value) / bound; the empty plan is always allowed,
// so neither is negative.
func gapPercent(value, bound int64) float64 {
	if bound <= value {
		return 0
	}
	return 100 * float64(bound-value) / float64(bound)
}

// costTable finds the cost of an entry or edge by its place and items. It holds
// one design at a time: the pieces of a design stand together.
type costTable struct {
	problem Problem
	design  int
	entries map[[4]int]map[int]int64 // design, position, reference, slot -> item -> cost
	edges   map[[2]int]map[[2]int]int64
}

func newCostTable(p Problem) *costTable {
	return &costTable{problem: p, entries: map[[4]int]map[int]int64{}, edges: map[[2]int]map[[2]int]int64{}}
}

func (c *costTable) fill(d, k int, f Fill) (int64, error) {
	if d != c.design {
		c.design = d
		clear(c.entries)
		clear(c.edges)
	}
	pos := c.problem.Designs[d].Positions[k]
	for _, i := range f.Items {
		if i < 0 || i >= len(c.problem.Items) {
			return 0, fmt.Errorf("no item has index %d", i)
		}
	}
	switch pos.Kind {
	case Single:
		return c.stones([4]int{d, k}, pos.PerPiece(), pos.Entries, f.Items)
	case Pair:
		return c.pair([2]int{d, k}, pos.Edges, f.Items)
	}
	if f.Reference < 0 || f.Reference >= len(pos.References) {
		return 0, fmt.Errorf("no reference has index %d", f.Reference)
	}
	total, rest := int64(0), f.Items
	for t, s := range pos.References[f.Reference].Slots {
		n := min(s.Count, len(rest))
		cost, err := c.stones([4]int{d, k, f.Reference, t}, s.Count, s.Entries, rest[:n])
		if err != nil {
			return 0, fmt.Errorf("slot %d: %w", t, err)
		}
		total, rest = total+cost, rest[n:]
	}
	if len(rest) > 0 {
		return 0, fmt.Errorf("%d stones too many", len(rest))
	}
	return total, nil
}

func (c *costTable) stones(place [4]int, want int, entries []Entry, items []int) (int64, error) {
	if len(items) != want {
		return 0, fmt.Errorf("%d stones, it takes %d", len(items), want)
	}
	table := c.entries[place]
	if table == nil {
		table = make(map[int]int64, len(entries))
		for _, e := range entries {
			table[e.Item] = e.Cost
		}
		c.entries[place] = table
	}
	total := int64(0)
	for _, i := range items {
		cost, ok := table[i]
		if !ok {
			return 0, fmt.Errorf("item %q is not allowed here", c.problem.Items[i].Key)
		}
		total += cost
	}
	return total, nil
}

func (c *costTable) pair(place [2]int, edges []Edge, items []int) (int64, error) {
	if len(items) != 2 {
		return 0, fmt.Errorf("%d stones, a pair takes 2", len(items))
	}
	table := c.edges[place]
	if table == nil {
		table = make(map[[2]int]int64, len(edges))
		for _, e := range edges {
			table[[2]int{min(e.I, e.J), max(e.I, e.J)}] = e.Cost
		}
		c.edges[place] = table
	}
	cost, ok := table[[2]int{min(items[0], items[1]), max(items[0], items[1])}]
	if !ok {
		return 0, fmt.Errorf("items %q and %q are not a pair", c.problem.Items[items[0]].Key,
			c.problem.Items[items[1]].Key)
	}
	return cost, nil
}
