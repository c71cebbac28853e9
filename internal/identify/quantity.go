package identify

import (
	"math"

	"lotpaper/internal/facts"
)

// Of a material's stones half lie about its typical value, nearly all others
// anywhere in its range, one in fifty a little outside, and one reading in a
// thousand is grossly wrong (tuned on the generators of truth_test.go).
const (
	peakPart  = 0.5
	tailPart  = 0.02
	grossPart = 0.001
)

// quantity is what is known of one measured property of a material.
type quantity struct {
	known     bool
	in, wide  facts.Range // where its stones lie; where one in fifty does
	typical   float64
	spread    float64 // of its stones about the typical value
	elsewhere float64 // density of a reading that has nothing to do with it
}

// measure says how numbers of one kind are widened, and their least spread.
type measure struct{ leastSpread, leastWiden, elsewhere float64 }

var (
	anIndex   = measure{0.0015, 0.004, anyIndex}
	aSep      = measure{0.0007, 0.0015, anySep}
	aGravity  = measure{0.01, 0.03, anySG}
	notStated = math.NaN()
)

// of makes a quantity from a range and, where they are known, the typical value
// of gem goods and its spread.
func (k measure) of(in facts.Range, typical, spread float64) quantity {
	n := quantity{known: in.Known, in: in, typical: typical, spread: spread, elsewhere: k.elsewhere}
	if !in.Known {
		return n
	}
	width := in.Max - in.Min
	by := max(width/4, k.leastWiden)
	n.wide = facts.Span(in.Min-by, in.Max+by)
	part := 6.0
	if math.IsNaN(typical) {
		n.typical, part = (in.Min+in.Max)/2, 4
	}
	if spread == 0 {
		n.spread = max(width/part, k.leastSpread)
	}
	return n
}

// density of a reading with the standard uncertainty u.
func (n *quantity) density(x, u float64) float64 {
	if !n.known {
		return n.elsewhere
	}
	d := grossPart * n.elsewhere
	s := math.Sqrt(n.spread*n.spread + u*u)
	_, about := standardNormal((x - n.typical) / s)
	d += (1 - grossPart) * peakPart * about / s
	return d + (1-grossPart)*((1-peakPart-tailPart)*inRange(x, u, n.in)+tailPart*inRange(x, u, n.wide))
}

// middleNumber is what the mean of two edges is held against, given their
// separation: the standing edge of a uniaxial stone decides which way it lies
// from the middle of the typical edges.
func (r *row) middleNumber(sep float64) quantity {
	in := r.middle(sep)
	typical := notStated
	if r.typical.Known {
		half := sep / 2
		switch {
		case r.class == facts.Uniaxial && r.sign < 0:
			typical = r.typical.Max - half
		case r.class == facts.Biaxial:
			typical = (r.typical.Min + r.typical.Max) / 2
		default:
			typical = r.typical.Min + half
		}
	}
	return anIndex.of(in, typical, r.typicalSpread)
}

// likeNumbers is the likelihood of the measured numbers under one material.
func (b *bench) likeNumbers(r *row) float64 {
	p := 1.0
	switch {
	case b.pair:
		n := r.middleNumber(math.Min(b.sep, orRange(r.sep, facts.Span(0, b.sep)).Max))
		p *= n.density(b.mid, b.uMid)
		if b.apart() && r.class == facts.Aggregate && len(r.also) == 0 {
			p *= twoEdgesOnAggregate
		}
	case b.low.read && b.low.over:
		p *= overLimit(b.low.n, b.uEdge, r.low)
	case b.low.read && b.high.read: // the high edge is over the limit
		p *= r.lowNumber.density(b.low.n, b.uEdge) * overLimit(b.high.n, b.uEdge, r.high)
	case b.low.read:
		p *= r.wholeNumber.density(b.low.n, b.uEdge)
	}
	if b.spot.read {
		if b.spot.over {
			p *= overLimit(b.spot.n, b.uSpot, r.whole)
		} else {
			p *= r.wholeNumber.density(b.spot.n, b.uSpot)
		}
	}
	if b.done(TestSeparation) {
		p *= (1-grossPart)*separation(b.sep, b.uSep, r.sep) + grossPart*anySep
	}
	if b.done(TestFull) {
		p *= r.sepNumber.density(b.sep, b.uSep)
	}
	if b.done(TestSG) {
		p *= r.sgNumber.density(b.sg, b.uSG)
	}
	for _, l := range b.liquids {
		u := l.U
		if u == 0 {
			u = b.uLiquid
		}
		switch l.Result {
		case Sinks:
			p *= above(l.SG, u, r.sg)
		case Floats:
			p *= 1 - 0.99*above(l.SG, u, r.sg)
		default:
			p *= r.sgNumber.density(l.SG, u)
		}
	}
	return p
}

// twoEdgesOnAggregate is how seldom an aggregate shows two sharp edges.
const twoEdgesOnAggregate = 0.02

// apart reports whether two edges were read clearly apart.
func (b *bench) apart() bool { return b.pair && b.sep > 3*b.uSep }
