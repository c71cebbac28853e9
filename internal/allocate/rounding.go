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
	for r := range s.ref {
		k := m.refs[r].pos
		for n := down(s.ref[r]); n > 0 && wanted(k); n-- {
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
