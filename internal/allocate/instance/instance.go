// Package instance makes seeded problems of the kind a coloured-stone dealer
// has: parcels whose stones share species, shape, colour and size, nearly half
// of them melee, and a line of designs whose demand is about the number of
// stones, so that both bind. For tests and for measuring.
package instance

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"slices"
	"sort"

	"lotpaper/internal/allocate"
)

// Options says what kind of line to make.
type Options struct {
	Stones      int
	Seed        uint64
	Dear        bool // a few pieces earn most of the money
	SinglesOnly bool
	PairsOnly   bool
	// Lots makes melee lots single items with a capacity instead of one item a
	// stone.
	Lots bool
}

// Line is stones and designs before it is known which stone may go where.
type Line struct {
	options Options
	stones  []stone
	designs []design
}

const species = 3

// stone sizes are hundredths of a millimetre, colours points on a scale of
// 0 to 1000, costs minor units.
type stone struct {
	species, shape, length, width, colour int
	cost                                  int64
	capacity                              int
	melee                                 bool
}

type design struct {
	value     int64
	quantity  int
	positions []position
}

type position struct {
	kind         allocate.Kind
	count        int
	aim          stone
	other        int // a second species that will do, -1 for none
	size, colour int // windows: size in per mille of the length, colour in points
	match        int // Pair, Suite: size tolerance in per mille
	slots        []slot
}

type slot struct{ count, ratio int } // ratio: size in per mille of the reference

// DesignCount is how many designs a line of so many stones has.
func DesignCount(stones int) int {
	switch {
	case stones < 100:
		return max(1, stones/10)
	case stones <= 2000:
		return 20 + (stones-200)*40/1800
	case stones <= 20000:
		return 60 + (stones-2000)*90/18000
	}
	return min(200, 150+(stones-20000)*50/80000)
}

// New makes a line.
func New(o Options) *Line {
	l := &Line{options: o}
	r := rand.New(rand.NewPCG(o.Seed, uint64(o.Stones)))
	l.makeStones(r)
	l.makeDesigns(r)
	return l
}

func (l *Line) makeStones(r *rand.Rand) {
	n := l.options.Stones
	melee := n * 45 / 100
	for left := n; left > 0; {
		isMelee := left > n-melee
		lot := stone{
			species: r.IntN(species), shape: r.IntN(3), colour: r.IntN(1000), melee: isMelee,
			length: 320 + r.IntN(180) + r.IntN(200),
		}
		pieces := 3 + r.IntN(25)
		if isMelee {
			pieces = 10 + r.IntN(60)
			lot.length, lot.shape = 120+r.IntN(110), 0
		}
		pieces = min(pieces, left)
		left -= pieces
		lot.width = lot.length * (700 + r.IntN(300)) / 1000
		if lot.shape == 0 {
			lot.width = lot.length
		}
		perCarat := int64((4+r.IntN(12))*(4+r.IntN(12))*(3+lot.species)) * 20
		if l.options.Lots && isMelee {
			lot.capacity = pieces
			lot.cost = stoneCost(lot, perCarat)
			l.stones = append(l.stones, lot)
			continue
		}
		for range pieces {
			s := lot
			s.capacity = 1
			s.length = vary(r, lot.length, 60)
			s.width = min(s.length, vary(r, lot.width, 60))
			s.colour = lot.colour + r.IntN(120) - 60
			s.cost = stoneCost(s, vary64(r, perCarat, 200))
			l.stones = append(l.stones, s)
		}
	}
}

// stoneCost prices a stone by a weight of its length x width x 0.62 width, in
// mm3, at 0.009 ct each, dearer by the carat when larger.
func stoneCost(s stone, perCarat int64) int64 {
	microCarat := int64(s.length) * int64(s.width) * int64(s.width) * 62 * 9 / 100_000
	return max(1, perCarat*microCarat/1_000_000*(1000+int64(s.length))/1000)
}

func vary(r *rand.Rand, x, perMille int) int {
	return x + x*(r.IntN(2*perMille+1)-perMille)/1000
}

func vary64(r *rand.Rand, x int64, perMille int) int64 { return int64(vary(r, int(x), perMille)) }

func (l *Line) makeDesigns(r *rand.Rand) {
	count := DesignCount(l.options.Stones)
	weights := make([]int, count)
	total := 0
	for d := range count {
		l.designs = append(l.designs, l.makeDesign(r))
		weights[d] = 1 + r.IntN(9)
		total += weights[d]
	}
	demand := l.options.Stones
	for d := range l.designs {
		ds := &l.designs[d]
		ds.quantity = max(1, demand*weights[d]/total/ds.stones())
		if l.options.Dear && d%8 == 0 {
			ds.quantity = 1 + r.IntN(3)
			ds.value *= int64(max(3, demand/(40*ds.stones()*ds.quantity)))
		}
	}
}

func (ds design) stones() int {
	n := 0
	for _, p := range ds.positions {
		n += p.stones()
	}
	return n
}

func (p position) stones() int {
	switch p.kind {
	case allocate.Single:
		return p.count
	case allocate.Pair:
		return 2
	}
	n := 0
	for _, s := range p.slots {
		n += s.count
	}
	return n
}

func (l *Line) makeDesign(r *rand.Rand) design {
	var ds design
	pick := r.IntN(100)
	switch {
	case l.options.SinglesOnly:
		ds.positions = []position{l.single(r)}
	case l.options.PairsOnly:
		ds.positions = []position{l.pair(r)}
	case pick < 38:
		ds.positions = []position{l.single(r)}
	case pick < 62:
		ds.positions = []position{l.pair(r)}
	case pick < 74:
		ds.positions = []position{l.single(r), l.pair(r)}
	case pick < 82:
		ds.positions = []position{l.pair(r), l.pair(r)}
	case pick < 90:
		ds.positions = []position{l.single(r), l.suite(r)}
	default:
		ds.positions = []position{l.suite(r)}
	}
	cost := int64(0)
	for _, p := range ds.positions {
		cost += p.aim.cost * int64(p.stones())
	}
	ds.value = cost*int64(1150+r.IntN(1100))/1000 + 200
	return ds
}

func (l *Line) place(r *rand.Rand, melee bool) position {
	var aim stone
	for range 50 {
		aim = l.stones[r.IntN(len(l.stones))]
		if aim.melee == melee {
			break
		}
	}
	p := position{aim: aim, other: -1, size: 110 + r.IntN(150), colour: 250 + r.IntN(450)}
	if r.IntN(4) > 0 {
		p.other = r.IntN(species)
	}
	return p
}

func (l *Line) single(r *rand.Rand) position {
	p := l.place(r, r.IntN(100) < 45)
	p.kind, p.count = allocate.Single, 1
	if p.aim.melee && l.options.Lots {
		p.count = 1 + r.IntN(8)
	}
	return p
}

func (l *Line) pair(r *rand.Rand) position {
	p := l.place(r, r.IntN(100) < 30)
	p.kind, p.match = allocate.Pair, 15+r.IntN(25)
	return p
}

func (l *Line) suite(r *rand.Rand) position {
	p := l.place(r, r.IntN(100) < 60)
	p.kind, p.match = allocate.Suite, 20+r.IntN(30)
	size := 3 + r.IntN(10) + r.IntN(10)
	if r.IntN(2) == 0 {
		p.slots = []slot{{size, 1000}}
		return p
	}
	p.slots = []slot{{1, 1000}}
	for ratio := 940; size > 2 && ratio > 600; ratio -= 60 {
		p.slots = append(p.slots, slot{2, ratio})
		size -= 2
	}
	return p
}

// Problem finds out which stone may go where.
func (l *Line) Problem() allocate.Problem {
	p := allocate.Problem{Items: make([]allocate.Item, len(l.stones))}
	for i, s := range l.stones {
		p.Items[i] = allocate.Item{Key: fmt.Sprintf("s%06d", i), Capacity: s.capacity}
	}
	e := newEnumerator(l.stones)
	for d, ds := range l.designs {
		out := allocate.Design{Key: fmt.Sprintf("d%03d", d), Value: ds.value, Quantity: ds.quantity}
		for k, pos := range ds.positions {
			out.Positions = append(out.Positions, e.position(fmt.Sprintf("p%d", k), pos))
		}
		p.Designs = append(p.Designs, out)
	}
	return p
}

// enumerator keeps the stones of each species and shape by length.
type enumerator struct {
	stones []stone
	byKind map[[2]int][]int
}

func newEnumerator(stones []stone) *enumerator {
	e := &enumerator{stones, map[[2]int][]int{}}
	for i, s := range stones {
		k := [2]int{s.species, s.shape}
		e.byKind[k] = append(e.byKind[k], i)
	}
	for _, list := range e.byKind {
		slices.SortFunc(list, func(a, b int) int {
			return cmp.Or(cmp.Compare(stones[a].length, stones[b].length), cmp.Compare(a, b))
		})
	}
	return e
}

// between lists the stones of a species and shape from one length to another.
func (e *enumerator) between(species, shape, from, to int) []int {
	list := e.byKind[[2]int{species, shape}]
	lo := sort.Search(len(list), func(k int) bool { return e.stones[list[k]].length >= from })
	hi := sort.Search(len(list), func(k int) bool { return e.stones[list[k]].length > to })
	return list[lo:hi]
}

// window lists the stones that a position accepts.
func (e *enumerator) window(p position) []int {
	from, to := p.aim.length-p.aim.length*p.size/1000, p.aim.length+p.aim.length*p.size/1000
	if p.kind == allocate.Suite {
		from = from * p.slots[len(p.slots)-1].ratio / 1000
	}
	var out []int
	for _, species := range []int{p.aim.species, p.other} {
		if species < 0 || species == p.aim.species && len(out) > 0 {
			continue
		}
		for _, i := range e.between(species, p.aim.shape, from, to) {
			if abs(e.stones[i].colour-p.aim.colour) <= p.colour {
				out = append(out, i)
			}
		}
	}
	return out
}

// cost of stone i where the colour aimed at is colour: its own, and up to a
// fifth of it for being off.
func (e *enumerator) cost(i, colour int) int64 {
	s := e.stones[i]
	return s.cost + s.cost*int64(min(400, abs(s.colour-colour)))/2000
}

func (e *enumerator) position(key string, p position) allocate.Position {
	out := allocate.Position{Key: key, Kind: p.kind}
	window := e.window(p)
	switch p.kind {
	case allocate.Single:
		out.Count = p.count
		out.Entries = make([]allocate.Entry, 0, len(window))
		for _, i := range window {
			out.Entries = append(out.Entries, allocate.Entry{Item: i, Cost: e.cost(i, p.aim.colour)})
		}
	case allocate.Pair:
		out.Edges = e.edges(p, window)
	case allocate.Suite:
		out.References = e.references(p, window)
	}
	return out
}

// near is a stone and how badly it matches.
type near struct{ i, far int }

// keep puts a stone into a list of the best few, best first.
func keep(list []near, n near, most int) []near {
	at, _ := slices.BinarySearchFunc(list, n, func(a, b near) int {
		return cmp.Or(cmp.Compare(a.far, b.far), cmp.Compare(a.i, b.i))
	})
	if at >= most {
		return list
	}
	list = slices.Insert(list, at, n)
	return list[:min(len(list), most)]
}

// edges pairs every stone with the five that match it best.
func (e *enumerator) edges(p position, window []int) []allocate.Edge {
	const most = 5
	var pairs [][2]int
	nearest := make([]near, 0, most+1)
	for at, i := range window {
		a := e.stones[i]
		if a.capacity > 1 {
			pairs = append(pairs, [2]int{i, i})
		}
		nearest = nearest[:0]
		for step := -1; step <= 1; step += 2 {
			for k := at + step; k >= 0 && k < len(window); k += step {
				b := e.stones[window[k]]
				if b.species != a.species || abs(a.length-b.length)*1000 > p.match*a.length {
					break
				}
				if len(nearest) == most && abs(a.length-b.length)*2000/a.length > nearest[most-1].far {
					break // and those beyond are no nearer
				}
				if abs(a.width-b.width)*1000 <= 2*p.match*a.width && abs(a.colour-b.colour) <= 60 {
					nearest = keep(nearest, near{window[k], e.distance(i, window[k])}, most)
				}
			}
		}
		for _, n := range nearest {
			pairs = append(pairs, [2]int{i, n.i})
		}
	}
	order := func(a, b [2]int) int {
		return cmp.Or(cmp.Compare(min(a[0], a[1]), min(b[0], b[1])), cmp.Compare(max(a[0], a[1]), max(b[0], b[1])))
	}
	slices.SortStableFunc(pairs, order) // of the same two, the first seen comes first
	pairs = slices.CompactFunc(pairs, func(a, b [2]int) bool { return order(a, b) == 0 })
	out := make([]allocate.Edge, 0, len(pairs))
	for _, ij := range pairs {
		cost := e.cost(ij[0], p.aim.colour) + e.cost(ij[1], p.aim.colour)
		out = append(out, allocate.Edge{I: ij[0], J: ij[1], Cost: cost + cost*int64(e.distance(ij[0], ij[1]))/4000})
	}
	return out
}

// distance is how badly two stones match: per mille of size, and colour points.
func (e *enumerator) distance(i, j int) int {
	a, b := e.stones[i], e.stones[j]
	return abs(a.length-b.length)*2000/a.length + abs(a.width-b.width)*1000/a.width + abs(a.colour-b.colour)
}

// references takes a dozen stones of the window as the first of a suite each.
func (e *enumerator) references(p position, window []int) []allocate.Reference {
	var heads []int
	for _, i := range window {
		if abs(e.stones[i].length-p.aim.length)*1000 <= p.size*p.aim.length {
			heads = append(heads, i)
		}
	}
	count := min(12, len(heads))
	var out []allocate.Reference
	for n := range count {
		head := heads[n*len(heads)/count]
		ref := allocate.Reference{Key: fmt.Sprintf("r%02d", n)}
		for _, s := range p.slots {
			ref.Slots = append(ref.Slots, allocate.Slot{Count: s.count, Entries: e.slot(p, s, head)})
		}
		out = append(out, ref)
	}
	return out
}

func (e *enumerator) slot(p position, s slot, head int) []allocate.Entry {
	h := e.stones[head]
	length := h.length * s.ratio / 1000
	most := max(60, 12*s.count)
	var fit []near
	for _, i := range e.between(h.species, h.shape, length-length*p.match/1000, length+length*p.match/1000) {
		b := e.stones[i]
		if off := abs(b.colour - h.colour); off <= 80 {
			fit = keep(fit, near{i, off + abs(b.length-length)*2000/length}, most)
		}
	}
	var out []allocate.Entry
	for _, n := range fit {
		cost := e.cost(n.i, p.aim.colour)
		out = append(out, allocate.Entry{Item: n.i, Cost: cost + cost*int64(n.far)/4000})
	}
	return out
}

func abs(x int) int { return max(x, -x) }
