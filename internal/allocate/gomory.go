package allocate

import (
	"cmp"
	"math"
	"slices"
)

// gomory makes cuts of weighted sums of the program's rows by mixed-integer
// rounding (Gomory, 1960; Nemhauser and Wolsey, 1990). For whole numbers x >= 0
// and s >= 0, from sum a x + sum c s <= b with fractional part f of b follows
//
//	sum (floor(a) + max(0, frac(a) - f) / (1 - f)) x + sum min(0, c) / (1 - f) s <= floor(b)
//
// The weights come from the simplex, so that the solution breaks the cut. They
// are rounded to whole parts of one and all that follows is done in whole
// numbers: a weight that is a little off weakens the cut, and cannot make it
// false. A number near its largest is counted down from there; what items have
// left is whole, too; what cuts leave is taken as a fraction.
type gomory struct {
	m *model
	x *relaxation
	l limits // the cuts may be false for plans outside

	item, pos, group, cut []int64    // weights of the rows
	right                 int64      // b
	per                   [4][]int64 // a, then the cut's, by kind and number
	down                  [4][]bool  // by kind and number: counted from its largest
	unused                []bool     // by item: what it has left is counted from all of it
	left                  []int64    // by item: what the cut takes of that
	found                 []rounding
}

// rounding is a cut and how far the solution is beyond it.
type rounding struct {
	cut
	depth, norm float64
}

// whole is how many parts of one the weights are rounded to: 1/2 to 1/16 are
// whole numbers of parts.
const whole = 720720

// Limits of the rounded sums: of a weight, of what a number takes, of all terms
// together (so that none overflows), of the length of a cut, and how far from whole
// b must be.
const (
	heaviest  = 2000
	widestPer = 1 << 26
	mostSum   = 1 << 58
	mostTerms = 1000
	leastPart = whole / 100
)

// separateRows cuts off the solution of the program by at most so many sums of
// rows, and returns how many.
func (m *model) separateRows(x *relaxation, l limits, most int, c *clock) int {
	g := &gomory{m: m, x: x, l: l, item: make([]int64, len(m.cap)), pos: make([]int64, len(m.pos)),
		group: make([]int64, len(m.groups)), cut: make([]int64, x.cuts), unused: make([]bool, len(m.cap)),
		left: make([]int64, len(m.cap))}
	for kind := range g.per {
		g.per[kind] = make([]int64, len(l.of(changeKind(kind))))
		g.down[kind] = make([]bool, len(g.per[kind]))
	}
	rows := x.partRows()
	for _, row := range rows[:min(len(rows), 4*most)] {
		rho := make([]float64, x.s.rows)
		rho[row] = 1
		x.s.f.backward(rho)
		if g.weigh(rho) {
			g.round()
		}
		c.spend(4*(len(m.entItem)+len(m.edgeA)) + 10*x.s.rows + 2*len(x.s.f.terms))
	}
	slices.SortStableFunc(g.found, func(a, b rounding) int { return cmp.Compare(b.depth, a.depth) })
	var taken []rounding
	for _, r := range g.found {
		if len(taken) == most {
			break
		}
		if !slices.ContainsFunc(taken, func(o rounding) bool { return parallel(&o, &r) }) {
			taken = append(taken, r)
			m.cuts = append(m.cuts, r.cut)
		}
	}
	return len(taken)
}

// partRows lists the rows whose basic numbers are not whole, the nearest to a half
// first.
func (x *relaxation) partRows() []int32 {
	var rows []int32
	part := func(row int32) float64 {
		v := x.s.x[x.s.head[row]]
		return math.Abs(v - math.Round(v))
	}
	for r, c := range x.s.head {
		if int(c) < x.s.cols && part(int32(r)) > 0.005 {
			rows = append(rows, int32(r))
		}
	}
	slices.SortFunc(rows, func(a, b int32) int { return cmp.Or(cmp.Compare(part(b), part(a)), cmp.Compare(a, b)) })
	return rows
}

// weigh sets the weights of the rows; false when they are too large.
func (g *gomory) weigh(rho []float64) bool {
	m, x := g.m, g.x
	sum := 0.0
	part := func(row int32) int64 {
		if row < 0 {
			return 0
		}
		return int64(math.Round(rho[row] * whole))
	}
	if slices.ContainsFunc(rho, func(v float64) bool { return !(math.Abs(v) < heaviest) }) {
		return false
	}
	g.right = 0
	for i, r := range x.rowItem {
		g.item[i] = part(r)
		g.right += g.item[i] * int64(m.cap[i])
		sum += size(g.item[i], int64(m.cap[i]))
	}
	for k, r := range x.rowPos {
		g.pos[k] = part(r)
	}
	for n, r := range x.rowGroup {
		g.group[n] = part(r)
	}
	first := int32(len(rho) - x.cuts)
	for n := range g.cut {
		g.cut[n] = part(first + int32(n))
		if w := g.cut[n]; w != 0 {
			c := &m.cuts[n]
			g.right += exactly(w, c.most, c.unit, true)
			sum += size(w, c.most) / float64(c.unit)
		}
	}
	return sum < mostSum
}

// size is about |a x b|.
func size(a, b int64) float64 { return math.Abs(float64(a) * float64(b)) }

// sum sets the terms of the weighted sum of the rows.
func (g *gomory) sum() {
	m := g.m
	for d := range m.designs {
		a := int64(0)
		for k := m.designs[d].pos; k < m.designs[d].end; k++ {
			a -= int64(max(1, m.pos[k].count)) * g.pos[k]
		}
		g.per[changePieces][d] = a
	}
	for r := range m.refs {
		ref := &m.refs[r]
		a := g.pos[ref.pos]
		for k := ref.group; k < ref.groupE; k++ {
			a -= int64(m.groups[k].need) * g.group[k]
		}
		g.per[changeRef][r] = a
	}
	for f, k := range m.edgePos {
		g.per[changeEdge][f] = g.pos[k] + g.item[m.edgeA[f]] + g.item[m.edgeB[f]]
	}
	for e, i := range m.entItem {
		g.per[changeEntry][e] = g.item[i] + g.group[m.entGroup[e]]
	}
	for n, w := range g.cut {
		if w != 0 {
			g.add(&m.cuts[n], w)
		}
	}
}

// add adds the terms of a cut with a weight.
func (g *gomory) add(c *cut, weight int64) {
	for _, t := range c.terms {
		g.per[t.kind][t.at] += exactly(weight, t.per, c.unit, false)
	}
}

// round makes a cut of the weighted sum, when the solution breaks it.
func (g *gomory) round() {
	m := g.m
	g.sum()
	if !g.shift() {
		return
	}
	f := g.right - floorDiv(g.right, whole)*whole
	if f < leastPart || f > whole-leastPart {
		return
	}
	r := rounder{f, whole - f}
	right := floorDiv(g.right, whole) * r.unit
	for kind := range g.per {
		limit := g.l.of(changeKind(kind))
		for at, a := range g.per[kind] {
			if a == 0 {
				continue
			}
			down := g.down[kind][at]
			a = r.of(a, down)
			g.per[kind][at] = a
			right += a * int64(limit[at].from(down))
		}
	}
	for i, w := range g.item {
		if g.left[i] = r.of(w, g.unused[i]); !g.unused[i] {
			right -= g.left[i] * int64(m.cap[i])
		}
	}
	for e, i := range m.entItem {
		g.per[changeEntry][e] -= g.left[i]
	}
	for e := range m.edgeA {
		g.per[changeEdge][e] -= g.left[m.edgeA[e]] + g.left[m.edgeB[e]]
	}
	for n, w := range g.cut {
		if w < 0 {
			c := &m.cuts[n]
			right += exactly(-w, c.most, c.unit, true)
			g.add(c, -w)
		}
	}
	g.keep(right, r.unit)
}

// shift counts every number from the nearer end of its span, and what items have
// left from nothing or, where that is nearer, from all of it. False when the sum
// is too large.
func (g *gomory) shift() bool {
	sum := 0.0
	for kind := range g.per {
		share, limit := g.x.shares.of(changeKind(kind)), g.l.of(changeKind(kind))
		for at, a := range g.per[kind] {
			s := limit[at]
			down := float64(2*share[at]) > float64(s.low+s.high)
			g.down[kind][at] = down
			g.right -= a * int64(s.from(down))
			sum += size(a, int64(s.high))
		}
	}
	for i, r := range g.x.rowItem {
		left := g.m.cap[i]
		w := g.item[i]
		g.unused[i] = w != 0 && float64(2*g.x.s.x[g.x.s.cols+int(r)]) > float64(left)
		if g.unused[i] {
			g.right -= w * int64(left)
		}
	}
	return sum < mostSum
}

// from is the end of the span that a number is counted from.
func (s span) from(down bool) int32 {
	if down {
		return s.high
	}
	return s.low
}

// rounder rounds what a whole number takes of a sum; f is the fraction of the
// right-hand side, and the result is in parts of unit.
type rounder struct{ f, unit int64 }

// of rounds a; down when the number is counted from the end of its span.
func (r rounder) of(a int64, down bool) int64 {
	if down {
		return -r.of(-a, false)
	}
	n := floorDiv(a, whole)
	return n*r.unit + max(0, a-n*whole-r.f)
}

// keep lists the cut in g.per if the solution is well beyond it.
func (g *gomory) keep(right, unit int64) {
	x := g.x
	c := cut{most: right, unit: unit, rows: true}
	over, norm := -float64(right), 0.0
	for kind := range g.per {
		share, limit := x.shares.of(changeKind(kind)), g.l.of(changeKind(kind))
		for at, a := range g.per[kind] {
			s := limit[at]
			if s.low == s.high {
				c.most -= a * int64(s.low)
				over += float64(float64(a) * float64(s.low))
				continue
			}
			switch {
			case a == 0:
				continue
			case a > widestPer || a < -widestPer:
				return
			case a > 0 && a < unit>>14:
				c.most -= a * int64(s.low)
				over += float64(float64(a) * float64(s.low))
				continue
			case a < 0 && -a < unit>>14:
				c.most -= a * int64(s.high)
				over += float64(float64(a) * float64(s.high))
				continue
			}
			c.terms = append(c.terms, cutTerm{changeKind(kind), int32(at), a})
			over += float64(float64(a) * share[at])
			norm += float64(float64(a) * float64(a))
		}
	}
	norm = math.Sqrt(norm)
	if len(c.terms) == 0 || len(c.terms) > mostTerms || over < 1e-3*float64(unit) || over < 1e-4*norm {
		return
	}
	g.found = append(g.found, rounding{c, over / norm, norm})
}

// parallel reports whether two cuts say nearly the same.
func parallel(a, b *rounding) bool {
	sum, n := 0.0, 0
	for _, t := range a.terms {
		for n < len(b.terms) && (b.terms[n].kind < t.kind || b.terms[n].kind == t.kind && b.terms[n].at < t.at) {
			n++
		}
		if n < len(b.terms) && b.terms[n].kind == t.kind && b.terms[n].at == t.at {
			sum += float64(float64(t.per) * float64(b.terms[n].per))
		}
	}
	return sum > 0.95*a.norm*b.norm
}

// floorDiv is a / b rounded down, b > 0.
func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}
