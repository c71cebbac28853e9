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

	rows       bool   // sums of rows are among the cuts
	rootPrices prices // that proved the root's bound before
	proof      prices // of the root with all of its cuts
	tight      int64  // the value that the root's limits were narrowed for

	young  int // serial of the last node before the children of the last split
	plunge int // splits since the most promising node was split

	paid   map[number]*pseudo
	began  int64 // work before the tree
	trials int64 // work of trials
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
		found: found, began: c.work, paid: map[number]*pseudo{}, prices: newPrices(m),
		rent: make([]float64, len(m.cap)),
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
	if t.open[0].bound <= value {
		t.open = t.open[:0]
		return
	}
	top := heap.Remove(&t.open, t.next(value)).(*node)
	before := t.nodes
	if value > t.tight {
		t.tighten(t.proof, value)
	}
	whole := t.spanOf(top, top.split.kind, top.split.at)
	above := fix{top.split.kind, top.split.at, top.split.child(high, whole)}
	for _, f := range []fix{top.split, above} {
		child := &node{bound: top.bound, fixes: append(top.fixes[:len(top.fixes):len(top.fixes)], f)}
		if t.last != top.serial && !t.x.load(top.basis) {
			t.x.s.slackBasis()
		}
		if !t.solve(child, value) {
			heap.Push(&t.open, top) // cut short: the parent stands for the rest
			return
		}
	}
	t.young, t.plunge = before, t.plunge+1
}

// Plunging goes on from a child of the last node split, for so many splits, as
// long as its bound is in the upper part of the gap: that finds plans.
const (
	deepest     = 20
	plungeShare = 0.25
)

// next is the place in the heap of the node to split.
func (t *tree) next(value int64) int {
	best := 0
	if t.plunge < deepest {
		least := t.open[0].bound - int64(plungeShare*float64(t.open[0].bound-value))
		for k, n := range t.open {
			if n.serial > t.young && n.bound >= least && !n.dead && n.basis.head != nil &&
				(best == 0 || n.bound > t.open[best].bound) {
				best = k
			}
		}
	}
	if best == 0 {
		t.plunge = 0
	}
	return best
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
	for {
		if again, ok := t.settle(n, value); !again {
			return ok
		}
	}
}

// settle solves the node's program and chooses how to split it. Again is true
// when a part of the node was left out instead, because there is no better plan
// in it.
func (t *tree) settle(n *node, value int64) (again, ok bool) {
	if !t.limit(n) {
		return false, true
	}
	status := t.x.s.solve(t.x.cutoff(value), t.steps(), t.c)
	t.price(n, status, value) // even cut short, the duals prove something
	for !t.c.stopped && n.bound > value && t.x.grow() {
		t.x.limit(t.l)
		status = t.x.s.solve(t.x.cutoff(value), t.steps(), t.c)
		t.price(n, status, value)
	}
	if t.c.stopped {
		return false, false
	}
	if n.bound <= value {
		return false, true
	}
	t.x.read()
	if len(n.fixes) == 0 {
		t.cutRoot(n, status, value)
	} else {
		for round := 0; round < 2 && len(n.fixes) < 8 && status == lpOptimal && t.m.separate(t.x) > 0; round++ {
			status = t.again(n, value)
		}
	}
	if t.c.stopped {
		return false, false
	}
	if n.bound <= value {
		return false, true
	}
	n.basis = basis{}
	dead, ok := t.choose(n, value)
	if !ok {
		return false, t.whole(n, value)
	}
	if dead != neither {
		t.leaveOut(n, dead)
		return true, true
	}
	if n.basis.head == nil {
		n.basis = t.x.save()
	}
	heap.Push(&t.open, n)
	return false, true
}

// leaveOut takes a child of the node's split out of the node.
func (t *tree) leaveOut(n *node, dead side) {
	f := n.split
	at := &t.l.of(f.kind)[f.at]
	f.span = f.child(low+high-dead, *at)
	if len(n.fixes) == 0 {
		t.root.of(f.kind)[f.at] = f.span
		return
	}
	n.fixes = append(n.fixes[:len(n.fixes):len(n.fixes)], f)
}

// again solves the program with the cuts found last and prices the node.
func (t *tree) again(n *node, value int64) lpStatus {
	t.x.addCuts()
	status := t.x.s.solve(t.x.cutoff(value), t.steps(), t.c)
	t.price(n, status, value)
	t.x.read()
	return status
}

// steps is the most steps of one solving.
func (t *tree) steps() int { return 20_000 + 5*t.x.s.rows }

// price lowers the node's bound to what the duals prove, along the ray when
// the program has no solution.
func (t *tree) price(n *node, status lpStatus, value int64) {
	s := t.x.s
	y := s.duals()
	t.x.prices(y, &t.prices)
	if b := t.m.bound(t.prices, t.l, t.rent); b < n.bound {
		n.bound = b
		if len(n.fixes) == 0 && !t.rows {
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
// references and edges. It reports false when no plan is within them.
func (t *tree) limit(n *node) bool {
	t.l.copyFrom(t.root)
	for _, f := range n.fixes {
		s := &t.spanAt(t.l, f.kind)[f.at]
		if *s = (span{max(s.low, f.span.low), min(s.high, f.span.high)}); s.low > s.high {
			return false
		}
		if f.kind != changePieces {
			continue
		}
		for k := t.m.designs[f.at].pos; k < t.m.designs[f.at].end; k++ {
			pos := &t.m.pos[k]
			for r := pos.ref; r < pos.refE; r++ {
				if s := &t.l.ref[r]; !s.most(f.span.high) {
					return false
				}
			}
			for e := pos.edge; e < pos.edgeE; e++ {
				if s := &t.l.edge[e]; !s.most(f.span.high) {
					return false
				}
			}
		}
	}
	t.x.limit(t.l)
	return true
}

// most lowers the top of the span; false when nothing is left of it.
func (s *span) most(high int32) bool {
	s.high = min(s.high, high)
	return s.low <= s.high
}

func (t *tree) spanAt(l limits, kind changeKind) []span { return l.of(kind) }

func (t *tree) spanOf(n *node, kind changeKind, at int32) span {
	s := t.spanAt(t.root, kind)[at]
	for _, f := range n.fixes {
		if f.kind == kind && f.at == at {
			s = span{max(s.low, f.span.low), min(s.high, f.span.high)}
		}
	}
	return s
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
