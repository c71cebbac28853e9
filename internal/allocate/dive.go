package allocate

import (
	"cmp"
	"math"
	"slices"
)

// dive makes the node's numbers whole a few at a time, the nearest to whole
// first, solving the program in between, and offers the plan at the end. A
// step that leaves no plan better than value is taken back: a single number
// then goes the other way. It leaves the tree's program at another node than
// the tree thinks.
func (t *tree) dive(n *node, value int64) *plan {
	if !t.limit(n) {
		return newPlan(t.m)
	}
	if t.last != n.serial && (n.basis.head == nil || !t.x.load(n.basis)) {
		return newPlan(t.m)
	}
	t.last = -1
	before := t.m.rootLimits()
	var step []leap
	for backs := 0; backs < 30 && !t.c.stop(); {
		if t.x.s.solve(t.x.cutoff(value), 3000, t.c) == lpOptimal {
			t.x.read()
			before.copyFrom(t.l)
			if step = t.roundSome(8); len(step) == 0 {
				break
			}
		} else {
			if backs++; len(step) == 0 {
				break
			}
			t.l.copyFrom(before)
			if len(step) > 1 {
				step = t.roundSome(len(step) * 8)
			} else {
				t.otherWay(step[0].fix)
				step = nil
			}
		}
		t.x.limit(t.l)
	}
	return t.round()
}

// otherWay forbids the numbers that a step allowed.
func (t *tree) otherWay(f fix) {
	s := &t.spanAt(t.l, f.kind)[f.at]
	if f.span.low > s.low {
		s.high = f.span.low - 1
	} else {
		s.low = min(s.high, f.span.high+1)
	}
}

// leap is a fraction and the whole number it is rounded to.
type leap struct {
	fix
	far float64
}

// roundSome narrows the limits around one in so many of the fractions, upwards
// where that is not far, and returns what it did.
func (t *tree) roundSome(in int) []leap {
	var all []leap
	add := func(kind changeKind, share []float64) {
		for at, s := range t.spanAt(t.l, kind) {
			x := share[at]
			if s.low >= s.high || math.Abs(x-math.Round(x)) < 1e-6 {
				continue
			}
			up := math.Ceil(x)
			if kind != changeEdge && x < up-0.5 {
				up = math.Floor(x)
			}
			to := int32(up)
			all = append(all, leap{fix{kind, int32(at), span{max(s.low, to), min(s.high, max(s.low, to))}},
				math.Abs(up - x)})
		}
	}
	add(changePieces, t.x.shares.piece)
	if len(all) == 0 {
		add(changeRef, t.x.shares.ref)
	}
	if len(all) == 0 {
		add(changeEdge, t.x.shares.edge)
	}
	slices.SortFunc(all, func(a, b leap) int {
		return cmp.Or(cmp.Compare(a.far, b.far), cmp.Compare(a.kind, b.kind), cmp.Compare(a.at, b.at))
	})
	want := max(1, len(all)/in)
	if len(all) > 0 && all[0].kind == changePieces {
		want = 1
	}
	var done []leap
	used := map[int32]bool{}
	for _, l := range all {
		if want == 0 {
			break
		}
		if l.kind == changeEdge {
			a, b := t.m.edgeA[l.at], t.m.edgeB[l.at]
			if used[a] || used[b] {
				continue
			}
			used[a], used[b] = true, true
		}
		t.spanAt(t.l, l.kind)[l.at] = l.span
		done = append(done, l)
		want--
	}
	return done
}
