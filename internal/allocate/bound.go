package allocate

// prices are the multipliers of the bound: one for each pair and suite
// position (a fill), each group (a stone) and each item (its rent).
type prices struct {
	pos, group, item []float64
	cut              []float64 // of the model's cuts, from the first; missing ones are 0
}

func newPrices(m *model) prices {
	return prices{pos: make([]float64, len(m.pos)), group: make([]float64, len(m.groups)),
		item: make([]float64, len(m.cap))}
}

func (p prices) copyFrom(q prices) {
	copy(p.pos, q.pos)
	copy(p.group, q.group)
	copy(p.item, q.item)
}

func (p prices) clone(m *model) prices {
	q := newPrices(m)
	q.copyFrom(p)
	q.cut = append(q.cut, p.cut...)
	return q
}

// fill is what position k pays for one fill.
func (p prices) fill(m *model, k int32) float64 {
	if row := &m.pos[k]; row.kind == Single {
		return float64(row.count) * p.group[row.group]
	}
	return p.pos[k]
}

// limits are the numbers of pieces, reference fills and edge uses under
// consideration: everything at the root, less in a node of the tree.
type limits struct {
	piece, ref, edge, entry []span
}

// span is a range of whole numbers.
type span struct{ low, high int32 }

// best is the count in the span that earns most at so much each.
func (s span) best(each float64) int32 {
	if each > 0 {
		return s.high
	}
	return s.low
}

// made is the count that earns most at so much each when any costs fixed once.
func (s span) made(each, fixed float64) int32 {
	if s.low == 0 && float64(float64(s.high)*each) <= fixed {
		return 0
	}
	return s.best(each)
}

// exactMade is what that count earns.
func (s span) exactMade(each, fixed int64) int64 {
	if s.high == 0 {
		return 0
	}
	sum := s.exact(each) - fixed
	if s.low == 0 {
		return max(0, sum)
	}
	return sum
}

func (s span) exact(each int64) int64 {
	if each > 0 {
		return int64(s.high) * each
	}
	return int64(s.low) * each
}

func (m *model) rootLimits() limits {
	l := limits{make([]span, len(m.designs)), make([]span, len(m.refs)), make([]span, len(m.edgeA)),
		make([]span, len(m.entItem))}
	for d, row := range m.designs {
		l.piece[d].high = row.most
	}
	for r, row := range m.refs {
		l.ref[r].high = row.most
	}
	for f, most := range m.edgeMost {
		l.edge[f].high = most
	}
	for e, i := range m.entItem {
		l.entry[e].high = m.cap[i]
	}
	m.follow(l)
	return l
}

func (l limits) copyFrom(o limits) {
	copy(l.piece, o.piece)
	copy(l.ref, o.ref)
	copy(l.edge, o.edge)
	copy(l.entry, o.entry)
}

// follow lowers the limits of references, edges and entries to what those of
// pieces and references allow.
func (m *model) follow(l limits) {
	lower := func(s *span, high int64) { s.high = int32(min(int64(s.high), high)) }
	for d := range m.designs {
		pieces := int64(l.piece[d].high)
		for k := m.designs[d].pos; k < m.designs[d].end; k++ {
			pos := &m.pos[k]
			for f := pos.edge; f < pos.edgeE; f++ {
				lower(&l.edge[f], pieces)
			}
			for r := pos.ref; r < pos.refE; r++ {
				lower(&l.ref[r], pieces)
				for g := m.refs[r].group; g < m.refs[r].groupE; g++ {
					m.lowerEntries(l, g, int64(l.ref[r].high))
				}
			}
			if pos.kind == Single {
				m.lowerEntries(l, pos.group, pieces)
			}
		}
	}
}

// lowerEntries lowers the limits of a group's entries to so many fills.
func (m *model) lowerEntries(l limits, g int32, fills int64) {
	row := &m.groups[g]
	for e := row.ent; e < row.end; e++ {
		l.entry[e].high = int32(min(int64(l.entry[e].high), fills*int64(row.need)))
	}
}

func (l *limits) of(kind changeKind) []span {
	switch kind {
	case changePieces:
		return l.piece
	case changeRef:
		return l.ref
	case changeEdge:
		return l.edge
	}
	return l.entry
}

// rents returns A_i for the prices.
func (m *model) rents(p prices, a []float64) {
	x := addCuts(m, p.cut, about)
	for i := range a {
		a[i] = max(0, p.item[i])
	}
	for e, i := range m.entItem {
		a[i] = max(a[i], p.group[m.entGroup[e]]-float64(m.entCost[e])-at(x.entry, e))
	}
}

// estimate is UB in floating point, and the largest amount in it.
func (m *model) estimate(p prices, l limits, a []float64) (ub, largest float64) {
	m.rents(p, a)
	add := func(count int32, amount float64) {
		largest = max(largest, amount, -amount)
		term := float64(float64(count) * amount)
		largest = max(largest, term, -term)
		ub += term
	}
	x := addCuts(m, p.cut, about)
	add(1, x.fixed)
	largest = max(largest, m.cutSize(p.cut))
	for i, c := range m.cap {
		add(c, a[i])
	}
	for f, k := range m.edgePos {
		gain := p.pos[k] - float64(m.edgeCost[f]) - a[m.edgeA[f]] - a[m.edgeB[f]] - at(x.edge, f)
		if n := l.edge[f].best(gain); n != 0 {
			add(n, gain)
		}
	}
	for r := range m.refs {
		row := &m.refs[r]
		stones := 0.0
		for g := row.group; g < row.groupE; g++ {
			stones += float64(float64(m.groups[g].need) * p.group[g])
		}
		largest = max(largest, stones, -stones)
		if gain := p.pos[row.pos] - stones - at(x.ref, r); l.ref[r].high > 0 {
			add(l.ref[r].best(gain), gain)
		}
	}
	for d := range m.designs {
		row := &m.designs[d]
		slack := float64(row.value) - at(x.piece, d)
		for k := row.pos; k < row.end; k++ {
			slack -= p.fill(m, k)
		}
		if n := l.piece[d].made(slack, float64(row.fixed)); n > 0 {
			add(n, slack)
			add(-1, float64(row.fixed))
		}
	}
	return ub, max(largest, ub, -ub)
}

// bound is UB in whole numbers: the prices are rounded to a fraction of a
// minor unit fine enough not to matter and coarse enough not to overflow, and
// every operation after that is exact.
func (m *model) bound(p prices, l limits, scratch []float64) int64 {
	_, largest := m.estimate(p, l, scratch)
	scale := scaleFor(largest)
	if scale == 0 {
		return int64(1) << 62 // no use: such prices prove nothing
	}
	x := newExact(m, p, scale)
	return x.floor(x.total(l))
}

// scaleFor is the finest fraction of a minor unit in which an amount fits; 0
// when none is.
func scaleFor(largest float64) int64 {
	if largest > 1<<59 {
		return 0
	}
	scale := int64(1) << 20
	for scale > 1 && largest*float64(scale) > 1<<59 {
		scale >>= 1
	}
	return scale
}

// exact is a bound in whole fractions of a minor unit.
type exact struct {
	m           *model
	p           prices
	scale       int64
	rent, group []int64
	cutPrice    []int64
	cuts        extras[int64]
}

func newExact(m *model, p prices, scale int64) *exact {
	x := &exact{m: m, p: p, scale: scale, rent: make([]int64, len(m.cap)), group: make([]int64, len(m.groups))}
	for i := range x.rent {
		x.rent[i] = max(0, x.whole(p.item[i]))
	}
	for g := range x.group {
		x.group[g] = x.whole(p.group[g])
	}
	x.cutPrice = make([]int64, len(p.cut))
	for n := range x.cutPrice {
		x.cutPrice[n] = max(0, x.whole(p.cut[n]))
	}
	x.cuts = addCuts(m, x.cutPrice, exactly)
	for e, i := range m.entItem {
		x.rent[i] = max(x.rent[i], x.group[m.entGroup[e]]-m.entCost[e]*scale-at(x.cuts.entry, e))
	}
	return x
}

func (x *exact) whole(amount float64) int64 { return int64(amount * float64(x.scale)) }

// total is UB in fractions.
func (x *exact) total(l limits) int64 {
	m := x.m
	ub := x.cuts.fixed
	for i, c := range m.cap {
		ub += int64(c) * x.rent[i]
	}
	for f, k := range m.edgePos {
		gain := x.whole(x.p.pos[k]) - m.edgeCost[f]*x.scale - x.rent[m.edgeA[f]] - x.rent[m.edgeB[f]] -
			at(x.cuts.edge, f)
		ub += l.edge[f].exact(gain)
	}
	for r := range m.refs {
		ub += l.ref[r].exact(x.refGain(r))
	}
	for d := range m.designs {
		ub += l.piece[d].exactMade(x.pieceGain(d), m.designs[d].fixed*x.scale)
	}
	return ub
}

// refGain is what a fill of a reference gains.
func (x *exact) refGain(r int) int64 {
	row := &x.m.refs[r]
	gain := x.whole(x.p.pos[row.pos]) - at(x.cuts.ref, r)
	for g := row.group; g < row.groupE; g++ {
		gain -= int64(x.m.groups[g].need) * x.group[g]
	}
	return gain
}

// pieceGain is what a piece of a design gains.
func (x *exact) pieceGain(d int) int64 {
	m, row := x.m, &x.m.designs[d]
	gain := row.value*x.scale - at(x.cuts.piece, d)
	for k := row.pos; k < row.end; k++ {
		if pos := &m.pos[k]; pos.kind == Single {
			gain -= int64(pos.count) * x.group[pos.group]
		} else {
			gain -= x.whole(x.p.pos[k])
		}
	}
	return gain
}

// tighten narrows the limits to the numbers that a plan worth more than value
// may have: beyond them it would lose more than the bound leaves.
func (x *exact) tighten(l limits, value int64) {
	m := x.m
	room := x.total(l) - (value+1)*x.scale
	if room < 0 {
		return
	}
	for f, k := range m.edgePos {
		l.edge[f].within(x.whole(x.p.pos[k])-m.edgeCost[f]*x.scale-x.rent[m.edgeA[f]]-x.rent[m.edgeB[f]]-
			at(x.cuts.edge, f), room)
	}
	for r := range m.refs {
		l.ref[r].within(x.refGain(r), room)
	}
	for d := range m.designs {
		gain, s := x.pieceGain(d), &l.piece[d]
		if fixed := m.designs[d].fixed * x.scale; fixed == 0 || s.low > 0 {
			s.within(gain, room)
		} else if gain <= 0 && room < fixed {
			s.high = 0
		}
	}
	for e, i := range m.entItem {
		l.entry[e].within(min(0, x.group[m.entGroup[e]]-m.entCost[e]*x.scale-at(x.cuts.entry, e)-x.rent[i]), room)
	}
	m.follow(l)
}

// within narrows the span to the numbers that lose no more than room, gaining so
// much each.
func (s *span) within(gain, room int64) {
	switch {
	case gain < 0:
		s.high = int32(min(int64(s.high), int64(s.low)+room/-gain))
	case gain > 0:
		s.low = int32(max(int64(s.low), int64(s.high)-room/gain))
	}
}

// floor is a sum of fractions in minor units: a plan's value is a whole number
// of them.
func (x *exact) floor(ub int64) int64 {
	if ub < 0 {
		return -((-ub + x.scale - 1) / x.scale)
	}
	return ub / x.scale
}
