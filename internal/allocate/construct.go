package allocate

import (
	"cmp"
	"container/heap"
	"slices"
)

// builder fills a plan piece by piece from free stones, dearest rents last:
// the lists of a place are ordered by cost plus rent, and because stones only
// get used up, the first free one of each list moves forward only.
type builder struct {
	p      *plan
	byRent []int32 // entries of a group by cost plus rent, in the group's range
	pairs  []int32 // edges of a position likewise
	full   []float64
	edge   []float64
	head   []int32 // first entry of a group that may be free
	pair   []int32 // first edge of a position that may be free
	taken  []int32 // stones of the piece being composed
	uses   []use
}

// use is one step of composing a piece: an entry, an edge or a reference once
// more.
type use struct {
	kind useKind
	at   int32
}

type useKind int8

const (
	useEntry useKind = iota
	useEdge
	useRef
)

func newBuilder(p *plan, rent []float64, c *clock) *builder {
	m := p.m
	b := &builder{
		p: p, byRent: slices.Clone(m.byCost), pairs: slices.Clone(m.edgeByCost),
		full: make([]float64, len(m.entItem)), edge: make([]float64, len(m.edgeA)),
		head: make([]int32, len(m.groups)), pair: make([]int32, len(m.pos)),
	}
	for e, i := range m.entItem {
		b.full[e] = float64(m.entCost[e]) + rent[i]
	}
	for f := range m.edgeA {
		b.edge[f] = float64(m.edgeCost[f]) + rent[m.edgeA[f]] + rent[m.edgeB[f]]
	}
	for g, row := range m.groups {
		slices.SortFunc(b.byRent[row.ent:row.end], func(x, y int32) int {
			return cmp.Or(cmp.Compare(b.full[x], b.full[y]), cmp.Compare(x, y))
		})
		b.head[g] = row.ent
	}
	for k, row := range m.pos {
		slices.SortFunc(b.pairs[row.edge:row.edgeE], func(x, y int32) int {
			return cmp.Or(cmp.Compare(b.edge[x], b.edge[y]), cmp.Compare(x, y))
		})
		b.pair[k] = row.edge
	}
	c.spend(8 * (len(b.full) + len(b.edge)))
	return b
}

// compose finds the cheapest stones, rents included, for one more piece of
// design d and returns what it costs with and without rents. The stones are
// taken from free; undo gives them back.
func (b *builder) compose(d int) (full float64, cost int64, ok bool) {
	m := b.p.m
	b.taken, b.uses = b.taken[:0], b.uses[:0]
	for k := m.designs[d].pos; k < m.designs[d].end; k++ {
		f, c, ok := b.fill(k)
		if !ok {
			return 0, 0, false
		}
		full, cost = full+f, cost+c
	}
	return full, cost, true
}

func (b *builder) fill(k int32) (full float64, cost int64, ok bool) {
	row := &b.p.m.pos[k]
	switch row.kind {
	case Single:
		return b.stones(row.group, row.count)
	case Pair:
		return b.matched(k)
	}
	best, bestFull := int32(-1), 0.0
	for r := row.ref; r < row.refE; r++ {
		mark, uses := len(b.taken), len(b.uses)
		if f, _, ok := b.suite(r); ok && (best < 0 || f < bestFull) {
			best, bestFull = r, f
		}
		b.giveBack(mark, uses)
	}
	if best < 0 {
		return 0, 0, false
	}
	return b.suite(best)
}

func (b *builder) suite(r int32) (full float64, cost int64, ok bool) {
	ref := &b.p.m.refs[r]
	for g := ref.group; g < ref.groupE; g++ {
		f, c, ok := b.stones(g, b.p.m.groups[g].need)
		if !ok {
			return 0, 0, false
		}
		full, cost = full+f, cost+c
	}
	b.uses = append(b.uses, use{useRef, r})
	return full, cost, true
}

func (b *builder) stones(g, need int32) (full float64, cost int64, ok bool) {
	m, free := b.p.m, b.p.free
	end := m.groups[g].end
	for ; b.head[g] < end && free[m.entItem[b.byRent[b.head[g]]]] == 0 && len(b.taken) == 0; b.head[g]++ {
	}
	for n := b.head[g]; n < end && need > 0; n++ {
		e := b.byRent[n]
		i := m.entItem[e]
		for need > 0 && free[i] > 0 {
			b.take(i)
			b.uses = append(b.uses, use{useEntry, e})
			full, cost = full+b.full[e], cost+m.entCost[e]
			need--
		}
	}
	return full, cost, need == 0
}

func (b *builder) matched(k int32) (full float64, cost int64, ok bool) {
	m, row := b.p.m, &b.p.m.pos[k]
	for n := b.pair[k]; n < row.edgeE; n++ {
		f := b.pairs[n]
		if b.p.edgeFree(f) {
			b.take(m.edgeA[f])
			b.take(m.edgeB[f])
			b.uses = append(b.uses, use{useEdge, f})
			return b.edge[f], m.edgeCost[f], true
		}
		if len(b.taken) == 0 && n == b.pair[k] {
			b.pair[k]++
		}
	}
	return 0, 0, false
}

func (b *builder) take(i int32) {
	b.p.free[i]--
	b.taken = append(b.taken, i)
}

func (b *builder) giveBack(stones, uses int) {
	for _, i := range b.taken[stones:] {
		b.p.free[i]++
	}
	b.taken, b.uses = b.taken[:stones], b.uses[:uses]
}

// commit makes the piece just composed part of the plan.
func (b *builder) commit(d int, cost int64) {
	p := b.p
	for _, u := range b.uses {
		switch u.kind {
		case useEntry:
			p.x[u.at]++
		case useEdge:
			p.z[u.at]++
		case useRef:
			p.u[u.at]++
		}
	}
	if p.y[d]++; p.y[d] == 1 {
		p.value -= p.m.designs[d].fixed
	}
	p.value += p.m.designs[d].value - cost
	b.taken, b.uses = b.taken[:0], b.uses[:0]
}

// build adds pieces, the one with the best return on its stones and rents
// first, while a piece earns money and its rents are not beaten by more than
// slack (a share of the value).
func (b *builder) build(slack float64, c *clock) {
	m := b.p.m
	queue := make(offers, 0, len(m.designs))
	for d := range m.designs {
		if m.designs[d].most > 0 {
			queue = append(queue, b.offer(d))
		}
	}
	heap.Init(&queue)
	for len(queue) > 0 && !c.stop() {
		o := &queue[0]
		row := &m.designs[o.design]
		if !o.ok || o.gain < -slack || b.p.y[o.design] >= row.most {
			heap.Pop(&queue)
			continue
		}
		full, cost, ok := b.compose(o.design)
		c.spend(4*len(b.uses) + 16)
		if fresh := returnOn(row.each(row.most), full); !ok || fresh < o.gain-1e-9 {
			b.giveBack(0, 0)
			o.gain, o.ok = fresh, ok
			heap.Fix(&queue, 0)
			continue
		}
		if row.each(row.most) <= float64(cost) {
			b.giveBack(0, 0)
			heap.Pop(&queue)
			continue
		}
		b.commit(o.design, cost)
	}
}

// offer is what one more piece of a design would earn for its stones, at most.
type offer struct {
	design int
	gain   float64
	ok     bool
}

// offers is a heap, the largest gain first.
type offers []offer

func (h offers) Len() int { return len(h) }
func (h offers) Less(a, b int) bool {
	if h[a].gain != h[b].gain {
		return h[a].gain > h[b].gain
	}
	return h[a].design < h[b].design
}
func (h offers) Swap(a, b int) { h[a], h[b] = h[b], h[a] }
func (h *offers) Push(x any)   { *h = append(*h, x.(offer)) }
func (h *offers) Pop() any {
	old := *h
	last := old[len(old)-1]
	*h = old[:len(old)-1]
	return last
}

func (b *builder) offer(d int) offer {
	full, _, ok := b.compose(d)
	b.giveBack(0, 0)
	return offer{d, returnOn(b.p.m.designs[d].each(b.p.m.designs[d].most), full), ok}
}

func returnOn(value, full float64) float64 { return (value - full) / max(1, value) }
