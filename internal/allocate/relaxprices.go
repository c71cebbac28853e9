package allocate

import (
	"math"
	"slices"
)

// prices reads the duals as prices of the bound.
func (x *relaxation) prices(y []float64, out *prices) {
	out.copyFrom(x.base)
	for k, r := range x.rowPos {
		if r >= 0 {
			out.pos[k] = y[r]
		}
	}
	for g, r := range x.rowGroup {
		if ref := x.m.groups[g].ref; r >= 0 && (ref < 0 || x.colRef[ref] >= 0) {
			out.group[g] = y[r]
		}
	}
	for i, r := range x.rowItem {
		out.item[i] = 0
		if r >= 0 {
			out.item[i] = max(0, -y[r])
		}
	}
	out.cut = out.cut[:0]
	for r := len(y) - x.cuts; r < len(y); r++ {
		out.cut = append(out.cut, max(0, -y[r]))
	}
	x.want(out)
	x.leaveOut(out)
}

// want lists the entries and edges that are not in the program and would gain:
// of each item the entry that gains most, and of each item as the first end of
// edges the edge. All at once would take the program far from its solution.
func (x *relaxation) want(out *prices) {
	m := x.m
	w := &x.wanted
	taken := addCuts(m, out.cut, about)
	*w = wanted{w.refs[:0], w.entries[:0], w.edges[:0]}
	for i := range m.cap {
		best, most := int32(-1), gainTol
		for _, e := range m.itemEnt.of(int32(i)) {
			g := &m.groups[m.entGroup[e]]
			if x.colEntry[e] >= 0 || g.ref >= 0 && x.colRef[g.ref] < 0 || m.designs[m.pos[g.pos].design].most == 0 {
				continue
			}
			if gain := out.group[m.entGroup[e]] - float64(m.entCost[e]) - out.item[i] - at(taken.entry,
				e); gain > most {
				best, most = e, gain
			}
		}
		if best >= 0 {
			w.entries = append(w.entries, best)
		}
		best, most = -1, gainTol
		for _, f := range m.itemEdge.of(int32(i)) {
			if x.colEdge[f] >= 0 || m.edgeMost[f] == 0 || m.edgeA[f] != int32(i) {
				continue
			}
			gain := out.pos[m.edgePos[f]] - float64(m.edgeCost[f]) - out.item[i] - out.item[m.edgeB[f]] -
				at(taken.edge, f)
			if gain > most {
				best, most = f, gain
			}
		}
		if best >= 0 {
			w.edges = append(w.edges, best)
		}
	}
}

// gainTol is what a column must gain to come into a program.
const gainTol = 1e-3

// duals are the row prices that the prices of the bound stand for: the
// reverse of prices.
func (x *relaxation) duals(p prices) []float64 {
	y := make([]float64, x.s.rows)
	x.m.rents(p, x.rent)
	for k, r := range x.rowPos {
		if r >= 0 {
			y[r] = p.pos[k]
		}
	}
	for g, r := range x.rowGroup {
		if r >= 0 {
			y[r] = p.group[g]
		}
	}
	for i, r := range x.rowItem {
		if r >= 0 {
			y[r] = -x.rent[i]
		}
	}
	return y
}

// leaveOut prices the slots of references that are not in the program: as low
// as lifts no rent, then upwards to where as many stones as one fill takes pay
// for it, as far as the reference would gain.
func (x *relaxation) leaveOut(out *prices) {
	m := x.m
	for r := range m.refs {
		if x.leftOut(r) {
			for g := m.refs[r].group; g < m.refs[r].groupE; g++ {
				out.group[g] = -2 * maxAmount
			}
		}
	}
	m.rents(*out, x.rent)
	full := func(e int32) float64 { return float64(m.entCost[e]) + x.rent[m.entItem[e]] }
	for r := range m.refs {
		ref := &m.refs[r]
		if !x.leftOut(r) {
			continue
		}
		gain := out.pos[ref.pos]
		for g := ref.group; g < ref.groupE; g++ {
			row := &m.groups[g]
			least := math.Inf(1)
			for e := row.ent; e < row.end; e++ {
				least = min(least, full(e))
			}
			out.group[g] = least
			gain -= float64(float64(row.need) * least)
		}
		if gain <= 0 {
			continue
		}
		room := 0.0
		x.lift = x.lift[:0]
		for g := ref.group; g < ref.groupE; g++ {
			row := &m.groups[g]
			x.paid = x.paid[:0]
			for e := row.ent; e < row.end; e++ {
				for range min(m.cap[m.entItem[e]], row.need) {
					x.paid = append(x.paid, full(e))
				}
			}
			slices.Sort(x.paid)
			lift := x.paid[row.need-1] - x.paid[0]
			x.lift = append(x.lift, lift)
			room += float64(float64(row.need) * lift)
		}
		if gain > room+1 {
			x.wanted.refs = append(x.wanted.refs, int32(r))
		}
		share := min(1, gain/max(1e-9, room))
		for n, lift := range x.lift {
			out.group[ref.group+int32(n)] += float64(share * lift)
		}
	}
}

// leftOut reports whether a reference that plans may use is not in the program.
func (x *relaxation) leftOut(r int) bool { return x.colRef[r] < 0 && x.m.refs[r].most > 0 }
