package allocate

import (
	"cmp"
	"slices"
)

// Designs with suites of which one piece earns more than a share of what all
// designs could are planned alone, in so many steps each, and all of them in a
// share of the work.
const (
	dearShare  = 1.0 / 4000
	aloneWork  = 80_000_000
	aloneShare = 6 // a part of the work in so many
)

// limitDear lowers Q_d of dear designs to the most pieces that can be made when
// no other design takes a stone: fractions of references fill suites that whole
// ones do not.
func (s *solver) limitDear() {
	m := s.m
	all := 0.0
	for _, row := range m.designs {
		all += float64(float64(max(0, row.value)) * float64(row.most))
	}
	var list []int32
	for d := range m.designs {
		row := &m.designs[d]
		if row.most > 0 && float64(row.value) > dearShare*all && slices.ContainsFunc(m.pos[row.pos:row.end],
			func(p posRow) bool { return p.refE-p.ref > 1 }) {
			list = append(list, int32(d))
		}
	}
	slices.SortFunc(list, func(a, b int32) int {
		return cmp.Or(cmp.Compare(m.designs[b].value, m.designs[a].value), cmp.Compare(a, b))
	})
	end := s.c.work + (s.c.limit-s.c.work)/aloneShare
	for _, d := range list {
		if s.c.work >= end || s.c.stop() {
			return
		}
		if most := s.alone(d, end); most < m.designs[d].most {
			for k := m.designs[d].pos; k < m.designs[d].end; k++ {
				m.pos[k].most = min(m.pos[k].most, most) // each may be what limits the pieces
			}
			m.limitDesign(&m.designs[d], most)
		}
	}
}

// alone is what no plan exceeds in pieces of a design.
func (s *solver) alone(d int32, end int64) int32 {
	const each = 1_000_000 // what a piece earns, as in an ordinary line
	ds := s.m.problem.Designs[s.m.designs[d].orig]
	sub := Design{Value: each, Quantity: int(s.m.designs[d].most)}
	var items []Item
	number := map[int]int{}
	item := func(i int) int {
		n, ok := number[i]
		if !ok {
			n = len(items)
			number[i], items = n, append(items, s.m.problem.Items[i])
		}
		return n
	}
	entries := func(list []Entry) []Entry {
		out := make([]Entry, len(list))
		for n, e := range list {
			out[n].Item = item(e.Item)
		}
		return out
	}
	for _, pos := range ds.Positions {
		p := Position{Key: pos.Key, Kind: pos.Kind, Count: pos.Count, Entries: entries(pos.Entries)}
		for _, e := range pos.Edges {
			p.Edges = append(p.Edges, Edge{I: item(e.I), J: item(e.J)})
		}
		for _, r := range pos.References {
			ref := Reference{Key: r.Key}
			for _, t := range r.Slots {
				ref.Slots = append(ref.Slots, Slot{Count: t.Count, Entries: entries(t.Entries)})
			}
			p.References = append(p.References, ref)
		}
		sub.Positions = append(sub.Positions, p)
	}
	c := *s.c
	c.limit = min(end, c.work+aloneWork)
	m := newModel(Problem{items, []Design{sub}})
	so := &solver{m: m, s: Settings{Seed: s.s.Seed}, c: &c, best: newPlan(m), step: each}
	so.search()
	spent := c.work - s.c.work
	s.c.spend(int(spent))
	return int32(so.bound / each)
}
