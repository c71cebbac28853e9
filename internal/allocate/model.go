package allocate

import (
	"cmp"
	"slices"
)

// model is the problem in flat arrays, ordered by key, without what can never
// be used. A group is a place that takes stones one at a time by entries: a
// single position, or one slot of one reference.
type model struct {
	problem Problem

	itemOf  []int32 // model item -> problem item
	rank    []int32 // problem item -> model item
	cap     []int32 // of an item, at most what the positions can take
	designs []designRow
	pos     []posRow
	refs    []refRow
	groups  []groupRow

	// Entries, by group and within it by item.
	entItem, entGroup []int32
	entCost           []int64
	itemEnt           index   // item -> entries
	byCost            []int32 // entries of a group by cost, in the group's range

	// Edges, by position and within it by items.
	edgeA, edgeB, edgePos []int32
	edgeCost              []int64
	edgeMost              []int32 // U_f
	itemEdge              index   // item -> edges (once when both ends are the item)
	edgeByCost            []int32

	further bool  // some position has further edges
	fault   error // of one of those

	cuts     []cut  // found on the way, see cuts.go
	cutEntry []bool // entries that have a cut

	entries []Entry // room to sort a group and the edges of a position
	edges   []Edge  // while the model is made
}

type designRow struct {
	orig     int
	value    int64
	fixed    int64 // F_d
	most     int32 // Q_d
	pos, end int32 // its positions
}

type posRow struct {
	kind        Kind
	orig        int
	design      int32
	count       int32 // Single: stones a piece
	group       int32 // Single
	edge, edgeE int32 // Pair: range of edges
	ref, refE   int32 // Suite: range of references
	most        int32 // fills that its candidates allow, at most the quantity
}

type refRow struct {
	orig          int
	pos           int32
	group, groupE int32 // its slots in order
	most          int32 // U_r
	size          int32 // stones of one fill
}

type groupRow struct {
	pos, ref int32 // ref -1: a single position
	need     int32 // stones a piece or a fill
	ent, end int32 // its entries
}

// size is how many places the model has that stones come from and go to: about
// the rows of its linear program.
func (m *model) size() int { return len(m.cap) + len(m.groups) }

// each is what one of so many pieces earns when they share the fixed cost.
func (d *designRow) each(pieces int32) float64 {
	return float64(d.value) - float64(d.fixed)/float64(max(1, pieces))
}

// index lists, for every row, numbers in ascending order.
type index struct {
	start, list []int32
}

func (x index) of(i int32) []int32 { return x.list[x.start[i]:x.start[i+1]] }

// newIndex inverts key: row -> the positions of the keys. A second key (nil for
// none) adds the position to that row too, unless it is the same row.
func newIndex(rows int, key, second []int32) index {
	start := make([]int32, rows+1)
	each := func(visit func(row, k int32)) {
		for k, row := range key {
			visit(row, int32(k))
			if second != nil && second[k] != row {
				visit(second[k], int32(k))
			}
		}
	}
	each(func(row, _ int32) { start[row+1]++ })
	for i := range rows {
		start[i+1] += start[i]
	}
	list := make([]int32, start[rows])
	next := slices.Clone(start)
	each(func(row, k int32) { list[next[row]] = k; next[row]++ })
	return index{start, list}
}

// sortedBy returns 0..n-1 ordered by key.
func sortedBy(n int, key func(int) string) []int {
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(key(a), key(b)) })
	return order
}

func newModel(p Problem) *model {
	m := &model{problem: p}
	order := sortedBy(len(p.Items), func(i int) string { return p.Items[i].Key })
	m.rank = make([]int32, len(p.Items))
	for r, i := range order {
		m.rank[i] = int32(r)
		m.itemOf = append(m.itemOf, int32(i))
		m.cap = append(m.cap, int32(p.Items[i].Capacity))
	}
	m.reserve()
	for _, d := range sortedBy(len(p.Designs), func(d int) string { return p.Designs[d].Key }) {
		m.addDesign(d, m.rank)
	}
	m.finish()
	return m
}

// reserve makes room for all entries and edges at once.
func (m *model) reserve() {
	entries, edges := 0, 0
	for _, d := range m.problem.Designs {
		for _, pos := range d.Positions {
			entries, edges = entries+len(pos.Entries), edges+len(pos.Edges)
			for _, r := range pos.References {
				for _, s := range r.Slots {
					entries += len(s.Entries)
				}
			}
		}
	}
	m.entItem, m.entGroup, m.entCost = make([]int32, 0, entries), make([]int32, 0, entries), make([]int64, 0, entries)
	m.edgeA, m.edgeB, m.edgePos, m.edgeMost, m.edgeCost = make([]int32, 0, edges), make([]int32, 0, edges),
		make([]int32, 0, edges), make([]int32, 0, edges), make([]int64, 0, edges)
}

func (m *model) addDesign(orig int, rank []int32) {
	ds := m.problem.Designs[orig]
	d := int32(len(m.designs))
	row := designRow{orig: orig, value: ds.Value, fixed: ds.Fixed, most: int32(ds.Quantity), pos: int32(len(m.pos))}
	for _, k := range sortedBy(len(ds.Positions), func(k int) string { return ds.Positions[k].Key }) {
		pos := ds.Positions[k]
		at := int32(len(m.pos))
		pr := posRow{kind: pos.Kind, orig: k, design: d}
		switch pos.Kind {
		case Single:
			pr.count = int32(pos.PerPiece())
			pr.group = m.addGroup(at, -1, pr.count, pos.Entries, rank)
		case Pair:
			pr.edge, pr.edgeE = m.addEdges(at, pos.Edges, rank)
		case Suite:
			pr.ref = int32(len(m.refs))
			for _, r := range sortedBy(len(pos.References), func(r int) string { return pos.References[r].Key }) {
				m.addReference(at, r, pos.References[r], rank)
			}
			pr.refE = int32(len(m.refs))
		}
		m.pos = append(m.pos, pr)
	}
	row.end = int32(len(m.pos))
	m.designs = append(m.designs, row)
}

func (m *model) addReference(pos int32, orig int, ref Reference, rank []int32) {
	r := int32(len(m.refs))
	row := refRow{orig: orig, pos: pos, group: int32(len(m.groups))}
	for _, s := range ref.Slots {
		m.addGroup(pos, r, int32(s.Count), s.Entries, rank)
		row.size = min(row.size+int32(s.Count), maxCount)
	}
	row.groupE = int32(len(m.groups))
	m.refs = append(m.refs, row)
}

func (m *model) addGroup(pos, ref, need int32, entries []Entry, rank []int32) int32 {
	g := int32(len(m.groups))
	row := groupRow{pos: pos, ref: ref, need: need, ent: int32(len(m.entItem))}
	sorted := m.entries[:0]
	for _, e := range entries {
		if e.Item = int(rank[e.Item]); m.cap[e.Item] > 0 {
			sorted = append(sorted, e)
		}
	}
	slices.SortFunc(sorted, func(a, b Entry) int { return cmp.Compare(a.Item, b.Item) })
	for _, e := range sorted {
		m.entItem = append(m.entItem, int32(e.Item))
		m.entGroup = append(m.entGroup, g)
		m.entCost = append(m.entCost, e.Cost)
	}
	m.entries = sorted
	row.end = int32(len(m.entItem))
	m.groups = append(m.groups, row)
	return g
}

func (m *model) addEdges(pos int32, edges []Edge, rank []int32) (int32, int32) {
	from := int32(len(m.edgeA))
	sorted := m.edges[:0]
	for _, e := range edges {
		a, b := int(rank[e.I]), int(rank[e.J])
		e.I, e.J = min(a, b), max(a, b)
		if m.edgeCap(int32(e.I), int32(e.J)) > 0 {
			sorted = append(sorted, e)
		}
	}
	slices.SortFunc(sorted, func(a, b Edge) int {
		return cmp.Or(cmp.Compare(a.I, b.I), cmp.Compare(a.J, b.J))
	})
	for _, e := range sorted {
		m.edgeA = append(m.edgeA, int32(e.I))
		m.edgeB = append(m.edgeB, int32(e.J))
		m.edgePos = append(m.edgePos, pos)
		m.edgeCost = append(m.edgeCost, e.Cost)
		m.edgeMost = append(m.edgeMost, m.edgeCap(int32(e.I), int32(e.J)))
	}
	m.edges = sorted
	return from, int32(len(m.edgeA))
}

// edgeCap is how often two items can be paired.
func (m *model) edgeCap(a, b int32) int32 {
	if a == b {
		return m.cap[a] / 2
	}
	return min(m.cap[a], m.cap[b])
}

func (m *model) finish() {
	m.entries, m.edges = nil, nil
	m.itemEnt = newIndex(len(m.cap), m.entItem, nil)
	m.itemEdge = newIndex(len(m.cap), m.edgeA, m.edgeB)
	m.byCost = count(len(m.entItem))
	for _, g := range m.groups {
		sortByCost(m.byCost[g.ent:g.end], m.entCost)
	}
	m.edgeByCost = count(len(m.edgeA))
	for _, p := range m.pos {
		sortByCost(m.edgeByCost[p.edge:p.edgeE], m.edgeCost)
	}
	m.cutEntry = make([]bool, len(m.entItem))
	m.limitFills()
}

// count is 0, 1 ... n-1.
func count(n int) []int32 {
	list := make([]int32, n)
	for i := range list {
		list[i] = int32(i)
	}
	return list
}

// sortByCost sorts numbers by what they cost, the cheapest first.
func sortByCost(numbers []int32, cost []int64) {
	slices.SortFunc(numbers, func(a, b int32) int {
		return cmp.Or(cmp.Compare(cost[a], cost[b]), cmp.Compare(a, b))
	})
}

// limitFills sets U_r, the positions' most and Q_d: whole numbers no plan
// exceeds. They tighten the bound (see doc.go).
func (m *model) limitFills() {
	seen := make([]int32, len(m.cap))
	mark := int32(0)
	for r := range m.refs {
		ref := &m.refs[r]
		mark++
		union, most := int64(0), int64(maxCount)
		for g := ref.group; g < ref.groupE; g++ {
			stones := int64(0)
			for _, i := range m.entItem[m.groups[g].ent:m.groups[g].end] {
				stones += int64(m.cap[i])
				if seen[i] != mark {
					seen[i] = mark
					union += int64(m.cap[i])
				}
			}
			most = min(most, stones/int64(m.groups[g].need))
		}
		ref.most = int32(min(most, union/int64(ref.size)))
	}
	further := m.furtherItems()
	for d := range m.designs {
		ds := &m.designs[d]
		quantity := ds.most
		for p := ds.pos; p < ds.end; p++ {
			mark++
			m.pos[p].most = m.fillsOf(&m.pos[p], quantity, seen, mark, further[p])
			ds.most = min(ds.most, m.pos[p].most)
		}
		m.limitDesign(ds, ds.most)
	}
}

// limitDesign sets Q_d, and with it what its references and edges allow.
func (m *model) limitDesign(ds *designRow, most int32) {
	ds.most = most
	for p := ds.pos; p < ds.end; p++ {
		for r := m.pos[p].ref; r < m.pos[p].refE; r++ {
			m.refs[r].most = min(m.refs[r].most, most)
		}
		for f := m.pos[p].edge; f < m.pos[p].edgeE; f++ {
			m.edgeMost[f] = min(m.edgeMost[f], most)
		}
	}
}

func (m *model) fillsOf(p *posRow, quantity int32, seen []int32, mark int32, further []int32) int32 {
	distinct := int64(0)
	add := func(i int32) {
		if seen[i] != mark {
			seen[i] = mark
			distinct += int64(m.cap[i])
		}
	}
	fills := int64(0)
	switch p.kind {
	case Single:
		g := m.groups[p.group]
		for _, i := range m.entItem[g.ent:g.end] {
			add(i)
		}
		fills = distinct / int64(p.count)
	case Pair:
		for f := p.edge; f < p.edgeE; f++ {
			add(m.edgeA[f])
			add(m.edgeB[f])
		}
		for _, i := range further {
			add(i)
		}
		fills = distinct / 2
	case Suite:
		size := int64(maxCount)
		for r := p.ref; r < p.refE; r++ {
			ref := m.refs[r]
			if ref.most == 0 {
				continue
			}
			size = min(size, int64(ref.size))
			fills += int64(ref.most)
			for g := ref.group; g < ref.groupE; g++ {
				for _, i := range m.entItem[m.groups[g].ent:m.groups[g].end] {
					add(i)
				}
			}
		}
		fills = min(fills, distinct/size)
	}
	return int32(min(fills, int64(quantity)))
}
