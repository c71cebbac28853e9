package identify

import (
	"cmp"
	"math"

	"lotpaper/internal/facts"
)

// outside is how far a reading lies outside a range, in standard
// uncertainties: 0 inside it, or when the range is unknown.
func outside(x, u float64, r facts.Range) float64 { return r.Distance(x) / u }

// fit holds every reading of the case against one material. failed has a bit
// for each test beyond k; worst is the greatest distance in standard
// uncertainties, and which test gave it.
func (b *bench) fit(r *row) (failed uint32, worst float64, which Test) {
	against := func(t Test, excess float64) {
		if excess > worst {
			worst, which = excess, t
		}
		if excess > b.k {
			failed |= 1 << t
		}
	}
	if b.low.read {
		if !b.high.read {
			against(TestEdge, b.edgeExcess(b.low, b.uEdge, r.whole))
		} else {
			against(TestLow, b.edgeExcess(b.low, b.uEdge, r.low))
			against(TestHigh, b.edgeExcess(b.high, b.uEdge, r.high))
			if b.several { // turned: the low edge never passes beta, nor the high edge below it
				against(TestLow, b.edgeExcess(edge{read: true, n: b.lowMost}, b.uEdge, r.low))
				against(TestHigh, b.edgeExcess(edge{read: true, n: b.highLo}, b.uEdge, r.high))
			}
		}
	}
	if b.spot.read {
		against(TestSpot, b.edgeExcess(b.spot, b.uSpot, r.whole))
	}
	if b.done(TestSeparation) && r.sep.Known {
		against(TestSeparation, math.Max(0, b.sep-r.sep.Max)/b.uSep)
	}
	if b.done(TestFull) && r.sep.Known {
		against(TestFull, b.fullExcess(r.sep))
	}
	if b.done(TestSG) {
		against(TestSG, outside(b.sg, b.uSG, r.sg))
	}
	if b.done(TestLiquid) {
		for _, l := range b.liquids {
			against(TestLiquid, b.liquidExcess(l, r.sg))
		}
	}
	if b.done(TestOptic) && b.opticExcludes(r) {
		against(TestOptic, math.Inf(1))
	}
	if b.done(TestFigure) && b.figureExcludes(r, worst) {
		against(TestFigure, math.Inf(1))
	}
	// Light that is not split in two cannot show two colours.
	if b.pleo >= 2 && r.class == facts.Isotropic {
		against(TestPleochroism, math.Inf(1))
	}
	return failed, worst, which
}

// edgeExcess is how far an edge, or an edge beyond the scale, lies outside a
// range.
func (b *bench) edgeExcess(e edge, u float64, r facts.Range) float64 {
	if !r.Known {
		return 0
	}
	if e.over {
		return math.Max(0, e.n-r.Max) / u
	}
	return r.Distance(e.n) / u
}

// fullExcess is how far a maximised birefringence lies outside a range.
func (b *bench) fullExcess(sep facts.Range) float64 {
	if !sep.Known {
		return 0
	}
	return math.Max(math.Max(0, b.sep-sep.Max)/b.uSep, (sep.Min-b.sepMost)/b.uSepLess)
}

func (b *bench) liquidExcess(l Liquid, sg facts.Range) float64 {
	if !sg.Known {
		return 0
	}
	u := cmp.Or(l.U, b.uLiquid)
	switch l.Result {
	case Sinks:
		return math.Max(0, l.SG-sg.Max) / u
	case Floats:
		return math.Max(0, sg.Min-l.SG) / u
	}
	return sg.Distance(l.SG) / u
}

// A birefringence below this is easily missed in the polariscope (common
// practice: apatite and idocrase are the textbook examples).
const faint = 0.003

// opticExcludes: the polariscope excludes only what it cannot mistake.
// "Isotropic" needs three dark directions, and an aggregate is never dark;
// "doubly" leaves whatever shows anomalous double refraction, and excludes
// aggregates, which stay bright and show one blurred edge, only together with
// two edges read apart; "aggregate" and "anomalous" exclude nothing.
func (b *bench) opticExcludes(r *row) bool {
	switch b.optic {
	case OpticIsotropic:
		if b.partial || r.shows(OpticIsotropic) {
			return false
		}
		return r.class == facts.Aggregate || r.class != facts.OpticUnknown && r.sep.Known && r.sep.Min >= faint
	case OpticDoubly:
		return r.class == facts.Isotropic && !r.anomalous && len(r.also) == 0 ||
			r.class == facts.Aggregate && b.apart() && len(r.also) == 0
	}
	return false
}

// figureExcludes: a figure is proof of one doubly refractive crystal, which
// neither a singly refractive stone nor an aggregate is. Against the table's
// class it excludes only together with a second property: the same character
// read by rotation, or a reading already two standard uncertainties outside.
// The sign excludes only uniaxial stones, and only when rotation gives it too.
func (b *bench) figureExcludes(r *row, worst float64) bool {
	switch {
	case r.class == facts.OpticUnknown:
		return false
	case !r.shows(b.optic):
		return r.class == facts.Isotropic || r.class == facts.Aggregate || b.rotated == b.optic || worst > 2
	}
	return b.optic == OpticUniaxial && r.class == facts.Uniaxial && b.rotated == b.optic &&
		b.sign != 0 && b.sign == b.rotatedSign && b.sign == -r.sign
}

// inRange is the density of a reading under a range whose values are equally
// likely, widened by the reading's error.
func inRange(x, u float64, r facts.Range) float64 {
	width := r.Max - r.Min
	switch {
	case x < r.Min-normalReach*u || x > r.Max+normalReach*u: // nothing of it reaches so far
		return 0
	case width < u/4:
		_, density := standardNormal((x - (r.Min+r.Max)/2) / u)
		return density / u
	case x-r.Min > 5*u && r.Max-x > 5*u: // deep inside: the error cannot matter
		return 1 / width
	}
	low, _ := standardNormal((r.Min - x) / u)
	high, _ := standardNormal((r.Max - x) / u)
	return (high - low) / width
}

// above is the chance that a value of the range lies above a limit known to u; it
// is mistaken once in a hundred.
func above(limit, u float64, r facts.Range) float64 {
	if !r.Known {
		return 0.5
	}
	return math.Max(0.01, reaches(limit, u, r))
}

// overLimit is the chance that an edge lies beyond the limit of the refractometer;
// it is grossly mistaken as seldom as any edge.
func overLimit(limit, u float64, r facts.Range) float64 {
	if !r.Known {
		return 0.5
	}
	return math.Max(grossPart, reaches(limit, u, r))
}

// reaches is the part of a range, widened by two standard uncertainties, that
// lies above a limit.
func reaches(limit, u float64, r facts.Range) float64 {
	low, high := r.Min-2*u, r.Max+2*u
	return math.Min(1, math.Max(0, (high-limit)/(high-low)))
}

// Densities of a reading under a material of which the property is unknown:
// about the trade's whole span.
const (
	anyIndex = 1 / 0.6
	anySep   = 1 / 0.05
	anySG    = 1 / 3.0
)

// separation is the density of a separation that was not maximised: half the
// benches turn the stone until it is greatest, half read one direction.
func separation(sep, u float64, r facts.Range) float64 {
	if !r.Known {
		return anySep
	}
	if r.Max == 0 {
		return inRange(sep, u, r)
	}
	return 0.5*inRange(sep, u, r) + 0.5*inRange(sep, u, facts.Span(0, r.Max))
}

// middle is the range of the mean of the two edges, given their separation.
func (r *row) middle(sep float64) facts.Range {
	half := sep / 2
	var m facts.Range
	switch {
	case !r.whole.Known:
		return m
	case r.class == facts.Uniaxial && r.sign > 0:
		m = facts.Span(r.uniaxial.Min+half, r.uniaxial.Max+half)
	case r.class == facts.Uniaxial && r.sign < 0:
		m = facts.Span(r.uniaxial.Min-half, r.uniaxial.Max-half)
	case r.class == facts.Biaxial:
		m = facts.Span(math.Max(r.low.Min+half, r.high.Min-half), math.Min(r.low.Max+half, r.high.Max-half))
	default:
		m = facts.Span(r.whole.Min+half, r.whole.Max-half)
	}
	if m.Min > m.Max {
		m.Min, m.Max = (m.Min+m.Max)/2, (m.Min+m.Max)/2
	}
	return m
}
