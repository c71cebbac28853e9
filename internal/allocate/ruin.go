package allocate

import "slices"

// neighbours lists, for each design, the designs that want some of the same
// items, itself first.
func (s *search) neighbours() {
	m := s.m
	n := len(m.designs)
	shared := make([]int32, n*n)
	var wants []int32
	for i := range m.cap {
		wants = wants[:0]
		for _, e := range m.itemEnt.of(int32(i)) {
			wants = append(wants, m.pos[m.groups[m.entGroup[e]].pos].design)
		}
		for _, e := range m.itemEdge.of(int32(i)) {
			wants = append(wants, m.pos[m.edgePos[e]].design)
		}
		slices.Sort(wants)
		wants = slices.Compact(wants)
		for _, a := range wants {
			for _, b := range wants {
				shared[int(a)*n+int(b)]++
			}
		}
	}
	s.near = make([][]int32, n)
	for d := range n {
		s.near[d] = append(s.near[d], int32(d))
		for e := range n {
			if e != d && shared[d*n+e] > 0 {
				s.near[d] = append(s.near[d], int32(e))
			}
		}
	}
}

// ruin drops a few pieces of designs that compete for the same stones and
// makes others from what that frees, every third time of other designs only; it
// keeps what is not worse than the plan
// by more than give.
func (s *search) ruin(give int64) bool {
	m := s.m
	before, mark := s.value, len(s.log)
	near := s.near[s.rng.IntN(len(s.near))]
	dropped := 0
	var gone []int32
	for range 1 + s.rng.IntN(3) {
		d := near[0]
		if s.y[d] == 0 || dropped > 0 {
			d = near[s.rng.IntN(len(near))]
		}
		for range 1 + s.rng.IntN(3) {
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
	var list []int32
	if len(near) <= 8 {
		list = append(list, near...)
	} else {
		list = append(list, near[0])
		for range 7 {
			if d := near[s.rng.IntN(len(near))]; !slices.Contains(list, d) {
				list = append(list, d)
			}
		}
	}
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
	if s.value >= before-give && !s.c.stopped {
		s.log = s.log[:0]
		return true
	}
	s.undo(mark)
	return false
}
