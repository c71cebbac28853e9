package identify

import (
	"cmp"
	"math"
)

// Test is one thing that a reading is held against.
type Test uint8

// The tests, in the order in which an account lists them.
const (
	TestEdge Test = iota // a single edge
	TestLow
	TestHigh
	TestSpot
	TestSeparation // birefringence as a lower bound
	TestFull       // birefringence, maximised
	TestOptic      // polariscope
	TestFigure     // conoscope
	TestSG
	TestLiquid
	TestPleochroism
	TestSpectrum
	TestLongWave
	TestShortWave
	TestColour
	TestLook // transparency
	TestFilter
	TestThermal
	TestElectrical
	TestFeature
	TestLookSign // lustre and phenomena
	tests        // count
)

var testNames = [tests]string{
	"refractive index", "low edge", "high edge", "spot refractive index", "birefringence (at least)",
	"birefringence (maximised)", "polariscope", "optic figure", "specific gravity", "heavy liquid",
	"pleochroism", "spectrum", "long-wave ultraviolet", "short-wave ultraviolet", "colour", "transparency",
	"colour filter", "thermal probe", "electrical probe", "magnification", "look",
}

// String is the test's name.
func (t Test) String() string { return testNames[t] }

// column is the column of the material's table whose source stands behind the test.
func (t Test) column() string {
	switch t {
	case TestEdge, TestLow, TestHigh, TestSpot:
		return "ri_min"
	case TestSeparation, TestFull:
		return "birefringence_min"
	case TestOptic, TestFigure:
		return "optic"
	case TestSG, TestLiquid:
		return "sg_min"
	case TestPleochroism:
		return "pleochroism"
	case TestSpectrum:
		return "spectrum"
	case TestLongWave:
		return "long_wave"
	case TestShortWave:
		return "short_wave"
	}
	return "color_shares"
}

// property classes tests by what they measure: readings of one property are
// not independent evidence.
type property uint8

const (
	propertyIndex property = 1 << iota
	propertyOptics
	propertyGravity
	propertySpectrum
	propertyPleochroism
)

var properties = [tests]property{
	TestEdge: propertyIndex, TestLow: propertyIndex, TestHigh: propertyIndex, TestSpot: propertyIndex,
	TestSeparation: propertyOptics, TestFull: propertyOptics, TestOptic: propertyOptics, TestFigure: propertyOptics,
	TestSG: propertyGravity, TestLiquid: propertyGravity,
	TestPleochroism: propertyPleochroism, TestSpectrum: propertySpectrum,
}

// bench is a case made ready: every reading with its uncertainty, worked out
// once and then held against each material.
type bench struct {
	did  uint32 // bit per Test
	have property
	k    float64

	// Refractometer. With both edges read: mid and sep have independent errors.
	low, high       edge
	uEdge           float64
	pair            bool
	mid, uMid       float64
	sep, uSep       float64 // observed separation, a lower bound
	uSepLess        float64 // towards less: the widest of several turns is never too narrow by chance
	full            bool    // sep was maximised ...
	sepMost         float64 // ... and the whole birefringence is at most this
	spot            edge
	uSpot           float64
	pairs           []Pair  // as they were read
	clash           bool    // no stone shows all of them: none counts
	stretched       bool    // a single edge lies beyond the others
	lowMost, highLo float64 // over several directions: greatest low and least high edge
	several         bool
	rotated         Optic // character told by the rotation, when it is
	rotatedSign     int8
	turned          edges // of one facet, at three turns or more
	rule            int   // that it follows

	// What k standard uncertainties around the readings allow; no ends where
	// nothing was read.
	allow     limits
	spotAllow ends

	optic   Optic // class
	sign    int8
	partial bool // isotropic in fewer than three directions

	sg, uSG float64
	liquids []Liquid
	uLiquid float64

	pleo, pleoColours int8 // strength 0..3, -1 not tested
	pleoHues          hue
	lines             []float64
	long, short       glow
	hues              hue
	pale              bool // the colour was told with "pale" or "light"
	clear             int8 // place in Transparencies, -1 not told
	curved, fixed     bool

	filter, thermal, electrical string
	features, looks             []string
	seen                        []seenSign // of all of them, found in the table
}

// edge is a reading of one shadow edge.
type edge struct {
	read, over bool
	n          float64
}

func (b *bench) does(t Test) {
	b.did |= 1 << t
	b.have |= properties[t]
}

func (b *bench) done(t Test) bool { return b.did&(1<<t) != 0 }

func makeEdge(e Edge, liquid float64) edge {
	if e.Over {
		return edge{read: true, over: true, n: cmp.Or(e.N, liquid)}
	}
	return edge{read: e.N != 0, n: e.N}
}

// prepare works the observations out. s is filled. It does not allocate.
func prepare(o *Observations, s *Settings) bench {
	b := bench{k: s.K, uLiquid: s.ULiquid, liquids: o.Liquids, lines: o.Lines, pleo: -1}
	uCal, uRead := s.UCal, s.URead
	if o.RIU > 0 { // the user's own figure for one edge, shared in the usual proportion
		scale := o.RIU / math.Hypot(uCal, uRead)
		uCal, uRead = uCal*scale, uRead*scale
	}
	b.refractometer(o, s, uCal, uRead)

	b.optic, b.sign = o.Optic.split()
	switch b.optic {
	case OpticUntested:
	case OpticUniaxial, OpticBiaxial:
		b.does(TestFigure)
	default:
		b.does(TestOptic)
		b.partial = b.optic == OpticIsotropic && o.Directions > 0 && o.Directions < 3
	}

	switch {
	case o.SG > 0:
		b.sg, b.uSG = o.SG, cmp.Or(o.SGU, s.USG)
		b.does(TestSG)
	case o.Weighing.Done() && o.Weighing.Air > o.Weighing.Water:
		sg, factor := o.Weighing.gravity()
		b.sg, b.uSG = sg, o.Weighing.u(sg, factor)
		b.does(TestSG)
	}
	if len(b.liquids) > 0 {
		b.does(TestLiquid)
	}
	b.reach()

	if strength, ok := strengthOf(o.Pleochroism.Strength); ok {
		b.pleo = int8(strength)
	} else if o.Pleochroism.Colours > 1 {
		b.pleo = 2
	}
	if b.pleo >= 0 {
		b.pleoColours = int8(o.Pleochroism.Colours)
		b.pleoHues = huesOf(o.Pleochroism.Hues)
		b.does(TestPleochroism)
	}
	switch {
	case len(b.lines) > 0:
		b.does(TestSpectrum)
	case o.Looked: // a reading, but no property of its own
		b.did |= 1 << TestSpectrum
	}
	if b.long = makeGlow(o.LongWave); b.long.seen {
		b.does(TestLongWave)
	}
	if b.short = makeGlow(o.ShortWave); b.short.seen {
		b.does(TestShortWave)
	}
	if b.hues = huesOf(o.Colour); b.hues != 0 {
		b.does(TestColour)
		b.pale = huePale(o.Colour)
	}
	if b.clear = clarity(o.Look.Transparency); b.clear >= 0 {
		b.does(TestLook)
	}
	b.filter, b.thermal, b.electrical, b.features = o.Filter, o.Thermal, o.Electrical, o.Features
	b.looks, b.curved, b.fixed = o.Look.Signs, o.Look.curved(), o.Look.Fixed
	for _, s := range [...]struct {
		test Test
		seen bool
	}{{TestFilter, o.Filter != ""}, {TestThermal, o.Thermal != ""}, {TestElectrical, o.Electrical != ""}, {TestFeature,
		len(o.Features) > 0}, {TestLookSign, len(o.Look.Signs) > 0}} {
		if s.seen {
			b.does(s.test)
		}
	}
	return b
}

// refractometer sums up pairs, spot and birefringence.
func (b *bench) refractometer(o *Observations, s *Settings, uCal, uRead float64) {
	b.uEdge = math.Hypot(uCal, uRead)
	if b.spot = makeEdge(o.Spot, s.Liquid); b.spot.read {
		b.uSpot = max(s.USpot, o.SpotU, o.RIU)
		b.does(TestSpot)
	}
	b.pairs = o.Pairs
	if _, _, b.clash = clashing(o.Pairs, s.Liquid, uRead); !b.clash {
		uRead = b.edges(s, uCal, uRead)
	}
	switch {
	case b.low.read && b.high.read:
		b.does(TestLow)
		b.does(TestHigh)
	case b.low.read:
		b.does(TestEdge)
	}
	if o.Birefringence > 0 || o.Blinked {
		if !b.done(TestSeparation) || o.Birefringence > b.sep {
			u := cmp.Or(o.BirefringenceU, math.Sqrt2*uRead)
			b.sep, b.uSep, b.uSepLess = o.Birefringence, u, u
		}
		b.does(TestSeparation)
		if o.BirefringenceMax {
			b.full, b.sepMost = true, math.Max(o.Birefringence, b.sep)
		}
	}
	if o.BirefringenceMax && !b.full && b.low.read && !b.low.over && !b.high.over { // of the edges as they were read
		if !b.pair {
			b.uSep, b.uSepLess = math.Sqrt2*uRead, math.Sqrt2*uRead
		}
		b.full, b.sepMost = true, b.sep
	}
	if b.full {
		b.did &^= 1 << TestSeparation
		b.does(TestFull)
	}
}

// edges sums up pairs that one stone can show, and returns how far the extremes
// of so many stray.
func (b *bench) edges(s *Settings, uCal, uRead float64) float64 {
	pairs := 0
	lowMin, lowMax := math.Inf(1), math.Inf(-1)
	highMin, highMax := math.Inf(1), math.Inf(-1)
	first, least, most := edge{}, math.Inf(1), math.Inf(-1) // of single edges: anywhere in the whole range
	for _, p := range b.pairs {
		low, high := p.edges(s.Liquid)
		switch {
		case !low.read:
		case low.over:
			b.low, b.high = low, high
		case high.over:
			if !b.low.read || !b.high.read {
				b.low, b.high = low, high
			}
		case high.read:
			pairs++
			lowMin, lowMax = math.Min(lowMin, low.n), math.Max(lowMax, low.n)
			highMin, highMax = math.Min(highMin, high.n), math.Max(highMax, high.n)
		default:
			if !first.read {
				first = low
			}
			least, most = math.Min(least, low.n), math.Max(most, low.n)
		}
	}
	single := math.Sqrt2 * uRead
	switch {
	case pairs == 0 && first.read && most-least > 3*single: // one edge, then the other
		pairs, lowMin, lowMax, highMin, highMax = 1, least, least, most, most
		b.stretched = true
	case pairs == 0 && first.read && !b.low.read:
		b.low = first
	case pairs > 0 && first.read: // what a single edge shows beyond them
		if least < lowMin-3*single {
			lowMin, b.stretched = least, true
		}
		if most > highMax+3*single {
			highMax, b.stretched = most, true
		}
	}
	if pairs == 0 {
		return uRead
	}
	b.pair, b.several = true, pairs > 1
	// The extremes of n readings stray farther than one reading does: at
	// three standard uncertainties by about this much.
	many := math.Log(float64(pairs))
	uRead *= 1 + 0.1*many
	b.uEdge = math.Hypot(uCal, uRead)
	b.low, b.high = edge{read: true, n: lowMin}, edge{read: true, n: highMax}
	b.lowMost, b.highLo = lowMax, highMin
	b.mid, b.uMid = (lowMin+highMax)/2, math.Hypot(uCal, uRead/math.Sqrt2)
	b.sep, b.uSep, b.uSepLess = highMax-lowMin, single*(1+0.15*many), single
	b.does(TestSeparation)
	if pairs < 3 {
		return uRead
	}
	if e := extremes(b.pairs, b.pairs[0].Facet); e.n >= 3 {
		if e.full {
			c := math.Cos(e.gap / 2 * math.Pi / 180)
			b.full, b.sepMost = true, b.sep/(c*c)
		}
		r, rule := rotate(e, s.URead)
		b.rotated, b.rotatedSign = r.Character, r.Sign
		b.turned, b.rule = e, rule
	}
	return uRead
}

// reach works out what the numbers allow.
func (b *bench) reach() {
	open := ends{math.Inf(-1), math.Inf(1)}
	b.allow, b.spotAllow = limits{open, open, open, open, open}, open
	around := func(e edge, u float64) ends {
		if e.over {
			return ends{e.n - b.k*u, math.Inf(1)}
		}
		return ends{e.n - b.k*u, e.n + b.k*u}
	}
	switch {
	case b.low.read && b.high.read:
		b.allow.low, b.allow.high = around(b.low, b.uEdge), around(b.high, b.uEdge)
		if b.several {
			b.allow.low.min = b.lowMost - b.k*b.uEdge
			b.allow.high.max = b.highLo + b.k*b.uEdge
		}
	case b.low.read:
		b.allow.whole = around(b.low, b.uEdge)
	}
	if b.spot.read {
		b.spotAllow = around(b.spot, b.uSpot)
	}
	if b.done(TestSeparation) || b.done(TestFull) {
		b.allow.sep.min = b.sep - b.k*b.uSep
		if b.full {
			b.allow.sep.max = b.sepMost + b.k*b.uSepLess
		}
	}
	if b.done(TestSG) {
		b.allow.sg = ends{b.sg - b.k*b.uSG, b.sg + b.k*b.uSG}
	}
}

// misses reports whether a number alone excludes a material.
func (b *bench) misses(h *limits) bool {
	return b.allow.low.miss(h.low) || b.allow.high.miss(h.high) || b.allow.sg.miss(h.sg) ||
		b.allow.whole.miss(h.whole) || b.allow.sep.miss(h.sep) || b.spotAllow.miss(h.whole)
}
