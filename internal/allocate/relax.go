package allocate

import (
	"math"
	"slices"
)

// relaxation is the linear program of the model on its most promising columns.
// Its prices bound the whole model (every column is in the bound of doc.go),
// only a little less tightly than the full program's would.
type relaxation struct {
	m    *model
	s    *simplex
	base prices // for what is not in the program

	rowItem, rowPos, rowGroup []int32 // -1: no row
	colPiece, colRef, colEdge []int32 // -1: no column
	colEntry                  []int32
	p                         program
	rows                      rows
	cuts                      int       // of the model, in the program
	fixed                     float64   // fixed costs that are paid for certain
	pieceCost                 []float64 // by design, where making any costs something
	shares                    shares
	wanted                    wanted    // columns outside that gain at the last prices
	rent, paid, lift          []float64 // scratch
}

// wanted are columns to bring into a program.
type wanted struct {
	refs, entries, edges []int32
}

// shares are how much of every piece, reference and edge a solution uses.
type shares struct {
	piece, ref, edge, entry []float64
}

func newRelaxation(m *model, base prices) *relaxation {
	x := &relaxation{m: m, base: base, rent: make([]float64, len(m.cap)), pieceCost: make([]float64, len(m.designs)),
		shares: shares{make([]float64, len(m.designs)), make([]float64, len(m.refs)), make([]float64, len(m.edgeA)),
			make([]float64, len(m.entItem))}}
	x.build(x.choose())
	return x
}

// selection says which columns are in.
type selection struct {
	entry, edge, ref []bool
}

// sifted is the most entries and edges of which a program starts with all: from
// a good basis that takes fewer steps than bringing columns in as they gain.
const sifted = 500_000

// near is how far from paying for itself, as a share of the price, a column may
// be that a program of many starts with; others come in when they gain.
const near = 0.01

// choose keeps the columns that can be used, of very many those that come near
// to paying for themselves at the base prices, and of the references the
// promising ones.
func (x *relaxation) choose() selection {
	m, p := x.m, x.base
	in := selection{make([]bool, len(m.entItem)), make([]bool, len(m.edgeA)), make([]bool, len(m.refs))}
	for k := range m.pos {
		x.selectRefs(&m.pos[k], in.ref)
	}
	m.rents(p, x.rent)
	all := len(m.entItem)+len(m.edgeA) <= sifted
	for e, i := range m.entItem {
		price := p.group[m.entGroup[e]]
		loss := float64(m.entCost[e]) + x.rent[i] - price
		in.entry[e] = x.entryAllowed(e, in.ref) && (all || loss <= near*math.Abs(price))
	}
	for f := range m.edgeA {
		price := p.pos[m.edgePos[f]]
		loss := float64(m.edgeCost[f]) + x.rent[m.edgeA[f]] + x.rent[m.edgeB[f]] - price
		in.edge[f] = m.edgeMost[f] > 0 && (all || loss <= near*math.Abs(price))
	}
	return in
}

func (x *relaxation) entryAllowed(e int, ref []bool) bool {
	g := &x.m.groups[x.m.entGroup[e]]
	if g.ref >= 0 && !ref[g.ref] {
		return false
	}
	return x.m.designs[x.m.pos[g.pos].design].most > 0
}

// selectRefs takes the references of a position that lose at most a tenth of
// its price, and the two best.
func (x *relaxation) selectRefs(pos *posRow, in []bool) {
	m, p := x.m, x.base
	type choice struct {
		ref  int32
		gain float64
	}
	var all []choice
	for r := pos.ref; r < pos.refE; r++ {
		if m.refs[r].most == 0 || m.designs[pos.design].most == 0 {
			continue
		}
		gain := p.pos[m.refs[r].pos]
		for g := m.refs[r].group; g < m.refs[r].groupE; g++ {
			gain -= float64(m.groups[g].need) * p.group[g]
		}
		all = append(all, choice{r, gain})
	}
	slices.SortFunc(all, func(a, b choice) int {
		switch {
		case a.gain > b.gain:
			return -1
		case a.gain < b.gain:
			return 1
		}
		return int(a.ref - b.ref)
	})
	for n, c := range all {
		in[c.ref] = n < 2 || len(m.cap) <= 500 || c.gain > -0.1*math.Abs(p.pos[m.refs[c.ref].pos])
	}
}

// program collects the columns of a simplex.
type program struct {
	start, index    []int32
	value           []float64
	cost, low, high []float64
}

func (p *program) term(row int32, value float64) {
	if row >= 0 {
		p.index, p.value = append(p.index, row), append(p.value, value)
	}
}

func (p *program) column(cost float64, high int32) int32 {
	p.cost, p.low, p.high = append(p.cost, cost), append(p.low, 0), append(p.high, float64(high))
	p.start = append(p.start, int32(len(p.index)))
	return int32(len(p.cost) - 1)
}

// rows are the right-hand sides and the widths of the slacks.
type rows struct{ right, slack []float64 }

func (r *rows) add(most int32) int32 {
	r.right, r.slack = append(r.right, float64(most)), append(r.slack, float64(most))
	return int32(len(r.right) - 1)
}

func (x *relaxation) build(in selection) {
	m := x.m
	row := x.rows.add
	uses := make([]int32, len(m.cap)) // by references that may come in later, too
	for _, i := range m.entItem {
		uses[i]++
	}
	for f := range m.edgeA {
		if m.edgeMost[f] > 0 {
			uses[m.edgeA[f]] += 2
			uses[m.edgeB[f]] += 2
		}
	}
	x.rowItem, x.rowPos, x.rowGroup = none(len(m.cap)), none(len(m.pos)), none(len(m.groups))
	x.colPiece, x.colRef, x.colEdge = none(len(m.designs)), none(len(m.refs)), none(len(m.edgeA))
	x.colEntry = none(len(m.entItem))
	for i, n := range uses {
		if n > 1 {
			x.rowItem[i] = row(m.cap[i])
		}
	}
	for k := range m.pos {
		if m.designs[m.pos[k].design].most > 0 {
			x.rowPos[k] = row(0)
		}
	}
	for g := range m.groups {
		if r := m.groups[g].ref; r >= 0 && m.refs[r].most > 0 {
			x.rowGroup[g] = row(0)
		} else if r < 0 {
			x.rowGroup[g] = x.rowPos[m.groups[g].pos]
		}
	}
	p := &x.p
	for d := range m.designs {
		if ds := &m.designs[d]; ds.most > 0 {
			for k := ds.pos; k < ds.end; k++ {
				p.term(x.rowPos[k], -float64(max(1, m.pos[k].count)))
			}
			x.colPiece[d] = p.column(-ds.each(ds.most), ds.most)
		}
	}
	for r := range m.refs {
		if in.ref[r] {
			x.addRef(int32(r))
		}
	}
	for f := range m.edgeA {
		if in.edge[f] {
			x.addEdge(int32(f))
		}
	}
	for e := range m.entItem {
		if in.entry[e] {
			x.addEntry(int32(e))
		}
	}
	x.cuts = len(m.cuts)
	x.s = x.newSimplex()
}

func (x *relaxation) addRef(r int32) {
	m, ref := x.m, &x.m.refs[r]
	x.p.term(x.rowPos[ref.pos], 1)
	for g := ref.group; g < ref.groupE; g++ {
		x.p.term(x.rowGroup[g], -float64(m.groups[g].need))
	}
	x.colRef[r] = x.p.column(0, ref.most)
}

func (x *relaxation) addEdge(f int32) {
	m, p := x.m, &x.p
	p.term(x.rowPos[m.edgePos[f]], 1)
	if a, b := m.edgeA[f], m.edgeB[f]; a == b {
		p.term(x.rowItem[a], 2)
	} else {
		p.term(x.rowItem[a], 1)
		p.term(x.rowItem[b], 1)
	}
	x.colEdge[f] = p.column(float64(m.edgeCost[f]), m.edgeMost[f])
}

func (x *relaxation) addEntry(e int32) {
	i := x.m.entItem[e]
	x.p.term(x.rowItem[i], 1)
	x.p.term(x.rowGroup[x.m.entGroup[e]], 1)
	x.colEntry[e] = x.p.column(float64(x.m.entCost[e]), x.m.cap[i])
}

// grow brings the columns that would gain at the prices last asked for into the
// program; the basis stays. It reports whether there were any.
func (x *relaxation) grow() bool {
	w := &x.wanted
	if len(w.refs)+len(w.entries)+len(w.edges) == 0 {
		return false
	}
	for _, r := range w.refs {
		x.addRef(r)
		for g := x.m.refs[r].group; g < x.m.refs[r].groupE; g++ {
			for e := x.m.groups[g].ent; e < x.m.groups[g].end; e++ {
				x.addEntry(e)
			}
		}
	}
	for _, e := range w.entries {
		x.addEntry(e)
	}
	for _, f := range w.edges {
		x.addEdge(f)
	}
	x.wanted = wanted{w.refs[:0], w.entries[:0], w.edges[:0]}
	x.replaceSimplex()
	return true
}

// replaceSimplex goes on with the program as it is now from where the old one
// stood.
func (x *relaxation) replaceSimplex() {
	was, place := x.s, x.save()
	x.s = x.newSimplex()
	copy(x.s.cost[:was.cols], was.cost)
	copy(x.s.low[:was.cols], was.low)
	copy(x.s.high[:was.cols], was.high)
	copy(x.s.x[:was.cols], was.x)
	x.s.shaken, x.s.iterations = was.shaken, was.iterations
	x.load(place)
}

func (x *relaxation) newSimplex() *simplex {
	p := &x.p
	return newSimplex(len(x.rows.right), append([]int32{0}, p.start...), p.index, p.value, p.cost, p.low, p.high,
		x.rows.right, x.rows.slack)
}

// addCuts puts the model's new cuts into the program; the basis stays, with
// the slacks of the cuts.
func (x *relaxation) addCuts() {
	m := x.m
	extra := map[int32][]term{}
	add := func(col, row int32, v float64) {
		if col >= 0 {
			extra[col] = append(extra[col], term{row, v})
		}
	}
	for _, c := range m.cuts[x.cuts:] {
		wide := c.most
		if c.entry >= 0 {
			wide = c.per * m.refs[c.ref].most
		}
		row := x.rows.add(c.most)
		x.rows.slack[row] = float64(wide)
		for _, f := range c.edges {
			add(x.colEdge[f], row, 1)
		}
		if c.entry >= 0 {
			add(x.colEntry[c.entry], row, 1)
			add(x.colRef[c.ref], row, -float64(c.per))
		}
	}
	x.cuts = len(m.cuts)
	old := x.p
	x.p = program{cost: old.cost, low: old.low, high: old.high}
	from := int32(0)
	for c, to := range old.start {
		x.p.index = append(x.p.index, old.index[from:to]...)
		x.p.value = append(x.p.value, old.value[from:to]...)
		for _, t := range extra[int32(c)] {
			x.p.term(t.row, t.value)
		}
		x.p.start = append(x.p.start, int32(len(x.p.index)))
		from = to
	}
	x.replaceSimplex()
}

func none(n int) []int32 {
	out := make([]int32, n)
	for i := range out {
		out[i] = -1
	}
	return out
}

// limit sets the bounds of the columns.
func (x *relaxation) limit(l limits) {
	set := func(cols []int32, spans []span) {
		for k, c := range cols {
			if c >= 0 {
				x.s.setBounds(c, float64(spans[k].low), float64(spans[k].high))
			}
		}
	}
	set(x.colPiece, l.piece)
	x.spread(l)
	set(x.colRef, l.ref)
	set(x.colEdge, l.edge)
}

// spread sets what pieces cost where making any costs something once: that is
// spread over as many as there may be, or paid already where some must be made.
func (x *relaxation) spread(l limits) {
	x.fixed = 0
	changed := false
	for d, c := range x.colPiece {
		row := &x.m.designs[d]
		if c < 0 || row.fixed == 0 {
			continue
		}
		cost := -float64(row.value)
		if s := l.piece[d]; s.low == 0 {
			cost = -row.each(s.high)
		} else {
			x.fixed += float64(row.fixed)
		}
		if x.pieceCost[d] != cost {
			x.pieceCost[d], x.p.cost[c], x.s.cost[c] = cost, cost, cost
			changed = true
		}
	}
	if changed {
		x.s.price()
	}
}

// cutoff is the program's objective from which on no plan is better than value.
func (x *relaxation) cutoff(value int64) float64 { return -float64(value) - 0.5 - x.fixed }

// read takes the fractions of the present solution.
func (x *relaxation) read() {
	get := func(cols []int32, out []float64) {
		for k, c := range cols {
			out[k] = 0
			if c >= 0 {
				out[k] = x.s.x[c]
			}
		}
	}
	get(x.colPiece, x.shares.piece)
	get(x.colRef, x.shares.ref)
	get(x.colEdge, x.shares.edge)
	get(x.colEntry, x.shares.entry)
}

// basis is a place to restart the simplex from: the columns in it, slacks as
// -1 - row, because columns and rows may be added later.
type basis struct {
	head   []int32
	weight []float64
}

func (x *relaxation) save() basis {
	b := basis{slices.Clone(x.s.head), slices.Clone(x.s.weight)}
	for r, c := range b.head {
		if int(c) >= x.s.cols {
			b.head[r] = int32(x.s.cols) - 1 - c
		}
	}
	return b
}

func (x *relaxation) load(b basis) bool {
	s := x.s
	for c := range s.place {
		s.place[c] = -1
	}
	for r, c := range b.head {
		if c < 0 {
			c = int32(s.cols) - 1 - c
		}
		s.head[r] = c
	}
	copy(s.weight, b.weight)
	for r := len(b.head); r < s.rows; r++ { // cuts younger than the basis
		s.head[r], s.weight[r] = int32(s.cols+r), 1
	}
	for r, c := range s.head {
		s.place[c] = int32(r)
	}
	return s.refactor()
}
