package allocate

import (
	"math/rand/v2"
	"slices"
)

// search improves a flow by changing its numbers of pieces, edges and
// references. Every move is made, looked at, and kept or undone.
type search struct {
	*flow
	rng   *rand.Rand
	moves int
	sums  []int64 // scratch: costs of a slot's candidates
	near  []int32 // scratch: the designs of a ruin
}

func newSearch(p *plan, c *clock, rng *rand.Rand) *search {
	return &search{flow: newFlow(p, c), rng: rng}
}

// addPiece makes one more piece of design d; false when it cannot (the caller
// undoes).
func (s *search) addPiece(d int32) bool {
	row := &s.m.designs[d]
	if s.y[d] >= row.most {
		return false
	}
	s.makePieces(d, 1)
	for k := row.pos; k < row.end; k++ {
		if !s.addFill(k) {
			return false
		}
	}
	return true
}

func (s *search) addFill(k int32) bool {
	row := &s.m.pos[k]
	switch row.kind {
	case Single:
		for range row.count {
			if !s.addStone(row.group) {
				return false
			}
		}
		return true
	case Pair:
		s.enter()
		e, _ := s.cheapestEdge(k)
		return e >= 0 && s.addEdge(e)
	}
	s.enter()
	r, _ := s.cheapestRef(k)
	return r >= 0 && s.addRef(r)
}

// addEdge pairs two stones, refilling the places they are taken from.
func (s *search) addEdge(e int32) bool {
	var empty [2]int32
	n := 0
	a, b := s.m.edgeA[e], s.m.edgeB[e]
	for end, i := range [2]int32{a, b} {
		need := int32(1)
		if a == b {
			need = int32(end + 1)
		}
		if s.free[i] >= need {
			continue
		}
		h := s.home[i]
		if h < 0 {
			return false
		}
		empty[n] = s.m.entGroup[h]
		n++
		s.useEntry(h, -1)
	}
	s.useEdge(e, 1)
	for _, g := range empty[:n] {
		if !s.addStone(g) {
			return false
		}
	}
	return true
}

func (s *search) addRef(r int32) bool {
	s.useRef(r, 1)
	return s.addSlots(r)
}

// dropPiece makes one piece of design d less.
func (s *search) dropPiece(d int32) bool {
	row := &s.m.designs[d]
	if s.y[d] == 0 {
		return false
	}
	for k := row.pos; k < row.end; k++ {
		if !s.dropFill(k) {
			return false
		}
	}
	s.makePieces(d, -1)
	return true
}

func (s *search) dropFill(k int32) bool {
	m, row := s.m, &s.m.pos[k]
	switch row.kind {
	case Single:
		for range row.count {
			if !s.dropStone(row.group) {
				return false
			}
		}
		return true
	case Pair:
		if e := s.pickEdge(k); e >= 0 {
			s.dropEdge(e)
			return true
		}
		return false
	}
	r := s.pickRef(k)
	if r < 0 {
		return false
	}
	for g := m.refs[r].group; g < m.refs[r].groupE; g++ {
		for range m.groups[g].need {
			if !s.dropStone(g) {
				return false
			}
		}
	}
	s.useRef(r, -1)
	return true
}

func (s *search) dropEdge(e int32) {
	s.useEdge(e, -1)
	s.settle(s.m.edgeA[e])
	s.settle(s.m.edgeB[e])
}

// pickEdge is a used edge of position k: at random, or the dearest of three.
func (s *search) pickEdge(k int32) int32 {
	row := &s.m.pos[k]
	best := int32(-1)
	span := row.edgeE - row.edge
	tries := 0
	for n, at := int32(0), s.rng.Int32N(max(1, span)); n < span && tries < 3; n++ {
		e := row.edge + (at+n)%span
		if s.z[e] > 0 {
			if best < 0 || s.m.edgeCost[e] > s.m.edgeCost[best] {
				best = e
			}
			at = s.rng.Int32N(span)
			tries++
		}
	}
	return best
}

func (s *search) pickRef(k int32) int32 {
	row := &s.m.pos[k]
	span := row.refE - row.ref
	for n, at := int32(0), s.rng.Int32N(max(1, span)); n < span; n++ {
		if r := row.ref + (at+n)%span; s.u[r] > 0 {
			return r
		}
	}
	return -1
}

// cheapestEdge is the edge of position k that costs least, with what taking
// its stones away costs elsewhere; enter must be current.
func (s *search) cheapestEdge(k int32) (edge int32, cost int64) {
	m, row := s.m, &s.m.pos[k]
	edge, cost = -1, never
	n := row.edge
	for ; n < row.edgeE; n++ {
		e := m.edgeByCost[n]
		if m.edgeCost[e] >= cost {
			break
		}
		a, b := m.edgeA[e], m.edgeB[e]
		if a == b && s.free[a] < 2 {
			continue
		}
		if c := m.edgeCost[e] + s.takeCost(a) + s.takeCost(b); c < cost {
			edge, cost = e, c
		}
	}
	s.c.spend(int(n - row.edge))
	return edge, cost
}

// cheapestRef is the reference of position k whose next fill costs least, in
// the same way.
func (s *search) cheapestRef(k int32) (ref int32, cost int64) {
	row := &s.m.pos[k]
	ref, cost = -1, never
	for r := row.ref; r < row.refE; r++ {
		if c := s.refCost(r, cost); c < cost {
			ref, cost = r, c
		}
	}
	return ref, cost
}

func (s *search) refCost(r int32, limit int64) int64 {
	m, row := s.m, &s.m.refs[r]
	if row.most == 0 || s.u[r] >= row.most {
		return never
	}
	total := int64(0)
	for g := row.group; g < row.groupE && total < limit; g++ {
		total += s.slotCost(g, int(m.groups[g].need), limit)
	}
	return total
}

// slotCost is the sum of the need cheapest stones of a group, taking costs
// included.
func (s *search) slotCost(g int32, need int, limit int64) int64 {
	m, row := s.m, &s.m.groups[g]
	s.sums = s.sums[:0]
	n := row.ent
	for ; n < row.end; n++ {
		e := m.byCost[n]
		if len(s.sums) == need && m.entCost[e] >= s.sums[need-1] {
			break
		}
		i := m.entItem[e]
		c := m.entCost[e] + s.takeCost(i)
		if c >= never {
			continue
		}
		for copies := max(1, s.free[i]); copies > 0; copies-- {
			if len(s.sums) == need {
				if c >= s.sums[need-1] {
					break
				}
				s.sums = s.sums[:need-1]
			}
			at, _ := slices.BinarySearch(s.sums, c)
			s.sums = slices.Insert(s.sums, at, c)
		}
	}
	s.c.spend(int(n - row.ent))
	if len(s.sums) < need {
		return limit + never/1024
	}
	total := int64(0)
	for _, c := range s.sums {
		total += c
	}
	return total
}

// gainOf estimates what one more piece of design d would add; when there is
// none yet and making any costs something, what all pieces would add at most.
func (s *search) gainOf(d int32) int64 {
	gain, row := s.marginal(d), &s.m.designs[d]
	if s.y[d] == 0 && row.fixed > 0 && gain > 0 {
		return gain*int64(row.most) - row.fixed
	}
	return gain
}

// marginal estimates what one more piece of design d would add, apart from the
// fixed cost.
func (s *search) marginal(d int32) int64 {
	m, row := s.m, &s.m.designs[d]
	if s.y[d] >= row.most {
		return -never
	}
	s.enter()
	gain := row.value
	for k := row.pos; k < row.end && gain > 0; k++ {
		switch pos := &m.pos[k]; pos.kind {
		case Single:
			if s.in[pos.group] >= never {
				return -never
			}
			gain -= s.in[pos.group] * int64(pos.count)
		case Pair:
			_, c := s.cheapestEdge(k)
			gain -= c
		case Suite:
			_, c := s.cheapestRef(k)
			gain -= c
		}
	}
	return gain
}

// tryAdd keeps one more piece of design d if it earns money.
func (s *search) tryAdd(d int32) bool {
	if s.y[d] == 0 && s.m.designs[d].fixed > 0 {
		return s.try(d, s.open)
	}
	return s.try(d, s.addPiece)
}

// open makes pieces of a design as long as each earns more than its stones.
func (s *search) open(d int32) bool {
	for {
		mark, before := len(s.log), s.value
		if s.y[d] == 0 {
			before -= s.m.designs[d].fixed
		}
		if s.marginal(d) <= 0 || !s.addPiece(d) || s.value <= before {
			s.undo(mark)
			return s.y[d] > 0
		}
	}
}

// close makes no piece of a design.
func (s *search) close(d int32) bool {
	for s.y[d] > 0 {
		if !s.dropPiece(d) {
			return false
		}
	}
	return true
}

// tryDrop keeps one piece of design d less if that earns money.
func (s *search) tryDrop(d int32) bool {
	gain, fixed := s.dropGain(d), s.m.designs[d].fixed
	if gain <= -never {
		return false
	}
	if s.y[d] > 1 && fixed > 0 && int64(s.y[d])*gain+fixed > 0 && s.try(d, s.close) {
		return true
	}
	if s.y[d] == 1 {
		gain += fixed
	}
	return gain > 0 && s.try(d, s.dropPiece)
}

// dropGain is at least what one piece of design d less would earn, apart from
// the fixed cost. What stones
// and places earn together is no more than the sum of what each earns alone:
// they stand in for each other (Gale and Politof, Substitutes and complements
// in network flow problems, 1981).
func (s *search) dropGain(d int32) int64 {
	m, row := s.m, &s.m.designs[d]
	s.leave()
	gain := -row.value
	for k := row.pos; k < row.end; k++ {
		pos := &m.pos[k]
		best := int64(-never)
		switch pos.kind {
		case Single:
			best = -s.out[pos.group] * int64(pos.count)
		case Pair:
			for e := pos.edge; e < pos.edgeE; e++ {
				if s.z[e] > 0 {
					best = max(best, m.edgeCost[e]+s.freeGain(m.edgeA[e])+s.freeGain(m.edgeB[e]))
				}
			}
			s.c.spend(int(pos.edgeE - pos.edge))
		case Suite:
			for r := pos.ref; r < pos.refE; r++ {
				if s.u[r] == 0 {
					continue
				}
				gain := int64(0)
				for g := m.refs[r].group; g < m.refs[r].groupE; g++ {
					gain -= s.out[g] * int64(m.groups[g].need)
				}
				best = max(best, gain)
			}
		}
		if best <= -never {
			return best
		}
		gain += best
	}
	return gain
}

// freeGain is what one more free stone of an item would earn in the entries.
func (s *search) freeGain(i int32) int64 {
	best := int64(0)
	list := s.m.itemEnt.of(i)
	for _, e := range list {
		if g := s.m.entGroup[e]; s.active[g] && s.out[g] < never {
			best = max(best, -s.out[g]-s.m.entCost[e])
		}
	}
	s.c.spend(len(list))
	return best
}

// try makes a move on design d and takes it back unless it earns money.
func (s *search) try(d int32, move func(int32) bool) bool {
	before, mark := s.value, len(s.log)
	if move(d) && s.value > before {
		s.moves++
		return true
	}
	s.undo(mark)
	return false
}

// swapEdges replaces used edges of position k by cheaper ones, one at a time.
func (s *search) swapEdges(k int32) {
	m, row := s.m, &s.m.pos[k]
	for n := row.edgeE - 1; n >= row.edge && !s.c.stop(); n-- {
		e := m.edgeByCost[n]
		if s.z[e] == 0 {
			continue
		}
		s.enter()
		if !s.cheaperEdge(k, e) {
			continue
		}
		before, mark := s.value, len(s.log)
		s.dropEdge(e)
		s.enter()
		if f, _ := s.cheapestEdge(k); f >= 0 && f != e && s.addEdge(f) && s.value > before {
			s.moves++
			continue
		}
		s.undo(mark)
	}
}

// cheaperEdge reports whether position k has an edge that costs less than e,
// were the stones of e free.
func (s *search) cheaperEdge(k, e int32) bool {
	m, row := s.m, &s.m.pos[k]
	a, b := m.edgeA[e], m.edgeB[e]
	take := func(i int32) int64 {
		if i == a || i == b {
			return 0
		}
		return s.takeCost(i)
	}
	limit := m.edgeCost[e]
	n := row.edge
	found := false
	for ; n < row.edgeE && !found; n++ {
		f := m.edgeByCost[n]
		if m.edgeCost[f] >= limit {
			break
		}
		found = m.edgeCost[f]+take(m.edgeA[f])+take(m.edgeB[f]) < limit
	}
	s.c.spend(int(n - row.edge))
	return found
}

// climb makes every improving move of the simple kinds until none is left, or
// for so many rounds.
func (s *search) climb(rounds int) {
	m := s.m
	for range rounds {
		before := s.value
		for d := range m.designs {
			for !s.c.stop() && s.gainOf(int32(d)) > 0 && s.tryAdd(int32(d)) {
			}
		}
		for k := range m.pos {
			s.swapEdges(int32(k))
		}
		for d := range m.designs {
			for !s.c.stop() && s.y[d] > 0 && s.tryDrop(int32(d)) {
			}
		}
		s.log = s.log[:0]
		if s.c.stop() || s.value <= before+before/20000 {
			return
		}
	}
}
