package allocate

import (
	"container/heap"
	"math"
)

// tree is a best-first branch and bound on the numbers of pieces, then of
// reference fills, then of edges. A node's bound is the bound of doc.go under
// the node's limits, at the prices of its linear program; when every number is
// whole the node is a transport, solved exactly.
type tree struct {
	m      *model
	c      *clock
	x      *relaxation
	root   limits
	l      limits
	open   nodeHeap
	nodes  int
	last   int // serial of the node whose basis is loaded
	found  func(*plan)
	prices prices
	rent   []float64

	rootPrices prices // that proved the root's bound
}

// node is a part of the plans: the fixes from the root to it.
type node struct {
	bound  int64
	serial int
	fixes  []fix
	basis  basis
	split  fix  // the low child; the high child starts above it
	dead   bool // everything is fixed: its bound stands
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
	return h[a].serial > h[b].serial
}
func (h nodeHeap) Swap(a, b int) { h[a], h[b] = h[b], h[a] }
func (h *nodeHeap) Push(x any)   { *h = append(*h, x.(*node)) }
func (h *nodeHeap) Pop() any {
	old := *h
	last := old[len(old)-1]
	*h = old[:len(old)-1]
	return last
}

// newTree solves the root, whose bound so far and prices are given. Every plan
// found on the way goes to found.
func newTree(m *model, c *clock, base prices, bound, value int64, found func(*plan)) *tree {
	t := &tree{
		m: m, c: c, x: newRelaxation(m, base), root: m.rootLimits(), l: m.rootLimits(),
		found: found, prices: newPrices(m), rent: make([]float64, len(m.cap)),
	}
	t.x.s.crash(t.x.duals(base), t.c)
	root := &node{bound: bound}
	if !t.solve(root, value) {
		heap.Push(&t.open, root)
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

// settled copies the prices that bounded the root.
func (t *tree) settled(out *prices) {
	if t.rootPrices.pos != nil {
		*out = t.rootPrices
	}
}

// stuck reports whether the most promising node cannot be split.
func (t *tree) stuck() bool {
	return len(t.open) > 0 && (t.open[0].dead || t.open[0].basis.head == nil)
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
	for _, f := range []fix{top.split, high} {
		child := &node{bound: top.bound, fixes: append(top.fixes[:len(top.fixes):len(top.fixes)], f)}
		if t.last != top.serial && !t.x.load(top.basis) {
			t.x.s.slackBasis()
		}
		if !t.solve(child, value) {
			heap.Push(&t.open, top) // cut short: the parent stands for the rest
			return
		}
	}
}

// solve bounds a node and puts it into the heap unless it cannot beat value;
// false when the search was stopped before it was bounded.
func (t *tree) solve(n *node, value int64) bool {
	if t.c.stop() {
		return false
	}
	t.nodes++
	n.serial = t.nodes
	t.last = n.serial
	t.limit(n)
	status := t.x.s.solve(t.x.cutoff(value), t.steps(), t.c)
	t.price(n, status, value) // even cut short, the duals prove something
	for !t.c.stopped && n.bound > value && t.x.grow() {
		t.x.limit(t.l)
		status = t.x.s.solve(t.x.cutoff(value), t.steps(), t.c)
		t.price(n, status, value)
	}
	if t.c.stopped {
		return false
	}
	if n.bound <= value {
		return true
	}
	t.x.read()
	for round := 0; round < t.cutRounds(n) && status == lpOptimal && t.m.separate(t.x) > 0; round++ {
		t.x.addCuts()
		status = t.x.s.solve(t.x.cutoff(value), t.steps(), t.c)
		t.price(n, status, value)
		if t.c.stopped {
			return false
		}
		if n.bound <= value {
			return true
		}
		t.x.read()
	}
	if !t.choose(n) {
		return t.whole(n, value)
	}
	n.basis = t.x.save()
	heap.Push(&t.open, n)
	return true
}

// steps is the most steps of one solving.
func (t *tree) steps() int { return 20_000 + 5*t.x.s.rows }

// cutRounds is how often a node looks for cuts.
func (t *tree) cutRounds(n *node) int {
	switch {
	case len(n.fixes) == 0:
		return 20
	case len(n.fixes) < 8:
		return 2
	}
	return 0
}

// price lowers the node's bound to what the duals prove, along the ray when
// the program has no solution.
func (t *tree) price(n *node, status lpStatus, value int64) {
	s := t.x.s
	y := s.duals()
	t.x.prices(y, &t.prices)
	if b := t.m.bound(t.prices, t.l, t.rent); b < n.bound {
		n.bound = b
		if len(n.fixes) == 0 {
			t.rootPrices = t.prices.clone(t.m)
		}
	}
	t.c.spend(6 * (len(t.m.entItem) + len(t.m.edgeA)))
	if status != lpInfeasible || !s.ray {
		return
	}
	far := append([]float64(nil), y...)
	for length := 1.0; length < 1e12 && n.bound > value; length *= 8 {
		for r, v := range s.rho {
			far[r] = y[r] + float64(s.raySign*length*v)
		}
		t.x.prices(far, &t.prices)
		n.bound = min(n.bound, t.m.bound(t.prices, t.l, t.rent))
	}
}

// whole handles a node whose numbers are all whole: its plan is found, and if
// that reaches the bound nothing is left. Otherwise the program was not solved
// well enough; any number not fixed is split.
func (t *tree) whole(n *node, value int64) bool {
	if p := t.round(); max(p.value, value) >= n.bound {
		return true
	}
	t.pickAny(n)
	n.basis = t.x.save()
	heap.Push(&t.open, n)
	return true
}

// pickAny splits on the first number that is not fixed.
func (t *tree) pickAny(n *node) {
	for _, kind := range [...]changeKind{changePieces, changeRef, changeEdge} {
		share := map[changeKind][]float64{changePieces: t.x.shares.piece, changeRef: t.x.shares.ref,
			changeEdge: t.x.shares.edge}[kind]
		for at, s := range t.spanAt(t.l, kind) {
			if s.low < s.high {
				n.split = fix{kind, int32(at), spanTo(s, math.Round(share[at]))}
				return
			}
		}
	}
	n.dead = true
}

// limit sets the limits to those of a node, and what follows from them for
// references and edges.
func (t *tree) limit(n *node) {
	t.l.copyFrom(t.root)
	for _, f := range n.fixes {
		t.spanAt(t.l, f.kind)[f.at] = f.span
		if f.kind != changePieces {
			continue
		}
		for k := t.m.designs[f.at].pos; k < t.m.designs[f.at].end; k++ {
			pos := &t.m.pos[k]
			for r := pos.ref; r < pos.refE; r++ {
				t.l.ref[r].high = min(t.l.ref[r].high, f.span.high)
			}
			for e := pos.edge; e < pos.edgeE; e++ {
				t.l.edge[e].high = min(t.l.edge[e].high, f.span.high)
			}
		}
	}
	t.x.limit(t.l)
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

// choose picks the number to split the node on: the fraction of pieces or
// references that is worth most, else of edges. False when all are whole.
func (t *tree) choose(n *node) bool {
	m, s := t.m, t.x.shares
	best := 0.0
	pick := func(kind changeKind, share []float64, weight func(int) float64) {
		for at, span := range t.spanAt(t.l, kind) {
			if kind == changePieces && t.pickOpen(n, at, span, share[at], &best) {
				continue
			}
			down := math.Floor(share[at])
			part := min(share[at]-down, down+1-share[at])
			if span.low >= span.high || part < 1e-6 {
				continue
			}
			if score := part * weight(at); score > best {
				best = score
				n.split = fix{kind, int32(at), spanTo(span, down)}
			}
		}
	}
	pick(changePieces, s.piece, func(at int) float64 { return math.Abs(float64(m.designs[at].value)) + 1 })
	pick(changeRef, s.ref, func(at int) float64 { return math.Abs(t.prices.pos[m.refs[at].pos]) + 1 })
	if best == 0 {
		pick(changeEdge, s.edge, func(at int) float64 { return math.Abs(t.prices.pos[m.edgePos[at]]) + 1 })
	}
	return best > 0
}

// pickOpen splits a node on whether any piece of a design is made, when that
// costs something and the program pays for a part of it only.
func (t *tree) pickOpen(n *node, d int, s span, share float64, best *float64) bool {
	fixed := float64(t.m.designs[d].fixed)
	if fixed == 0 || s.low > 0 || share < 1e-6 || share > float64(s.high)-1e-6 {
		return false
	}
	part := share / float64(s.high)
	if score := fixed * min(part, 1-part) * 2; score > *best {
		*best = score
		n.split = fix{changePieces, int32(d), span{0, 0}}
	}
	return math.Abs(share-math.Round(share)) < 1e-6
}

func spanTo(s span, down float64) span {
	return span{s.low, max(s.low, min(int32(down), s.high-1))}
}

// round offers the plan that the last solution read rounds to, and returns it.
func (t *tree) round() *plan {
	p := roundDown(t.m, t.c, t.x.shares, 1e-6)
	t.found(p)
	return p
}
