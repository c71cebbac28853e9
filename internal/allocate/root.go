package allocate

import (
	"container/heap"
	"slices"
)

// Rounds of cuts at the root end when so many of them together close less than
// a share of the gap.
const (
	mostRounds   = 100
	patientFor   = 6
	leastClosing = 0.02
	rowCuts      = 30 // a round
)

// cutRoot cuts off solutions of the root's program: first by odd sets and slots,
// then by sums of rows too, which may be false for plans that are not worth
// more than value.
func (t *tree) cutRoot(n *node, status lpStatus, value int64) {
	last, mark := n.bound, 0
	for round := 0; round < mostRounds && status == lpOptimal && n.bound > value && !t.c.stopped; round++ {
		t.tighten(t.prices, value)
		if t.rows {
			t.dropSlack()
		}
		if status = t.x.s.solve(t.x.cutoff(value), t.steps(), t.c); status != lpOptimal {
			t.price(n, status, value)
			break
		}
		t.x.read()
		found := t.m.separate(t.x)
		if t.rows = t.rows || found == 0; t.rows {
			found += t.m.separateRows(t.x, t.root, rowCuts, t.c)
		}
		if found == 0 {
			break
		}
		status = t.again(n, value)
		if mark++; mark == patientFor {
			if float64(last-n.bound) < leastClosing*float64(last-value) {
				break
			}
			last, mark = n.bound, 0
		}
	}
	t.x.prices(t.x.s.duals(), &t.prices)
	t.proof = t.prices.clone(t.m)
}

// dropSlack takes sums of rows that do not bind out of the cuts. No node may have
// been kept yet.
func (t *tree) dropSlack() {
	keep := t.x.slackCuts()
	for n := range keep {
		keep[n] = !keep[n] || !t.m.cuts[n].rows
	}
	if slices.Contains(keep, false) {
		t.x.dropCuts(keep)
	}
}

// recut solves the root again, the only node so far, with what a better plan
// allows to leave out.
func (t *tree) recut(value int64) {
	root := t.open[0]
	t.tighten(t.proof, value)
	if !t.x.load(root.basis) {
		t.x.s.slackBasis()
	}
	t.open, root.basis = t.open[:0], basis{}
	if !t.solve(root, value) {
		heap.Push(&t.open, root)
	}
}

// tighten narrows the root's limits to plans worth more than value, by what the
// bound at the prices leaves for them.
func (t *tree) tighten(p prices, value int64) {
	_, largest := t.m.estimate(p, t.root, t.rent)
	if scale := scaleFor(largest); scale > 0 {
		newExact(t.m, p, scale).tighten(t.root, value)
	}
	t.c.spend(6 * (len(t.m.entItem) + len(t.m.edgeA)))
	t.tight = value
	t.l.copyFrom(t.root)
	t.x.limit(t.l)
}
