// Package instance makes seeded problems of the kind a coloured-stone dealer
// has: parcels whose stones share species, shape, colour and size, nearly half
// of them melee, and a line of designs whose demand is about the number of
// stones, so that both bind. For tests and for measuring.
package instance

import (
	"math/rand/v2"

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
	Lots   bool
	Family Family // empty: Ordinary
	// Fixed gives every design a fixed cost: 2 to 30 % of what all its pieces
	// are worth.
	Fixed bool
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
	fixed     int64
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
		lot.width = lot.length * (700 + r.IntN(300)) / 1000
		if lot.shape == 0 {
			lot.width = lot.length
		}
		if l.options.Lots && isMelee {
			lot.capacity = pieces
		}
		l.shapeLot(r, &lot, pieces)
		perCarat := l.caratPrice(r, lot)
		if lot.capacity > 0 {
			lot.cost = stoneCost(lot, perCarat)
			l.stones = append(l.stones, lot)
			if left -= pieces; l.options.Family == Calibrated {
				left += pieces - 1
			}
			continue
		}
		left -= pieces
		for range pieces {
			s := lot
			s.capacity = 1
			if l.options.Family == Booked { // one price a stone of the lot
				s.length += r.IntN(20) - 10
				s.cost = stoneCost(lot, perCarat)
				l.stones = append(l.stones, s)
				continue
			}
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
	count := l.designCount()
	weights := make([]int, count)
	total := 0
	for d := range count {
		if l.options.Family == Tiny && d%3 == 2 {
			l.designs = append(l.designs, l.designs[d-1])
		} else {
			l.designs = append(l.designs, l.makeDesign(r))
		}
		weights[d] = 1 + r.IntN(9)
		total += weights[d]
	}
	demand := l.demand()
	for d := range l.designs {
		ds := &l.designs[d]
		ds.quantity = l.quantity(r, demand*weights[d]/total/ds.stones())
		if l.options.Dear && d%8 == 0 {
			ds.quantity = 1 + r.IntN(3)
			ds.value *= int64(max(3, demand/(40*ds.stones()*ds.quantity)))
		}
		if l.options.Fixed {
			ds.fixed = ds.value * int64(ds.quantity) * int64(20+r.IntN(280)) / 1000
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
	ds := design{positions: l.familyDesign(r)}
	pick := r.IntN(100)
	switch {
	case ds.positions != nil:
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
	ds.value = l.worth(r, cost, ds.stones())
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
	l.shapePlace(r, &p)
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
