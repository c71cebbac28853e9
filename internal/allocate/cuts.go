package allocate

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
)

// cut is an inequality that every plan obeys and fractions may not:
//
//	sum of per x number <= most
//
// over the numbers of its terms, in whole parts of which unit make 1. Three
// kinds are made. Odd sets (Edmonds, 1965): of items with S pieces in all, at
// most floor(S/2) pairs can be made, whatever the position. Slots: one fill of
// a reference takes an item at most as often as it has pieces, and at most as
// often as the slot has stones. Rounded sums of rows: see gomory.go.
type cut struct {
	terms []cutTerm
	most  int64
	unit  int64
	items []int32 // odd set
	rows  bool    // of rows as they are: with one more piece of an item or a further edge it may be false
}

// cutTerm is what one number takes of a cut.
type cutTerm struct {
	kind changeKind
	at   int32
	per  int64
}

// widest is a number that the slack of a cut, in its unit, cannot exceed.
func (m *model) widest(c *cut) float64 {
	sum := float64(c.most)
	for _, t := range c.terms {
		if t.per < 0 {
			sum -= float64(float64(t.per) * float64(m.largest(t.kind, t.at)))
		}
	}
	return sum / float64(c.unit)
}

// largest is the most that a number can be in any plan.
func (m *model) largest(kind changeKind, at int32) int32 {
	switch kind {
	case changePieces:
		return m.designs[at].most
	case changeRef:
		return m.refs[at].most
	case changeEdge:
		return m.edgeMost[at]
	}
	return m.cap[m.entItem[at]]
}

// extras are what the prices of the cuts add to the costs of the numbers.
type extras[T int64 | float64] struct {
	piece, ref, edge, entry []T
	fixed                   T // sum of most x price
}

func (x *extras[T]) of(kind changeKind) []T {
	switch kind {
	case changePieces:
		return x.piece
	case changeRef:
		return x.ref
	case changeEdge:
		return x.edge
	}
	return x.entry
}

// addCuts adds up the prices of the cuts. Times is a price times so many parts
// of a unit, rounded so that the bound stays one: up for what a cut allows, down
// for what its terms take.
func addCuts[T int64 | float64](m *model, price []T, times func(price T, part, unit int64, up bool) T) extras[T] {
	var x extras[T]
	if len(price) == 0 {
		return x
	}
	x.piece, x.ref = make([]T, len(m.designs)), make([]T, len(m.refs))
	x.edge, x.entry = make([]T, len(m.edgeA)), make([]T, len(m.entItem))
	for n, p := range price {
		if p <= 0 {
			continue
		}
		c := &m.cuts[n]
		x.fixed += times(p, c.most, c.unit, true)
		for _, t := range c.terms {
			x.of(t.kind)[t.at] += times(p, t.per, c.unit, false)
		}
	}
	return x
}

// cutSize is what no sum of the prices of the cuts exceeds in size.
func (m *model) cutSize(price []float64) float64 {
	size := 0.0
	for n, p := range price {
		if p <= 0 {
			continue
		}
		c := &m.cuts[n]
		part := max(c.most, -c.most)
		for _, t := range c.terms {
			part = max(part, t.per, -t.per)
		}
		size += about(p, part, c.unit, true)
	}
	return size
}

// about is price x part / unit in floating point.
func about(price float64, part, unit int64, _ bool) float64 {
	return float64(price * (float64(part) / float64(unit)))
}

// exactly is price x part / unit, rounded up or down to a whole number. The
// result must fit.
func exactly(price, part, unit int64, up bool) int64 {
	if unit == 1 {
		return price * part
	}
	positive := price < 0 == (part < 0)
	price, part = max(price, -price), max(part, -part)
	hi, lo := bits.Mul64(uint64(price), uint64(part))
	q, rest := bits.Div64(hi, lo, uint64(unit))
	if rest > 0 && up == positive {
		q++
	}
	if positive {
		return int64(q)
	}
	return -int64(q)
}

func at[T int64 | float64, N int | int32](list []T, k N) T {
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
					m.cuts = append(m.cuts, cut{unit: 1, terms: []cutTerm{{changeEntry, e, 1},
						{changeRef, int32(r), -int64(per)}}})
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
		c := cut{items: s.items, most: int64(s.most), unit: 1}
		for _, f := range s.edges {
			c.terms = append(c.terms, cutTerm{changeEdge, f, 1})
		}
		m.cuts = append(m.cuts, c)
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
