package allocate

import (
	"cmp"
	"math"
	"slices"
)

// roundDown makes a plan of fractions: as many pieces, edges and reference
// fills as they are rounded down after adding lift, the largest fractions
// first, as far as the stones go.
func roundDown(m *model, c *clock, s shares, lift float64) *plan {
	f := newFlow(newPlan(m), c)
	f.fixed = true
	down := func(x float64) int32 { return int32(math.Floor(x + lift)) }
	fills := make([]int32, len(m.pos))
	wanted := func(k int32) bool { return fills[k] < down(s.piece[m.pos[k].design]) }
	var edges []int32
	for e := range s.edge {
		if down(s.edge[e]) > 0 {
			edges = append(edges, int32(e))
		}
	}
	slices.SortFunc(edges, func(a, b int32) int {
		return cmp.Or(cmp.Compare(s.edge[b], s.edge[a]), cmp.Compare(a, b))
	})
	for _, e := range edges {
		k := m.edgePos[e]
		for n := down(s.edge[e]); n > 0 && wanted(k) && f.edgeFree(e); n-- {
			f.useEdge(e, 1)
			fills[k]++
		}
	}
	f.seed(s, down, fills)
	for r := range s.ref {
		k := m.refs[r].pos
		for n := down(s.ref[r]) - f.u[r]; n > 0 && wanted(k); n-- {
			mark := len(f.log)
			if f.useRef(int32(r), 1); !f.addSlots(int32(r)) {
				f.undo(mark)
				break
			}
			fills[k]++
		}
	}
	for d := range m.designs {
		f.addPieces(int32(d), down(s.piece[d]), fills)
	}
	f.fixed = false
	f.cancel()
	return &f.plan
}

// seed makes at once, of the fills and pieces wanted, those whose stones the
// fractions give whole, and then the entries the cheapest. One by one every
// stone would take a shortest path.
func (f *flow) seed(s shares, down func(float64) int32, fills []int32) {
	m := f.m
	whole := func(g int32) int32 { // stones of the group that are whole in the fractions
		n := int32(0)
		for e := m.groups[g].ent; e < m.groups[g].end; e++ {
			n += min(int32(s.entry[e]+1e-6), f.free[m.entItem[e]])
		}
		return n
	}
	fill := func(g, stones int32) {
		for e := m.groups[g].ent; e < m.groups[g].end && stones > 0; e++ {
			if n := min(int32(s.entry[e]+1e-6), f.free[m.entItem[e]], stones); n > 0 {
				f.useEntry(e, n)
				stones -= n
			}
		}
	}
	for r := range m.refs {
		ref := &m.refs[r]
		k := ref.pos
		n := min(down(s.ref[r]), down(s.piece[m.pos[k].design])-fills[k], ref.most)
		for g := ref.group; g < ref.groupE && n > 0; g++ {
			n = min(n, whole(g)/m.groups[g].need)
		}
		if n <= 0 {
			continue
		}
		mark := len(f.log)
		f.useRef(int32(r), n)
		for g := ref.group; g < ref.groupE; g++ {
			if whole(g) < n*m.groups[g].need { // slots of one reference share stones
				f.undo(mark)
				n = 0
				break
			}
			fill(g, n*m.groups[g].need)
		}
		fills[k] += n
	}
	for d := range m.designs {
		row := &m.designs[d]
		n := min(down(s.piece[d]), row.most)
		for k := row.pos; k < row.end; k++ {
			if pos := &m.pos[k]; pos.kind == Single {
				n = min(n, whole(pos.group)/pos.count)
			} else {
				n = min(n, fills[k])
			}
		}
		if n <= 0 {
			continue
		}
		mark := len(f.log)
		f.makePieces(int32(d), n)
		for k := row.pos; k < row.end; k++ {
			if pos := &m.pos[k]; pos.kind == Single {
				if whole(pos.group) < n*pos.count {
					f.undo(mark)
					break
				}
				fill(pos.group, n*pos.count)
			}
		}
	}
	f.c.spend(4 * len(m.entItem))
	f.log = f.log[:0]
	f.cancel()
}

// addPieces makes up to so many pieces of a design whose pairs and suites are
// there, and gives back the pairs and suites of pieces it cannot make.
func (f *flow) addPieces(d, pieces int32, fills []int32) {
	m, row := f.m, &f.m.designs[d]
	for k := row.pos; k < row.end; k++ {
		if m.pos[k].kind != Single {
			pieces = min(pieces, fills[k])
		}
	}
	for f.y[d] < pieces {
		mark, ok := len(f.log), true
		f.makePieces(d, 1)
		for k := row.pos; k < row.end && ok; k++ {
			for n := m.pos[k].count; n > 0 && ok; n-- {
				ok = f.addStone(m.pos[k].group)
			}
		}
		if !ok {
			f.undo(mark)
			break
		}
	}
	for k := row.pos; k < row.end; k++ {
		pos, extra := &m.pos[k], fills[k]-f.y[d]
		for e := pos.edgeE - 1; e >= pos.edge && extra > 0; e-- {
			for ; f.z[e] > 0 && extra > 0; extra-- {
				f.useEdge(e, -1)
			}
		}
		for r := pos.refE - 1; r >= pos.ref && extra > 0; r-- {
			for ; f.u[r] > 0 && extra > 0; extra-- {
				for g := m.refs[r].group; g < m.refs[r].groupE; g++ {
					for range m.groups[g].need {
						if !f.dropStone(g) && len(f.used[g]) > 0 {
							f.useEntry(f.used[g][0], -1)
						}
					}
				}
				f.useRef(r, -1)
			}
		}
	}
}
