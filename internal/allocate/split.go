package allocate

import (
	"cmp"
	"math"
	"slices"
)

// split is a way to split a node: the low child as a fix, the high child above.
type split struct {
	fix
	key      number  // what is known of it is kept under
	down, up float64 // how far the number moves in the children
	score    float64
}

// pseudo is what splits on a number have cost by the unit, downwards and upwards
// (Benichou and others, 1971).
type pseudo struct {
	cost  [2]float64
	times [2]int
}

// openKind is the kind under which splits on whether a design is made at all are
// known.
const openKind = changePieces + 1

// Strong branching (Achterberg, Koch and Martin, 2005): splits that were tried
// less often than reliable are tried on the program, each child for so many steps
// of the simplex: at most so many at a node, and no more after so many that were
// not better. Trials take at most a half of the tree's work, and trialWork.
const (
	reliable      = 4
	mostTrials    = 10
	trialPatience = 5
	trialSteps    = 60
	trialWork     = 20_000_000
)

// leastPaid is the share of a number's worth that a split on it costs by the unit
// at least, whatever trials say: dear suites move freely between references until
// several are fixed.
const leastPaid = 1.0 / 16

// choose picks the split of the node that raises the programs of both children
// most, of pieces and references, else of edges. It returns the side of a child
// without a better plan, or neither, and false when all numbers are whole.
func (t *tree) choose(n *node, value int64) (dead side, ok bool) {
	list := t.pieceSplits(t.fractions(nil, changePieces, t.x.shares.piece))
	list = t.fractions(list, changeRef, t.x.shares.ref)
	if len(list) == 0 {
		list = t.fractions(list, changeEdge, t.x.shares.edge)
	}
	if len(list) == 0 {
		return neither, false
	}
	for k := range list {
		list[k].score = t.guess(&list[k])
	}
	slices.SortFunc(list, func(a, b split) int {
		return cmp.Or(cmp.Compare(b.score, a.score), cmp.Compare(a.kind, b.kind), cmp.Compare(a.at, b.at))
	})
	best, dead := t.try(n, list, value)
	n.split = best.fix
	return dead, true
}

// side of a split.
type side int

const (
	low side = iota
	high
	neither
)

// child is what a split leaves of a span on one side.
func (f fix) child(s side, of span) span {
	if s == low {
		return f.span
	}
	return span{f.span.high + 1, of.high}
}

// fractions lists the splits on the numbers of a kind that are not whole.
func (t *tree) fractions(list []split, kind changeKind, share []float64) []split {
	for at, span := range t.l.of(kind) {
		down := math.Floor(share[at])
		part := share[at] - down
		if span.low < span.high && min(part, 1-part) > 1e-6 {
			key := number{kind, int32(at)}
			list = append(list, split{fix: fix{kind, int32(at), spanTo(span, down)}, key: key, down: part,
				up: 1 - part})
		}
	}
	return list
}

// pieceSplits turns the splits of designs of which making any costs something,
// and of which the program pays for a part only, into splits on whether any
// piece is made.
func (t *tree) pieceSplits(list []split) []split {
	kept := list[:0]
	for _, s := range list {
		if !t.partPaid(int(s.at)) {
			kept = append(kept, s)
		}
	}
	for d := range t.m.designs {
		if t.partPaid(d) {
			part := t.x.shares.piece[d] / float64(t.l.piece[d].high)
			kept = append(kept, split{fix: fix{changePieces, int32(d), span{0, 0}}, key: number{openKind, int32(d)},
				down: part, up: 1 - part})
		}
	}
	return kept
}

func (t *tree) partPaid(d int) bool {
	s, share := t.l.piece[d], t.x.shares.piece[d]
	return t.m.designs[d].fixed > 0 && s.low == 0 && share > 1e-6 && share < float64(s.high)-1e-6
}

// guess estimates a split's score by what earlier ones cost.
func (t *tree) guess(s *split) float64 {
	var weight float64
	switch s.key.kind {
	case changePieces:
		weight = math.Abs(float64(t.m.designs[s.at].value))
	case openKind:
		weight = float64(t.m.designs[s.at].fixed)
	case changeRef:
		weight = math.Abs(t.prices.pos[t.m.refs[s.at].pos])
	default:
		weight = math.Abs(t.prices.pos[t.m.edgePos[s.at]])
	}
	least := weight * leastPaid
	cost := [2]float64{weight / 8, weight / 8}
	if p := t.paid[s.key]; p != nil {
		for k, n := range p.times {
			if n > 0 {
				cost[k] = max(least, p.cost[k]/float64(n))
			}
		}
	}
	return score(cost[0]*s.down, cost[1]*s.up)
}

// score of what the children lose.
func score(down, up float64) float64 {
	return float64(max(down, 1e-3)*max(up, 1e-3)) + float64(1e-6*(down+up))
}

// try tries the most promising splits that are not well known on the program,
// and returns the best, or the first that has a child without a better plan.
func (t *tree) try(n *node, list []split, value int64) (split, side) {
	best, since, trials := 0, 0, 0
	top := -1.0
	before := t.x.objective()
	for k := range list {
		s := &list[k]
		if p := t.paid[s.key]; p == nil || min(p.times[low], p.times[high]) < reliable {
			if trials == mostTrials || since == trialPatience || t.trials > trialWork+(t.c.work-t.began)/
				2 || t.c.stop() {
				continue
			}
			if n.basis.head == nil {
				n.basis = t.x.save()
			}
			trials++
			for _, child := range []side{low, high} {
				if t.trial(n, s, child, value, before) {
					return *s, child
				}
			}
			s.score = t.guess(s)
		}
		if since++; s.score > top {
			best, top, since = k, s.score, 0
		}
	}
	return list[best], neither
}

// trial solves a child's program for some steps and keeps what it lost. It
// reports whether no better plan is proven to be in it. The program is left at
// the node.
func (t *tree) trial(n *node, s *split, child side, value int64, before float64) bool {
	work := t.c.work
	defer func() { t.trials += t.c.work - work }()
	at := &t.l.of(s.kind)[s.at]
	was := *at
	*at = s.child(child, was)
	t.x.limit(t.l)
	status := t.x.s.solve(t.x.cutoff(value), trialSteps, t.c)
	lost := max(0, t.x.objective()-before)
	proof := node{bound: n.bound, fixes: []fix{s.fix}}
	if status == lpInfeasible || status == lpCut {
		t.price(&proof, status, value)
	}
	*at = was
	t.x.limit(t.l)
	if !t.x.load(n.basis) {
		t.x.s.slackBasis()
	}
	if proof.bound <= value {
		return true
	}
	if t.c.stopped {
		return false
	}
	p := t.paid[s.key]
	if p == nil {
		p = &pseudo{}
		t.paid[s.key] = p
	}
	far := [2]float64{s.down, s.up}
	p.cost[child] += lost / far[child]
	p.times[child]++
	return false
}
