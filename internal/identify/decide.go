package identify

import (
	"fmt"
	"math"

	"lotpaper/internal/facts"
)

// The shares from which an answer is established and likely, tuned on the
// generators of truth_test.go: with look, dichroscope and a lamp all read, an
// unknown material is oftener taken for a known one, so more is asked.
const (
	establishedFrom    = 0.96
	establishedFromAll = 0.975
	likelyFrom         = 0.90
	openFrom           = 0.5 // share of the open set from which nothing of the table is named
)

// How far the readings, taken together, may lie outside the ranges of the best
// that the table has, in standard uncertainties.
const (
	strayNone   = 4
	strayCounts = 0.01 // share from which a material may be the best fit
)

// strayMost is how far so many independent numbers, taken together, may lie
// outside the ranges of what is established: as unlikely as 2 standard
// uncertainties are for one (square roots of the chi-square distribution's
// quantile at 95.45 %).
var strayMost = [...]float64{0, 2, 2.486, 2.833, 3.117}

// far reports whether the readings lie too far outside a material's ranges to
// establish it.
func (b *bench) far(stray float64) bool {
	return stray > strayMost[min(b.numbers(), len(strayMost)-1)]
}

// numbers counts the independent numbers that stray sums up.
func (b *bench) numbers() int {
	n := len(b.liquids)
	for _, read := range [...]bool{b.low.read, b.low.read && b.high.read && !b.pair, b.done(TestFull) ||
		b.done(TestSeparation), b.spot.read, b.done(TestSG)} {
		if read {
			n++
		}
	}
	return n
}

// polariscopeAgainst is the chance below which the polariscope speaks against
// an answer.
const polariscopeAgainst = 0.05

// decide draws the verdict from the shares: the deepest of material, series and
// family that has enough of them, held back by four guards.
func (v *Verdict) decide() {
	v.Named, v.Guard = Named{}, ""
	b := &v.bench
	if b.clash || b.did != 0 && v.nearest() > strayNone {
		v.Kind = None
		return
	}
	if v.Properties < 2 {
		v.Kind = Thin
		return
	}
	best := int32(0)
	for i := range v.shares {
		if v.shares[i] > v.shares[best] {
			best = int32(i)
		}
	}
	if v.OpenShare >= openFrom {
		v.Kind = None
		return
	}
	if n := v.table.deepest(best, v.shares, b.least()); n >= 0 {
		v.Kind, v.Named = Established, v.named(n)
		if v.Guard = v.guard(n, best); v.Guard != "" {
			v.Kind = Likely
		}
		return
	}
	if v.Kind = Open; len(v.Candidates) == 0 {
		v.Kind = None
	}
	if n := v.table.deepest(best, v.shares, likelyFrom); n >= 0 && !b.far(v.strayOf(n)) &&
		b.against(&v.table.rows[best]) == "" {
		v.Kind, v.Named = Likely, v.named(n)
	}
}

// least is the share from which an answer is established on these readings.
func (b *bench) least() float64 {
	if b.done(TestLook) && b.pleo >= 0 && (b.long.seen || b.short.seen) {
		return establishedFromAll
	}
	return establishedFrom
}

// nearest is how far the readings lie outside the best fitting material that has
// a share worth naming.
func (v *Verdict) nearest() float64 {
	least := math.Inf(1)
	for i := range v.shares {
		if v.shares[i] >= strayCounts {
			least = math.Min(least, v.bench.stray(&v.table.rows[i]))
		}
	}
	return least
}

// guard is why an answer with enough share is not established; empty when
// nothing holds it back.
func (v *Verdict) guard(n, best int32) string {
	b, t := &v.bench, v.table
	if stray := v.strayOf(n); b.far(stray) {
		return fmt.Sprintf("its readings, taken together, lie %.1f standard uncertainties outside its ranges", stray)
	}
	if why := b.against(&t.rows[best]); why != "" {
		return why
	}
	if b.measured() < 2 {
		return "only one property was measured: it takes two of index, gravity, figure or turning, and spectrum"
	}
	return ""
}

// strayOf is how far the readings lie outside the best fitting member of a node.
func (v *Verdict) strayOf(n int32) float64 {
	least := math.Inf(1)
	for _, i := range v.table.nodes[n].rows {
		least = math.Min(least, v.bench.stray(&v.table.rows[i]))
	}
	return least
}

// against is what speaks against a material without a number; empty: nothing.
func (b *bench) against(r *row) string {
	switch {
	case b.done(TestFigure) && !r.shows(b.optic):
		return "the figure is not of its optic character"
	case b.done(TestFigure) && b.sign != 0 && r.sign == -b.sign && string(r.class) == string(b.optic):
		return "the figure has the other sign"
	case b.rotated != "" && !r.shows(b.rotated) && !r.passesFor(b.rotated):
		return "turning it shows another optic character"
	case b.rotated != "" && b.rotatedSign != 0 && r.sign == -b.rotatedSign && string(r.class) == string(b.rotated):
		return "turning it shows the other sign"
	case b.done(TestOptic) && b.opticChance(r) < polariscopeAgainst:
		return "the polariscope speaks against it"
	case b.apart() && r.class == facts.Aggregate && len(r.also) == 0:
		return "an aggregate seldom shows two edges apart"
	}
	return ""
}

// measured counts the measured properties: index, specific gravity, figure or
// turning, spectrum. Over the limit of the refractometer the index counts only
// together with the gravity and a colour or look.
func (b *bench) measured() int {
	n := 0
	gravity := b.done(TestSG) || b.done(TestLiquid)
	switch {
	case b.pair, b.low.read && !b.low.over, b.spot.read && !b.spot.over:
		n++
	case (b.low.read || b.spot.read) && gravity && (b.hues != 0 || b.clear >= 0):
		n++
	}
	if gravity {
		n++
	}
	if b.done(TestFigure) || b.rotated != "" {
		n++
	}
	if len(b.lines) > 0 {
		n++
	}
	return n
}

// stray is the root sum of squares of how far the independent numbers (the
// mean of the edges, their separation, SG) lie outside a material's ranges.
func (b *bench) stray(r *row) float64 {
	sum := 0.0
	add := func(x float64) { sum += x * x }
	switch {
	case b.pair:
		add(outside(b.mid, b.uMid, r.middle(math.Min(b.sep, orRange(r.sep, facts.Span(0, b.sep)).Max))))
	case b.low.read && b.high.read:
		add(b.edgeExcess(b.low, b.uEdge, r.low))
		add(b.edgeExcess(b.high, b.uEdge, r.high))
	case b.low.read:
		add(b.edgeExcess(b.low, b.uEdge, r.whole))
	}
	switch {
	case b.done(TestFull):
		add(b.fullExcess(r.sep))
	case b.done(TestSeparation) && r.sep.Known:
		add(math.Max(0, b.sep-r.sep.Max) / b.uSep)
	}
	if b.spot.read {
		add(b.edgeExcess(b.spot, b.uSpot, r.whole))
	}
	if b.done(TestSG) {
		add(outside(b.sg, b.uSG, r.sg))
	}
	for _, l := range b.liquids {
		add(b.liquidExcess(l, r.sg))
	}
	return math.Sqrt(sum)
}
