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
				out = append(out, Fill{Reference: -1, Items: []int{int(m.itemOf[m.edgeA[f]]), int(m.itemOf[m.edgeB[f]])}})
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
