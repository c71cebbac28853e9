package allocate

import (
	"cmp"
	"math"
	"slices"
)

// cut is an inequality that every plan obeys and fractions may not:
//
//	sum of the uses of edges + use of entry - per fills of ref <= most
//
// Two kinds are made. Odd sets (Edmonds, 1965): of items with S pieces in all,
// at most floor(S/2) pairs can be made, whatever the position. Slots: one fill
// of a reference takes an item at most as often as it has pieces, and at most
// as often as the slot has stones.
type cut struct {
	edges      []int32
	items      []int32 // odd set
	entry, ref int32   // -1: none
	per        int32
	most       int32
}

// extras are what the prices of the cuts add to the costs of edges and
// entries, and take off those of references.
type extras[T int64 | float64] struct {
	edge, entry, ref []T
	fixed            T // sum of most x price
}

func addCuts[T int64 | float64](m *model, price []T) extras[T] {
	var x extras[T]
	if len(price) == 0 {
		return x
	}
	x.edge, x.entry, x.ref = make([]T, len(m.edgeA)), make([]T, len(m.entItem)), make([]T, len(m.refs))
	for n, p := range price {
		if p <= 0 {
			continue
		}
		c := &m.cuts[n]
		x.fixed += T(c.most) * p
		for _, f := range c.edges {
			x.edge[f] += p
		}
		if c.entry >= 0 {
			x.entry[c.entry] += p
			x.ref[c.ref] += T(c.per) * p
		}
	}
	return x
}

func at[T int64 | float64](list []T, k int) T {
	if list == nil {
		return 0
	}
	return list[k]
}

const violated = 1e-4

// separate finds cuts that the fractions break, at most a few hundred, and
// adds them to the model.
func (m *model) separate(x *relaxation) int {
	before := len(m.cuts)
	m.separateOdd(x.shares.edge)
	m.separateSlots(x)
	return len(m.cuts) - before
}

// separateSlots cuts uses of an entry beyond what its reference's fills allow.
func (m *model) separateSlots(x *relaxation) {
	for r := range m.refs {
		ref := &m.refs[r]
		if x.colRef[r] < 0 {
			continue
		}
		fills := x.shares.ref[r]
		for g := ref.group; g < ref.groupE; g++ {
			for e := m.groups[g].ent; e < m.groups[g].end; e++ {
				per := min(m.cap[m.entItem[e]], m.groups[g].need)
				if c := x.colEntry[e]; c >= 0 && x.s.x[c] > float64(per)*fills+violated && !m.cutEntry[e] {
					m.cutEntry[e] = true
					m.cuts = append(m.cuts, cut{entry: e, ref: int32(r), per: per})
				}
			}
		}
	}
}

// separateOdd looks for odd sets among the items joined by fractional edges:
// the connected parts, and in each the odd cycles of a breadth-first search.
func (m *model) separateOdd(share []float64) {
	g := oddSearch{m: m, share: share, near: map[int32][]int32{}, depth: map[int32]int32{}, from: map[int32]int32{}}
	var items []int32
	for f, x := range share {
		a, b := m.edgeA[f], m.edgeB[f]
		if a == b || x < violated {
			continue
		}
		for _, i := range [2]int32{a, b} {
			if g.near[i] == nil {
				items = append(items, i)
			}
		}
		g.near[a] = append(g.near[a], b)
		g.near[b] = append(g.near[b], a)
	}
	slices.Sort(items)
	for _, i := range items {
		if _, ok := g.depth[i]; !ok {
			g.component(i)
		}
	}
	slices.SortFunc(g.sets, func(a, b oddSet) int {
		if c := cmp.Compare(b.over, a.over); c != 0 {
			return c
		}
		return slices.Compare(a.items, b.items)
	})
	for _, s := range g.sets[:min(len(g.sets), 400)] {
		m.cuts = append(m.cuts, cut{edges: s.edges, items: s.items, entry: -1, ref: -1, most: s.most})
	}
}

type oddSet struct {
	items, edges []int32
	most         int32
	over         float64
}

type oddSearch struct {
	m     *model
	share []float64
	near  map[int32][]int32
	depth map[int32]int32
	from  map[int32]int32
	sets  []oddSet
}

// component searches the items connected to the first.
func (g *oddSearch) component(first int32) {
	queue := []int32{first}
	g.depth[first], g.from[first] = 0, -1
	for n := 0; n < len(queue); n++ {
		a := queue[n]
		for _, b := range g.near[a] {
			if _, ok := g.depth[b]; !ok {
				g.depth[b], g.from[b] = g.depth[a]+1, a
				queue = append(queue, b)
			}
		}
	}
	if len(queue) < 3 {
		return
	}
	if len(queue) < 60 && g.try(queue) {
		return
	}
	for _, a := range queue {
		for _, b := range g.near[a] {
			if a < b && g.depth[a] == g.depth[b] {
				g.try(g.cycle(a, b))
			}
		}
	}
}

// cycle is the odd cycle that an edge between items of one depth closes.
func (g *oddSearch) cycle(a, b int32) []int32 {
	var items []int32
	for a != b {
		items = append(items, a, b)
		a, b = g.from[a], g.from[b]
	}
	return append(items, a)
}

// try keeps the set if its pairs are too many.
func (g *oddSearch) try(items []int32) bool {
	items = slices.Clone(items)
	slices.Sort(items)
	s := oddSet{items: items}
	pieces, pairs := int32(0), 0.0
	for _, i := range items {
		pieces += g.m.cap[i]
		for _, f := range g.m.itemEdge.of(i) {
			other := g.m.edgeA[f] + g.m.edgeB[f] - i
			if other < i {
				continue
			}
			if _, in := slices.BinarySearch(items, other); in {
				s.edges = append(s.edges, f)
				pairs += g.share[f]
			}
		}
	}
	s.most = pieces / 2
	s.over = pairs - float64(s.most)
	if s.over < 0.01 || math.IsNaN(s.over) {
		return false
	}
	for _, o := range g.sets {
		if slices.Equal(o.items, items) {
			return false
		}
	}
	g.sets = append(g.sets, s)
	return true
}
