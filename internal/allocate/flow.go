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
	lone   []int32   // design of which this group is the only stone, or -1
	fixed  bool      // the numbers of pieces must not change

	arcs  [][]arc // from each group
	worst []int32 // dearest used entry of each group, -1 when it has none
	dirty []bool

	in, out     []int64 // cost of one more stone in a group; of one stone less
	inBy, outBy []step
	inOK, outOK bool
	costOf      []int64 // of an item in use: what taking it away costs
	costAge     []int32
	age         int32

	log  []change
	mark []int32
	best []arc
	turn int32
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
		home: make([]int32, len(m.cap)), active: make([]bool, groups), first: make([]int32, groups), lone: make([]int32, groups),
		arcs: make([][]arc, groups), worst: make([]int32, groups), dirty: make([]bool, groups),
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
			if ds := &m.designs[pos.design]; ds.end-ds.pos == 1 && pos.count == 1 {
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
	f.y[d] += delta
	f.value += int64(delta) * f.m.designs[d].value
	f.stale()
	f.log = append(f.log, change{changePieces, d, delta})
}

// activate makes the slots of a reference nodes, or no longer.
func (f *flow) activate(r int32, on bool) {
	for g := f.m.refs[r].group; g < f.m.refs[r].groupE; g++ {
		f.active[g] = on
		f.dirty[g] = true
		for e := f.m.groups[g].ent; e < f.m.groups[g].end; e++ {
			if h := f.home[f.m.entItem[e]]; h >= 0 {
				f.dirty[f.m.entGroup[h]] = true
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

// refresh rebuilds the arcs from the groups whose stones changed.
func (f *flow) refresh() {
	m := f.m
	for g := range f.arcs {
		if !f.dirty[g] {
			continue
		}
		f.dirty[g] = false
		f.turn++
		row := f.arcs[g][:0]
		f.worst[g] = -1
		work := 8
		for _, e := range f.used[g] {
			if w := f.worst[g]; w < 0 || m.entCost[e] > m.entCost[w] || m.entCost[e] == m.entCost[w] && e < w {
				f.worst[g] = e
			}
			list := m.itemEnt.of(m.entItem[e])
			work += len(list)
			for _, in := range list {
				b := m.entGroup[in]
				if !f.active[b] || b == int32(g) {
					continue
				}
				cost := m.entCost[in] - m.entCost[e]
				switch best := &f.best[b]; {
				case f.mark[b] != f.turn:
					f.mark[b] = f.turn
					*best = arc{cost, b, e, in}
					row = append(row, arc{to: b})
				case cost < best.cost || cost == best.cost && e < best.from:
					*best = arc{cost, b, e, in}
				}
			}
		}
		for n := range row {
			row[n] = f.best[row[n].to]
		}
		f.arcs[g] = row
		f.c.spend(work)
	}
}

// enter finds the cheapest way of one more stone into every group.
func (f *flow) enter() {
	if f.inOK {
		return
	}
	f.refresh()
	f.age++
	for g := range f.in {
		f.in[g], f.inBy[g] = never, step{}
		if !f.active[g] {
			continue
		}
		if e := f.firstFree(int32(g)); e >= 0 {
			f.in[g], f.inBy[g] = f.m.entCost[e], step{kind: stepStone, entry: e}
		}
		if d := f.lone[g]; d >= 0 && !f.fixed && f.y[d] > 0 && f.m.designs[d].value < f.in[g] {
			f.in[g], f.inBy[g] = f.m.designs[d].value, step{kind: stepPiece}
		}
	}
	for changed, passes := true, 0; changed && passes <= len(f.in); passes++ {
		changed = false
		work := len(f.arcs)
		for a, row := range f.arcs {
			from := f.in[a]
			if from >= never {
				continue
			}
			work += len(row)
			for n := range row {
				if c := from + row[n].cost; c < f.in[row[n].to] {
					f.in[row[n].to], f.inBy[row[n].to] = c, step{kind: stepArc, group: int32(a), arc: row[n]}
					changed = true
				}
			}
		}
		f.c.spend(work)
	}
	f.inOK = true
}

// leave finds the cheapest way of one stone out of every group in use.
func (f *flow) leave() {
	if f.outOK {
		return
	}
	f.refresh()
	for g := range f.out {
		f.out[g], f.outBy[g] = never, step{}
		if !f.active[g] {
			continue
		}
		if e := f.worst[g]; e >= 0 {
			f.out[g], f.outBy[g] = -f.m.entCost[e], step{kind: stepStone, entry: e}
		}
		if d := f.lone[g]; d >= 0 && !f.fixed && f.y[d] < f.m.designs[d].most && -f.m.designs[d].value < f.out[g] {
			f.out[g], f.outBy[g] = -f.m.designs[d].value, step{kind: stepPiece}
		}
	}
	for changed, passes := true, 0; changed && passes <= len(f.out); passes++ {
		changed = false
		work := len(f.arcs)
		for a, row := range f.arcs {
			work += len(row)
			for n := range row {
				if f.out[row[n].to] >= never {
					continue
				}
				if c := f.out[row[n].to] + row[n].cost; c < f.out[a] {
					f.out[a], f.outBy[a] = c, step{kind: stepArc, group: row[n].to, arc: row[n]}
					changed = true
				}
			}
		}
		f.c.spend(work)
	}
	f.outOK = true
}

// addStone brings one more stone into group g by the cheapest way.
func (f *flow) addStone(g int32) bool {
	f.enter()
	if f.in[g] >= never {
		return false
	}
	var path []step
	var groups []int32
	for at := g; ; {
		s := f.inBy[at]
		path, groups = append(path, s), append(groups, at)
		if s.kind != stepArc {
			break
		}
		if at = s.group; len(path) > len(f.in) {
			return false
		}
	}
	for n, s := range path {
		switch s.kind {
		case stepArc:
			f.moveStone(s.arc)
		case stepStone:
			f.useEntry(s.entry, 1)
		case stepPiece:
			f.makePieces(f.lone[groups[n]], -1)
		}
	}
	return true
}

// addSlots brings the stones of one more fill of reference r in.
func (f *flow) addSlots(r int32) bool {
	for g := f.m.refs[r].group; g < f.m.refs[r].groupE; g++ {
		for range f.m.groups[g].need {
			if !f.addStone(g) {
				return false
			}
		}
	}
	return true
}

// dropStone takes one stone out of group g by the cheapest way.
func (f *flow) dropStone(g int32) bool {
	f.leave()
	if f.out[g] >= never {
		return false
	}
	for at, n := g, 0; n <= len(f.out); n++ {
		s := f.outBy[at]
		switch s.kind {
		case stepArc:
			f.moveStone(s.arc)
			at = s.group
			continue
		case stepStone:
			f.useEntry(s.entry, -1)
		case stepPiece:
			f.makePieces(f.lone[at], 1)
		}
		return true
	}
	return false
}

func (f *flow) moveStone(a arc) {
	f.useEntry(a.from, -1)
	f.useEntry(a.in, 1)
}

// settle uses a free stone of item i where it saves money, if anywhere.
func (f *flow) settle(i int32) {
	if f.free[i] == 0 {
		return
	}
	f.leave()
	best, at := int64(0), int32(-1)
	for _, e := range f.m.itemEnt.of(i) {
		g := f.m.entGroup[e]
		if !f.active[g] || f.out[g] >= never {
			continue
		}
		if c := f.m.entCost[e] + f.out[g]; c < best {
			best, at = c, e
		}
	}
	if at < 0 {
		return
	}
	// The path was found before the stone came in, and stays the cheapest.
	g := f.m.entGroup[at]
	if f.dropStone(g) {
		f.useEntry(at, 1)
	}
}

// takeCost is what taking a stone of item i away costs: nothing when it is
// free, never when it sits in pairs.
func (f *flow) takeCost(i int32) int64 {
	if f.free[i] > 0 {
		return 0
	}
	h := f.home[i]
	if h < 0 {
		return never
	}
	if f.costAge[i] == f.age {
		return f.costOf[i]
	}
	g := f.m.entGroup[h]
	cost := int64(never)
	if f.in[g] < never {
		cost = max(0, f.in[g]-f.m.entCost[h])
	}
	f.costAge[i], f.costOf[i] = f.age, cost
	return cost
}

// cancel makes the entries the cheapest for the numbers, from any start, by
// cancelling negative cycles.
func (f *flow) cancel() {
	m := f.m
	groups := len(f.arcs)
	outside := int32(groups)
	dist := make([]int64, groups+1)
	by := make([]step, groups+1)
	for !f.c.stop() {
		f.refresh()
		clear(dist)
		clear(by)
		found := false
		for pass := 0; !found; pass++ {
			changed := false
			relax := func(to int32, cost int64, s step) {
				if cost < dist[to] {
					dist[to], by[to], changed = cost, s, true
				}
			}
			work := groups
			for g := range groups {
				if !f.active[g] {
					continue
				}
				if e := f.firstFree(int32(g)); e >= 0 {
					relax(int32(g), dist[outside]+m.entCost[e], step{kind: stepStone, group: outside, entry: e})
				}
				d := f.lone[g]
				if d >= 0 && f.y[d] > 0 {
					relax(int32(g), dist[outside]+m.designs[d].value, step{kind: stepPiece, group: outside, entry: d})
				}
				if e := f.worst[g]; e >= 0 {
					relax(outside, dist[g]-m.entCost[e], step{kind: stepStone, group: int32(g), entry: e})
				}
				if d >= 0 && f.y[d] < m.designs[d].most {
					relax(outside, dist[g]-m.designs[d].value, step{kind: stepPiece, group: int32(g), entry: d})
				}
				work += len(f.arcs[g])
				for n := range f.arcs[g] {
					a := &f.arcs[g][n]
					relax(a.to, dist[g]+a.cost, step{kind: stepArc, group: int32(g), arc: *a})
				}
			}
			f.c.spend(2 * work)
			if !changed {
				return
			}
			found = f.cancelCycles(by, outside)
		}
	}
}

// cancelCycles applies every cycle of the predecessors; they share no group.
func (f *flow) cancelCycles(by []step, outside int32) bool {
	seen := make([]int32, len(by))
	found := false
	for start := range by {
		at := int32(start)
		for seen[at] == 0 && by[at].kind != stepNone {
			seen[at] = int32(start) + 1
			at = by[at].group
		}
		if by[at].kind == stepNone || seen[at] != int32(start)+1 {
			continue
		}
		found = true
		for on := at; ; {
			s := by[on]
			switch {
			case s.kind == stepArc:
				f.moveStone(s.arc)
			case s.kind == stepStone && on == outside:
				f.useEntry(s.entry, -1)
			case s.kind == stepStone:
				f.useEntry(s.entry, 1)
			case on == outside:
				f.makePieces(s.entry, 1)
			default:
				f.makePieces(s.entry, -1)
			}
			if on = s.group; on == at {
				break
			}
		}
	}
	return found
}
