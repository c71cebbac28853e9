package allocate

import (
	"cmp"
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
	columns                   []number            // by column
	cuts                      int                 // of the model, in the program
	cutTerms                  [4]map[int32][]term // terms in the cuts by kind and number
	fixed                     float64             // fixed costs that are paid for certain
	pieceCost                 []float64           // by design, where making any costs something
	shares                    shares
	wanted                    wanted    // columns outside that gain at the last prices
	rent, paid, lift          []float64 // scratch
}

// number is one of the numbers that a plan consists of.
type number struct {
	kind changeKind
	at   int32
}

// wanted are columns to bring into a program.
type wanted struct {
	refs, entries, edges []int32
}

// shares are how much of every piece, reference and edge a solution uses.
type shares struct {
	piece, ref, edge, entry []float64
}

func (s *shares) of(kind changeKind) []float64 {
	switch kind {
	case changePieces:
		return s.piece
	case changeRef:
		return s.ref
	case changeEdge:
		return s.edge
	}
	return s.entry
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
			x.colPiece[d] = x.column(changePieces, int32(d), -ds.each(ds.most))
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

// column ends a column, after its terms in the cuts.
func (x *relaxation) column(kind changeKind, at int32, cost float64) int32 {
	for _, t := range x.cutTerms[kind][at] {
		x.p.term(t.row, t.value)
	}
	x.columns = append(x.columns, number{kind, at})
	return x.p.column(cost, x.m.largest(kind, at))
}

func (x *relaxation) addRef(r int32) {
	m, ref := x.m, &x.m.refs[r]
	x.p.term(x.rowPos[ref.pos], 1)
	for g := ref.group; g < ref.groupE; g++ {
		x.p.term(x.rowGroup[g], -float64(m.groups[g].need))
	}
	x.colRef[r] = x.column(changeRef, r, 0)
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
	x.colEdge[f] = x.column(changeEdge, f, float64(m.edgeCost[f]))
}

func (x *relaxation) addEntry(e int32) {
	i := x.m.entItem[e]
	x.p.term(x.rowItem[i], 1)
	x.p.term(x.rowGroup[x.m.entGroup[e]], 1)
	x.colEntry[e] = x.column(changeEntry, e, float64(x.m.entCost[e]))
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
func (x *relaxation) replaceSimplex() { x.replaceSimplexAt(x.save()) }

// replaceSimplexAt goes on from another basis.
func (x *relaxation) replaceSimplexAt(place basis) {
	was := x.s
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
	for n := x.cuts; n < len(m.cuts); n++ {
		c := &m.cuts[n]
		row := x.rows.add(0)
		x.rows.right[row], x.rows.slack[row] = float64(c.most)/float64(c.unit), m.widest(c)
		for _, t := range c.terms {
			if x.cutTerms[t.kind] == nil {
				x.cutTerms[t.kind] = map[int32][]term{}
			}
			x.cutTerms[t.kind][t.at] = append(x.cutTerms[t.kind][t.at], term{row, float64(t.per) / float64(c.unit)})
		}
	}
	from := int32(len(x.rows.right) - (len(m.cuts) - x.cuts))
	x.cuts = len(m.cuts)
	x.rebuild(func(row int32) int32 { return row }, func(col int32) []term {
		k := x.columns[col]
		list := x.cutTerms[k.kind][k.at]
		at, _ := slices.BinarySearchFunc(list, from, func(t term, row int32) int { return cmp.Compare(t.row, row) })
		return list[at:]
	})
	x.replaceSimplex()
}

// rebuild copies the columns with their rows renumbered (-1: gone) and further
// terms.
func (x *relaxation) rebuild(number func(row int32) int32, further func(col int32) []term) {
	old := x.p
	x.p = program{cost: old.cost, low: old.low, high: old.high, index: make([]int32, 0, len(old.index)),
		value: make([]float64, 0, len(old.index))}
	from := int32(0)
	for c, to := range old.start {
		for k := from; k < to; k++ {
			x.p.term(number(old.index[k]), old.value[k])
		}
		for _, t := range further(int32(c)) {
			x.p.term(t.row, t.value)
		}
		x.p.start = append(x.p.start, int32(len(x.p.index)))
		from = to
	}
}

// slackCuts reports by cut whether it does not bind.
func (x *relaxation) slackCuts() []bool {
	out := make([]bool, x.cuts)
	first := x.s.cols + len(x.rows.right) - x.cuts
	for n := range out {
		out[n] = x.s.place[first+n] >= 0 && x.s.x[first+n] > 1e-6
	}
	return out
}

// dropCuts takes the cuts out of the model and the program that are not kept;
// each must be slack, its slack in the basis.
func (x *relaxation) dropCuts(keep []bool) {
	first := int32(len(x.rows.right) - x.cuts)
	number := count(len(x.rows.right))
	kept, cuts := first, x.m.cuts[:0]
	for n, c := range x.m.cuts[:x.cuts] {
		row := first + int32(n)
		if number[row] = -1; keep[n] {
			number[row] = kept
			x.rows.right[kept], x.rows.slack[kept] = x.rows.right[row], x.rows.slack[row]
			cuts = append(cuts, c)
			kept++
		}
	}
	was := x.save()
	place := basis{was.head[:0], was.weight[:0]}
	for r, c := range was.head {
		if c < 0 {
			if number[-1-c] < 0 {
				continue
			}
			c = -1 - number[-1-c]
		}
		place.head, place.weight = append(place.head, c), append(place.weight, was.weight[r])
	}
	for kind, terms := range x.cutTerms {
		for at, list := range terms {
			left := list[:0]
			for _, t := range list {
				if t.row = number[t.row]; t.row >= 0 {
					left = append(left, t)
				}
			}
			x.cutTerms[kind][at] = left
		}
	}
	x.m.cuts, x.cuts = cuts, len(cuts)
	x.rows.right, x.rows.slack = x.rows.right[:kept], x.rows.slack[:kept]
	x.rebuild(func(row int32) int32 { return number[row] }, func(int32) []term { return nil })
	x.replaceSimplexAt(place)
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

// objective is the program's, fixed costs included.
func (x *relaxation) objective() float64 { return x.s.objective() + x.fixed }

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
