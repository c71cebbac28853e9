package allocate

import (
	"container/heap"
	"math"
)

// tree is a best-first branch and bound on the numbers of pieces, then of
// reference fills, then of edges. A node's bound is the bound of doc.go with
// the node's limits, its prices starting from the parent's. When every number
// is fixed the node is a transport, solved exactly.
type tree struct {
	m     *model
	c     *clock
	d     *dual
	root  limits
	open  nodeHeap
	nodes int
	steps int // dual iterations a node
	found func(*plan)
}

// node is a part of the plans: the fixes from the root to it.
type node struct {
	bound  int64
	serial int
	fixes  []fix
	prices prices
	split  fix // the low child; the high child starts above it
}

type fix struct {
	kind changeKind
	at   int32
	span span
}

type nodeHeap []*node

func (h nodeHeap) Len() int { return len(h) }
func (h nodeHeap) Less(a, b int) bool {
	if h[a].bound != h[b].bound {
		return h[a].bound > h[b].bound
	}
	return h[a].serial < h[b].serial
}
func (h nodeHeap) Swap(a, b int) { h[a], h[b] = h[b], h[a] }
func (h *nodeHeap) Push(x any)   { *h = append(*h, x.(*node)) }
func (h *nodeHeap) Pop() any {
	old := *h
	last := old[len(old)-1]
	*h = old[:len(old)-1]
	return last
}

// newTree starts a tree from a dual just run at the root.
func newTree(m *model, c *clock, d *dual, bound int64, steps int, found func(*plan)) *tree {
	t := &tree{m: m, c: c, d: d, root: m.rootLimits(), steps: steps, found: found}
	root := &node{bound: bound, prices: d.best.clone(m)}
	d.l = m.rootLimits()
	if t.choose(root) {
		t.open = nodeHeap{root}
	}
	return t
}

// bound is what no plan exceeds, given one worth value.
func (t *tree) bound(value int64) int64 {
	if len(t.open) == 0 {
		return value
	}
	return max(value, t.open[0].bound)
}

// expand solves the children of the most promising node.
func (t *tree) expand(value int64) {
	top := heap.Pop(&t.open).(*node)
	if top.bound <= value {
		t.open = t.open[:0]
		return
	}
	whole := t.spanOf(top, top.split.kind, top.split.at)
	high := fix{top.split.kind, top.split.at, span{top.split.span.high + 1, whole.high}}
	for n, f := range []fix{top.split, high} {
		child := &node{bound: top.bound, fixes: append(top.fixes[:len(top.fixes):len(top.fixes)], f)}
		if !t.solve(child, top, value) {
			// Cut short: the parent stands for what is left of it.
			if n == 0 || child.bound > value {
				heap.Push(&t.open, top)
			}
			return
		}
	}
}

// solve bounds a child and puts it into the heap unless it cannot beat value;
// false when the search was stopped before it was bounded.
func (t *tree) solve(child, parent *node, value int64) bool {
	if t.c.stop() {
		return false
	}
	t.nodes++
	child.serial = t.nodes
	d := t.d
	t.limit(child)
	d.now.copyFrom(parent.prices)
	d.bestUB, d.cutoff = math.Inf(1), float64(value)+1
	d.run(t.steps, 0.05, 4)
	child.bound = min(child.bound, t.m.bound(d.best, d.l, d.fullRent))
	if child.bound <= value {
		return true
	}
	child.prices = d.best.clone(t.m)
	if t.choose(child) {
		heap.Push(&t.open, child)
	}
	return true
}

// limit sets the dual's limits to those of a node, and what follows from them
// for references and edges.
func (t *tree) limit(n *node) {
	l := t.d.l
	l.copyFrom(t.root)
	for _, f := range n.fixes {
		t.spanAt(l, f.kind)[f.at] = f.span
		if f.kind != changePieces {
			continue
		}
		for k := t.m.designs[f.at].pos; k < t.m.designs[f.at].end; k++ {
			pos := &t.m.pos[k]
			for r := pos.ref; r < pos.refE; r++ {
				l.ref[r].high = min(l.ref[r].high, f.span.high)
			}
			for e := pos.edge; e < pos.edgeE; e++ {
				l.edge[e].high = min(l.edge[e].high, f.span.high)
			}
		}
	}
}

func (t *tree) spanAt(l limits, kind changeKind) []span {
	switch kind {
	case changePieces:
		return l.piece
	case changeRef:
		return l.ref
	}
	return l.edge
}

func (t *tree) spanOf(n *node, kind changeKind, at int32) span {
	s := t.spanAt(t.root, kind)[at]
	for _, f := range n.fixes {
		if f.kind == kind && f.at == at {
			s = f.span
		}
	}
	return s
}

// choose picks the number to split the node on: the dearest fraction of
// pieces, else of references, else of edges, else any number not fixed. False
// when all are fixed: then the node is solved here and needs no more search.
func (t *tree) choose(n *node) bool {
	d, m := t.d, t.m
	count := max(1, d.taken.count)
	pick := func(kind changeKind, taken []float64, weight func(int) float64, least float64) bool {
		best := -1.0
		for at, s := range t.spanAt(d.l, kind) {
			if s.low >= s.high {
				continue
			}
			mean := min(max(taken[at]/count, float64(s.low)), float64(s.high))
			down := min(math.Floor(mean), float64(s.high-1))
			part := min(mean-down, down+1-mean)
			if score := part * weight(at); part >= least && score > best {
				best = score
				n.split = fix{kind, int32(at), span{s.low, int32(down)}}
			}
		}
		return best >= 0
	}
	pieceValue := func(at int) float64 { return math.Abs(float64(m.designs[at].value)) + 1 }
	refValue := func(at int) float64 { return math.Abs(d.best.pos[m.refs[at].pos]) + 1 }
	edgeValue := func(at int) float64 { return math.Abs(d.best.pos[m.edgePos[at]]) + 1 }
	for _, least := range []float64{0.03, 0} {
		if pick(changePieces, d.taken.piece, pieceValue, least) ||
			pick(changeRef, d.taken.ref, refValue, least) ||
			pick(changeEdge, d.taken.edge, edgeValue, least) {
			return true
		}
	}
	t.leaf()
	return false
}

// leaf solves the transport that is left when every number is fixed.
func (t *tree) leaf() {
	m := t.m
	f := newFlow(newPlan(m), t.c)
	f.fixed = true
	for e, s := range t.d.l.edge {
		if s.low > 0 {
			f.useEdge(int32(e), s.low)
		}
	}
	fills := make([]int32, len(m.pos))
	for e, n := range f.z {
		fills[m.edgePos[e]] += n
	}
	for r, s := range t.d.l.ref {
		if s.low > 0 {
			f.useRef(int32(r), s.low)
			fills[m.refs[r].pos] += s.low
		}
	}
	for d, s := range t.d.l.piece {
		f.makePieces(int32(d), s.low)
		for k := m.designs[d].pos; k < m.designs[d].end; k++ {
			if m.pos[k].kind != Single && fills[k] != s.low {
				return
			}
		}
	}
	for _, free := range f.free {
		if free < 0 {
			return
		}
	}
	for g, row := range m.groups {
		n := row.need * t.d.l.piece[m.pos[row.pos].design].low
		if row.ref >= 0 {
			n = row.need * f.u[row.ref]
		}
		for range n {
			if !f.addStone(int32(g)) {
				return
			}
		}
	}
	t.found(&f.plan)
}
