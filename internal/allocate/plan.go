package allocate

// plan is a feasible choice in the flat form: how often each entry, edge and
// reference is used. Stones of one position of a design are interchangeable
// between its pieces, so counts are enough.
type plan struct {
	m     *model
	x     []int32 // by entry
	z     []int32 // by edge
	u     []int32 // by reference
	y     []int32 // by design
	free  []int32 // by item, capacity left
	value int64
}

func newPlan(m *model) *plan {
	p := &plan{
		m: m,
		x: make([]int32, len(m.entItem)), z: make([]int32, len(m.edgeA)),
		u: make([]int32, len(m.refs)), y: make([]int32, len(m.designs)),
		free: make([]int32, len(m.cap)),
	}
	copy(p.free, m.cap)
	return p
}

func (p *plan) copyFrom(q *plan) {
	copy(p.x, q.x)
	copy(p.z, q.z)
	copy(p.u, q.u)
	copy(p.y, q.y)
	copy(p.free, q.free)
	p.value = q.value
}

func (p *plan) clone() *plan {
	q := newPlan(p.m)
	q.copyFrom(p)
	return q
}

// edgeFree reports whether both stones of an edge are free.
func (p *plan) edgeFree(f int32) bool {
	a, b := p.m.edgeA[f], p.m.edgeB[f]
	if a == b {
		return p.free[a] > 1
	}
	return p.free[a] > 0 && p.free[b] > 0
}

// sound recomputes the plan from the model: no item beyond its capacity, no
// number negative or beyond its limit, every position of a piece filled, the
// value what the numbers earn.
func (p *plan) sound() bool {
	m := p.m
	used := make([]int64, len(m.cap))
	stones := make([]int64, len(m.groups))
	value := int64(0)
	for e, n := range p.x {
		used[m.entItem[e]] += int64(n)
		stones[m.entGroup[e]] += int64(n)
		value -= int64(n) * m.entCost[e]
		if n < 0 {
			return false
		}
	}
	for f, n := range p.z {
		used[m.edgeA[f]] += int64(n)
		used[m.edgeB[f]] += int64(n)
		value -= int64(n) * m.edgeCost[f]
		if n < 0 {
			return false
		}
	}
	for i, n := range used {
		if n+int64(p.free[i]) != int64(m.cap[i]) || p.free[i] < 0 {
			return false
		}
	}
	for d, n := range p.y {
		row := &m.designs[d]
		value += int64(n) * row.value
		if n > 0 {
			value -= row.fixed
		}
		if n < 0 || n > row.most {
			return false
		}
		for k := row.pos; k < row.end; k++ {
			if !p.filled(&m.pos[k], int64(n), stones) {
				return false
			}
		}
	}
	return value == p.value
}

// filled reports whether a position is filled just so often.
func (p *plan) filled(pos *posRow, pieces int64, stones []int64) bool {
	switch pos.kind {
	case Single:
		return stones[pos.group] == pieces*int64(pos.count)
	case Pair:
		for _, n := range p.z[pos.edge:pos.edgeE] {
			pieces -= int64(n)
		}
		return pieces == 0
	}
	for r := pos.ref; r < pos.refE; r++ {
		if p.u[r] < 0 || p.u[r] > p.m.refs[r].most {
			return false
		}
		pieces -= int64(p.u[r])
		for g := p.m.refs[r].group; g < p.m.refs[r].groupE; g++ {
			if stones[g] != int64(p.u[r])*int64(p.m.groups[g].need) {
				return false
			}
		}
	}
	return pieces == 0
}

// pieces writes the counts out as pieces of the problem.
func (p *plan) pieces() []Piece {
	m := p.m
	byDesign := make([][]Piece, len(m.designs))
	for d := range m.designs {
		row := &m.designs[d]
		made := make([]Piece, p.y[d])
		for n := range made {
			made[n] = Piece{Design: row.orig, Fills: make([]Fill, row.end-row.pos)}
		}
		for k := row.pos; k < row.end; k++ {
			for n, fill := range p.fills(k) {
				made[n].Fills[m.pos[k].orig] = fill
			}
		}
		byDesign[row.orig] = made
	}
	var all []Piece
	for _, made := range byDesign {
		all = append(all, made...)
	}
	return all
}

// fills lists the fills of position k, one a piece.
func (p *plan) fills(k int32) []Fill {
	m, row := p.m, &p.m.pos[k]
	var out []Fill
	switch row.kind {
	case Single:
		stones := p.stones(row.group)
		for n := int32(0); n < p.y[row.design]; n++ {
			out = append(out, Fill{Reference: -1, Items: stones[n*row.count : (n+1)*row.count : (n+1)*row.count]})
		}
	case Pair:
		for f := row.edge; f < row.edgeE; f++ {
			for range p.z[f] {
				out = append(out, Fill{Reference: -1, Items: []int{int(m.itemOf[m.edgeA[f]]),
					int(m.itemOf[m.edgeB[f]])}})
			}
		}
	case Suite:
		for r := row.ref; r < row.refE; r++ {
			ref := &m.refs[r]
			first := len(out)
			for range p.u[r] {
				out = append(out, Fill{Reference: ref.orig})
			}
			for g := ref.group; g < ref.groupE; g++ {
				stones, need := p.stones(g), m.groups[g].need
				for n := range out[first:] {
					fill := &out[first+n]
					fill.Items = append(fill.Items, stones[int32(n)*need:int32(n+1)*need]...)
				}
			}
		}
	}
	return out
}

// stones lists the items used in group g, each as often as it is used.
func (p *plan) stones(g int32) []int {
	var out []int
	for e := p.m.groups[g].ent; e < p.m.groups[g].end; e++ {
		for range p.x[e] {
			out = append(out, int(p.m.itemOf[p.m.entItem[e]]))
		}
	}
	return out
}
