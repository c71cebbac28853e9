package allocate

import "slices"

// closeMost is the most pieces of a design with a fixed cost that a ruin may
// drop all.
const closeMost = 12

// neighbours draws up to so many designs that want some of the items of a
// design, itself first: the more they share, the likelier.
func (s *search) neighbours(d int32, most int) []int32 {
	list := append(s.near[:0], d)
	for range 2 * most {
		if len(list) == most {
			break
		}
		if o := s.neighbour(d); o >= 0 && !slices.Contains(list, o) {
			list = append(list, o)
		}
	}
	s.near = list
	s.c.spend(8 * most)
	return list
}

// neighbour draws an item of a design, and then a design that wants it; -1 when
// the draw falls on a place without items.
func (s *search) neighbour(d int32) int32 {
	m, row := s.m, &s.m.designs[d]
	if row.pos == row.end {
		return -1
	}
	i := s.drawItem(row.pos + s.rng.Int32N(row.end-row.pos))
	if i < 0 {
		return -1
	}
	entries, edges := m.itemEnt.of(i), m.itemEdge.of(i)
	if n := s.rng.IntN(len(entries) + len(edges)); n < len(entries) {
		return m.pos[m.groups[m.entGroup[entries[n]]].pos].design
	} else {
		return m.pos[m.edgePos[edges[n-len(entries)]]].design
	}
}

// drawItem draws an item that position k may take, or -1.
func (s *search) drawItem(k int32) int32 {
	m, pos := s.m, &s.m.pos[k]
	g := pos.group
	switch pos.kind {
	case Pair:
		if pos.edge == pos.edgeE {
			return -1
		}
		return m.edgeA[pos.edge+s.rng.Int32N(pos.edgeE-pos.edge)]
	case Suite:
		if pos.ref == pos.refE {
			return -1
		}
		ref := &m.refs[pos.ref+s.rng.Int32N(pos.refE-pos.ref)]
		g = ref.group + s.rng.Int32N(ref.groupE-ref.group)
	}
	row := &m.groups[g]
	if row.ent == row.end {
		return -1
	}
	return m.entItem[row.ent+s.rng.Int32N(row.end-row.ent)]
}

// ruin drops a few pieces of designs that compete for the same stones and
// makes others from what that frees, every third time of other designs only; it
// keeps what is not worse.
func (s *search) ruin() bool {
	m := s.m
	before, mark := s.value, len(s.log)
	near := s.neighbours(s.rng.Int32N(int32(len(m.designs))), 8)
	dropped := 0
	var gone []int32
	for range 1 + s.rng.IntN(3) {
		d := near[0]
		if s.y[d] == 0 || dropped > 0 {
			d = near[s.rng.IntN(len(near))]
		}
		pieces := int32(1 + s.rng.IntN(3))
		if s.m.designs[d].fixed > 0 && s.y[d] <= closeMost && s.rng.IntN(2) == 0 {
			pieces = s.y[d]
		}
		for range pieces {
			if s.y[d] == 0 {
				break
			}
			if !s.dropPiece(d) {
				s.undo(mark)
				return false
			}
			dropped++
			gone = append(gone, d)
		}
	}
	list := near
	if s.rng.IntN(3) == 0 {
		list = slices.DeleteFunc(list, func(d int32) bool { return slices.Contains(gone, d) })
	}
	greedy := s.rng.IntN(2) == 0
	for len(list) > 0 && !s.c.stop() {
		pick, best := -1, int64(0)
		if greedy {
			for n, d := range list {
				if g := s.gainOf(d); g > best {
					pick, best = n, g
				}
			}
		} else {
			pick = s.rng.IntN(len(list))
			if s.gainOf(list[pick]) <= 0 {
				list = slices.Delete(list, pick, pick+1)
				continue
			}
		}
		if pick < 0 {
			break
		}
		if !s.tryAdd(list[pick]) || s.y[list[pick]] >= m.designs[list[pick]].most {
			list = slices.Delete(list, pick, pick+1)
		}
	}
	if s.value >= before && !s.c.stopped {
		s.log = s.log[:0]
		return true
	}
	s.undo(mark)
	return false
}
