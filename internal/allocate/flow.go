package allocate

import "math"

// flow is a plan whose entries are the cheapest for its numbers of pieces,
// edges and references: given those, the entries are a transport, and every
// change of a number is followed by a shortest path that keeps it cheapest
// (successive shortest paths; Ahuja, Magnanti and Orlin, Network Flows, 1993,
// chapter 9).
//
// The nodes of its graph are the groups in use and the outside. An arc from
// group a to group b moves a stone of a to b; from the outside a free stone
// comes in, or a piece of a design with only this stone is given up; to the
// outside a stone is freed, or one more such piece is made.
type flow struct {
	plan
	c *clock

	rank   []int32   // of an entry in its group's byCost
	used   [][]int32 // entries of a group in use
	slot   []int32   // of an entry in used
	home   []int32   // an entry in which the item is used, or -1
	active []bool    // groups that are nodes
	first  []int32   // place in byCost before which no entry of the group is free
	lone   []int32   // design of which this group is the only stone and which costs nothing fixed, or -1
	fixed  bool      // the numbers of pieces must not change

	arcs  [][]arc // from each group
	back  [][]arc // to each group, see reverse
	worst []int32 // dearest used entry of each group, -1 when it has none
	dirty []bool

	in, out     []int64 // cost of one more stone in a group; of one stone less
	inBy, outBy []step
	inOK, outOK bool
	costOf      []int64 // of an item in use: what taking it away costs
	costAge     []int32
	age         int32

	log  []change
	path []step // scratch: the steps of one path

	queue  []int32 // scratch of relax
	queued []bool
	mark   []int32
	best   []arc
	turn   int32
}

type arc struct {
	cost     int64
	to       int32
	from, in int32 // entries: the use that ends and the use that begins
}

// step is how the shortest path reaches a group (in), or leaves it (out).
type step struct {
	kind  stepKind
	group int32 // stepArc: the group before (in) or after (out)
	arc   arc   // stepArc
	entry int32 // stepStone
}

type stepKind int8

const (
	stepNone stepKind = iota
	stepArc
	stepStone // a free stone comes in, a used one is freed
	stepPiece // a piece is given up, one more is made
)

type change struct {
	kind  changeKind
	at    int32
	delta int32
}

type changeKind int8

const (
	changeEntry changeKind = iota
	changeEdge
	changeRef
	changePieces
)

const never = math.MaxInt64 / 4

func newFlow(p *plan, c *clock) *flow {
	m := p.m
	groups := len(m.groups)
	f := &flow{
		plan: *p.clone(), c: c,
		rank: make([]int32, len(m.entItem)), used: make([][]int32, groups), slot: make([]int32, len(m.entItem)),
		home: make([]int32, len(m.cap)), active: make([]bool, groups), first: make([]int32, groups),
		lone: make([]int32, groups),
		arcs: make([][]arc, groups), back: make([][]arc, groups), queued: make([]bool, groups), worst: make([]int32,
			groups), dirty: make([]bool, groups),
		in: make([]int64, groups), out: make([]int64, groups), inBy: make([]step, groups), outBy: make([]step, groups),
		costOf: make([]int64, len(m.cap)), costAge: make([]int32, len(m.cap)),
		mark: make([]int32, groups), best: make([]arc, groups),
	}
	for at, e := range m.byCost {
		f.rank[e] = int32(at)
	}
	for i := range f.home {
		f.home[i] = -1
	}
	for g, row := range m.groups {
		f.first[g] = row.ent
		f.dirty[g] = true
		f.lone[g] = -1
		if row.ref < 0 {
			f.active[g] = true
			pos := &m.pos[row.pos]
			if ds := &m.designs[pos.design]; ds.end-ds.pos == 1 && pos.count == 1 && ds.fixed == 0 {
				f.lone[g] = pos.design
			}
		} else {
			f.active[g] = p.u[row.ref] > 0
		}
		for e := row.ent; e < row.end; e++ {
			if p.x[e] > 0 {
				f.begin(e)
			}
		}
	}
	return f
}

// begin and end keep the lists of entries in use.
func (f *flow) begin(e int32) {
	g := f.m.entGroup[e]
	f.slot[e] = int32(len(f.used[g]))
	f.used[g] = append(f.used[g], e)
	f.home[f.m.entItem[e]] = e
}

func (f *flow) end(e int32) {
	g := f.m.entGroup[e]
	last := f.used[g][len(f.used[g])-1]
	f.used[g][f.slot[e]] = last
	f.slot[last] = f.slot[e]
	f.used[g] = f.used[g][:len(f.used[g])-1]
	i := f.m.entItem[e]
	if f.home[i] == e {
		f.home[i] = -1
		if f.m.cap[i] > 1 {
			for _, other := range f.m.itemEnt.of(i) {
				if f.x[other] > 0 {
					f.home[i] = other
					break
				}
			}
		}
	}
}

func (f *flow) useEntry(e, delta int32) {
	m := f.m
	was := f.x[e]
	f.x[e] += delta
	f.value -= int64(delta) * m.entCost[e]
	switch {
	case was == 0:
		f.begin(e)
	case f.x[e] == 0:
		f.end(e)
	}
	f.dirty[m.entGroup[e]] = true
	f.release(m.entItem[e], -delta)
	f.log = append(f.log, change{changeEntry, e, delta})
}

func (f *flow) useEdge(n, delta int32) {
	f.z[n] += delta
	f.value -= int64(delta) * f.m.edgeCost[n]
	f.release(f.m.edgeA[n], -delta)
	f.release(f.m.edgeB[n], -delta)
	f.log = append(f.log, change{changeEdge, n, delta})
}

func (f *flow) useRef(r, delta int32) {
	was := f.u[r]
	f.u[r] += delta
	if was == 0 || f.u[r] == 0 {
		f.activate(r, was == 0)
	}
	f.stale()
	f.log = append(f.log, change{changeRef, r, delta})
}

func (f *flow) makePieces(d, delta int32) {
	row := &f.m.designs[d]
	was := f.y[d]
	f.y[d] += delta
	f.value += int64(delta) * row.value
	switch {
	case was == 0 && f.y[d] > 0:
		f.value -= row.fixed
	case was > 0 && f.y[d] == 0:
		f.value += row.fixed
	}
	f.stale()
	f.log = append(f.log, change{changePieces, d, delta})
}

// activate makes the slots of a reference nodes, or no longer.
func (f *flow) activate(r int32, on bool) {
	for g := f.m.refs[r].group; g < f.m.refs[r].groupE; g++ {
		f.active[g] = on
		f.dirty[g] = true
		for e := f.m.groups[g].ent; e < f.m.groups[g].end; e++ {
			f.touch(f.m.entItem[e])
		}
	}
}

// touch marks every group in which an item is used: its arcs must be rebuilt.
func (f *flow) touch(i int32) {
	h := f.home[i]
	if h < 0 {
		return
	}
	f.dirty[f.m.entGroup[h]] = true
	if f.m.cap[i] > 1 {
		for _, e := range f.m.itemEnt.of(i) {
			if f.x[e] > 0 {
				f.dirty[f.m.entGroup[e]] = true
			}
		}
	}
}

// release changes how many of an item are free.
func (f *flow) release(i, delta int32) {
	f.free[i] += delta
	if delta > 0 {
		for _, e := range f.m.itemEnt.of(i) {
			g := f.m.entGroup[e]
			f.first[g] = min(f.first[g], f.rank[e])
		}
	}
	f.stale()
}

func (f *flow) stale() { f.inOK, f.outOK = false, false }

// undo takes back every change since the log was so long.
func (f *flow) undo(to int) {
	for len(f.log) > to {
		last := f.log[len(f.log)-1]
		switch last.kind {
		case changeEntry:
			f.useEntry(last.at, -last.delta)
		case changeEdge:
			f.useEdge(last.at, -last.delta)
		case changeRef:
			f.useRef(last.at, -last.delta)
		case changePieces:
			f.makePieces(last.at, -last.delta)
		}
		f.log = f.log[:len(f.log)-2]
	}
}

// firstFree is the cheapest entry of a group whose item is free, or -1.
func (f *flow) firstFree(g int32) int32 {
	end := f.m.groups[g].end
	for f.first[g] < end {
		e := f.m.byCost[f.first[g]]
		if f.free[f.m.entItem[e]] > 0 {
			return e
		}
		f.first[g]++
	}
	return -1
}
