package instance

import (
	"math/rand/v2"

	"lotpaper/internal/allocate"
)

// Family is a kind of line. Each has a reason of its own to be hard.
type Family string

const (
	// Ordinary is the line of the package comment: a design is worth 1.15 to
	// 2.25 times what its stones cost.
	Ordinary Family = "ordinary"
	// Weak has values that say little about the costs, each spread over a factor
	// of 64: prices that start from the costs start wrong.
	Weak Family = "weak"
	// Far has pieces worth 8 to 40 times their stones and three times as much
	// demand as stones: scarce stones earn nearly all of the value, so the prices
	// end far above any cost.
	Far Family = "far"
	// Calibrated has lots of up to 60 pieces on a grid of sizes, each wanted in
	// halos, pave and centres at once: capacities over 1 in many groups. Of its
	// items half are lots; Stones counts items.
	Calibrated Family = "calibrated"
	// Tiny has three designs to four stones, mostly of one piece and narrow, every
	// third the same as the one before: symmetry, and as many groups as stones.
	Tiny Family = "tiny"
	// Huge has few designs of several positions that take nearly every stone of
	// their shape: long lists, many entries a stone.
	Huge Family = "huge"
	// Booked is drawn as the lots of a dealer's book are: nominal sizes, small
	// lots of which some are listed stone by stone, several species to a
	// position, few pieces of each design. Equal stones and tight counts.
	Booked Family = "booked"
)

// Families lists all of them.
func Families() []Family {
	return []Family{Ordinary, Weak, Far, Calibrated, Tiny, Huge, Booked}
}

// nominal sizes of stones in a dealer's book, hundredths of a millimetre
// (common practice).
var nominal = []int{150, 200, 250, 300, 350, 400, 450, 500, 600, 700, 800}

// shapeLot changes a lot that was drawn to one of the family; pieces is how
// many of it there are.
func (l *Line) shapeLot(r *rand.Rand, lot *stone, pieces int) {
	switch l.options.Family {
	case Calibrated:
		if lot.melee {
			lot.length = 120 + 10*r.IntN(12)
			lot.width, lot.colour = lot.length, 100*r.IntN(10)
			lot.capacity = 5 + pieces
		}
	case Booked:
		lot.length = nominal[r.IntN(len(nominal))]
		lot.width = lot.length * (75 + 25*r.IntN(2)) / 100
		lot.colour = 100 * r.IntN(10)
		if lot.capacity = 0; r.IntN(5) < 3 {
			lot.capacity = pieces
		}
	}
}

// caratPrice is what a carat of a lot costs.
func (l *Line) caratPrice(r *rand.Rand, lot stone) int64 {
	price := int64((4+r.IntN(12))*(4+r.IntN(12))*(3+lot.species)) * 20
	if l.options.Family == Weak {
		price = price * spread(r) / 64
	}
	return price
}

// spread is a number between 8 and 512 that is as likely to lie between x and
// 2x for any x.
func spread(r *rand.Rand) int64 { return int64(8+r.IntN(8)) << r.IntN(6) }

// designCount is how many designs the line has.
func (l *Line) designCount() int {
	n := l.options.Stones
	switch l.options.Family {
	case Tiny:
		return max(1, n*3/4)
	case Huge:
		return max(1, min(8, n/20))
	case Booked:
		return max(1, n/12)
	}
	return DesignCount(n)
}

// demand is how many stones all designs want together.
func (l *Line) demand() int {
	pieces := 0
	for _, s := range l.stones {
		pieces += s.capacity
	}
	if l.options.Family == Far {
		return 3 * pieces
	}
	return pieces
}

// familyDesign makes the positions of a design as its family has them; none
// for a family whose designs are ordinary ones.
func (l *Line) familyDesign(r *rand.Rand) []position {
	switch l.options.Family {
	case Calibrated, Tiny, Huge:
	default:
		return nil
	}
	pick := r.IntN(100)
	switch l.options.Family {
	case Calibrated:
		switch {
		case pick < 30:
			return []position{l.single(r), l.halo(r)}
		case pick < 60:
			return []position{l.single(r), l.pave(r)}
		case pick < 75:
			return []position{l.pave(r)}
		case pick < 85:
			return []position{l.pair(r), l.halo(r)}
		}
	case Tiny:
		switch {
		case pick < 60:
			return []position{l.single(r)}
		case pick < 90:
			return []position{l.pair(r)}
		}
		return []position{l.single(r), l.pair(r)}
	case Huge:
		list := []position{l.wide(l.single(r)), l.wide(l.single(r))}
		list[1].count = 2 + r.IntN(8)
		if pick < 50 {
			list = append(list, l.wide(l.pair(r)))
		}
		if pick%2 == 0 {
			list = append(list, l.wide(l.suite(r)))
		}
		return list
	}
	return nil
}

// halo is a suite of one slot from calibrated lots.
func (l *Line) halo(r *rand.Rand) position {
	p := l.place(r, true)
	p.kind, p.match = allocate.Suite, 40
	p.slots = []slot{{8 + r.IntN(20), 1000}}
	return p
}

// pave takes many stones that need not match.
func (l *Line) pave(r *rand.Rand) position {
	p := l.place(r, true)
	p.kind, p.count = allocate.Single, 6+r.IntN(30)
	return p
}

// wide opens the windows of a position.
func (l *Line) wide(p position) position {
	p.size, p.colour, p.other = 600, 1000, (p.aim.species+1)%species
	return p
}

// shapePlace changes what a position accepts to what the family's do.
func (l *Line) shapePlace(r *rand.Rand, p *position) {
	switch l.options.Family {
	case Tiny:
		p.size, p.colour = 30+r.IntN(50), 60+r.IntN(120)
	case Booked:
		p.size, p.colour, p.other = 3000/p.aim.length, 1000, -1
		if r.IntN(2) == 0 {
			p.other = (p.aim.species + 1) % species
		}
	}
}

// worth is what a piece earns whose stones cost so much.
func (l *Line) worth(r *rand.Rand, cost int64, stones int) int64 {
	switch l.options.Family {
	case Weak:
		total := int64(0)
		for _, s := range l.stones {
			total += s.cost
		}
		return int64(stones)*(total/int64(len(l.stones)))*spread(r)/32 + 200
	case Far:
		return cost * int64(8+r.IntN(33))
	case Booked: // prices end in whole units of a hundred
		return (cost*int64(1100+r.IntN(1500))/1000/100 + 2) * 100
	}
	return cost*int64(1150+r.IntN(1100))/1000 + 200
}

// quantity of a design, one that would take its share of the demand.
func (l *Line) quantity(r *rand.Rand, share int) int {
	switch l.options.Family {
	case Tiny:
		return 1 + r.IntN(10)/9
	case Booked:
		return 1 + r.IntN(6)
	}
	return max(1, share)
}
