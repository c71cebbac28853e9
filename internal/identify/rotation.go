package identify

import (
	"fmt"
	"math"
	"slices"
)

// Rotated is what turning a stone on the refractometer tells, by the
// handbooks' method of the constant edge.
type Rotated struct {
	Birefringence float64 // greatest high less lowest low edge of one facet
	U             float64 // its standard uncertainty
	Full          bool    // the turns are close enough that Birefringence is the whole one
	AtMost        float64 // the whole birefringence is at most this (error aside), when Full

	Constant  string // "low", "high", "both", "none", "" when it cannot be told
	Character Optic  // uniaxial, biaxial, isotropic, or "" when it cannot be told
	Sign      int8   // +1, -1, 0 when it cannot be told
	Why       string // the edges and the rule
}

// edges are the extremes of a set of pairs whose both edges were read.
type edges struct {
	n                        int
	lowMin, lowMax           float64
	highMin, highMax, widest float64
	full                     bool
	gap                      float64 // widest step between turns, degrees
}

// extremes sums up the pairs of the given facet without allocating.
func extremes(pairs []Pair, facet string) edges {
	e := edges{lowMin: math.Inf(1), lowMax: math.Inf(-1), highMin: math.Inf(1), highMax: math.Inf(-1)}
	turned := true
	for _, p := range pairs {
		if p.Facet != facet || !p.Low.Read() || !p.High.Read() || p.Low.Over || p.High.Over {
			continue
		}
		e.n++
		e.lowMin, e.lowMax = math.Min(e.lowMin, p.Low.N), math.Max(e.lowMax, p.Low.N)
		e.highMin, e.highMax = math.Min(e.highMin, p.High.N), math.Max(e.highMax, p.High.N)
		e.widest = math.Max(e.widest, p.High.N-p.Low.N)
		turned = turned && p.Turned
	}
	if turned && e.n >= 3 {
		e.gap = widestStep(pairs, facet)
		e.full = e.gap <= 60
	}
	return e
}

// widestStep is the widest step between neighbouring turns over the half turn
// after which the readings repeat.
func widestStep(pairs []Pair, facet string) float64 {
	var turns [64]float64
	n := 0
	for _, p := range pairs {
		if p.Facet == facet && n < len(turns) {
			turns[n] = math.Mod(math.Mod(p.Angle, 180)+180, 180)
			n++
		}
	}
	slices.Sort(turns[:n])
	widest := turns[0] + 180 - turns[n-1]
	for i := 1; i < n; i++ {
		widest = math.Max(widest, turns[i]-turns[i-1])
	}
	return widest
}

// why is the edges and the rule in words.
func (e *edges) why(rule int) string {
	if rule <= tooFew {
		return rules[rule]
	}
	return fmt.Sprintf("low edge %.3f to %.3f, high edge %.3f to %.3f: %s", e.lowMin, e.lowMax, e.highMin,
		e.highMax, rules[rule])
}

// The rules of the method, as they are told.
const (
	noPair = iota
	tooFew
	biaxialPositive
	biaxialNegative
	biaxialOnly
	uniaxialPositive
	uniaxialNegative
	oneMoves
	oneEdge
	bothStand
)

var rules = [...]string{
	noPair:          "no direction with both edges read",
	tooFew:          "read at least three directions of one facet",
	biaxialPositive: "both move, the high edge falls past the middle: biaxial positive",
	biaxialNegative: "both move, the low edge rises past the middle: biaxial negative",
	biaxialOnly:     "both move: biaxial; neither edge clearly passes the middle, the sign cannot be told",
	uniaxialPositive: "the low edge stands, the high edge moves: uniaxial positive (a biaxial stone cut across an " +
		"axis, or with beta close to alpha, can look the same: turn another facet)",
	uniaxialNegative: "the high edge stands, the low edge moves: uniaxial negative (a biaxial stone cut across an " +
		"axis, or with beta close to gamma, can look the same: turn another facet)",
	oneMoves: "one edge moves, the other by less than the readings can tell: uniaxial or biaxial cannot be told",
	oneEdge:  "one edge within the error of reading: isotropic, or a birefringence too small to read",
	bothStand: "both stand apart: a uniaxial stone read along its optic axis, or too few turns: the sign cannot be " +
		"told, turn another facet",
}

// span95 is what the range of n readings of one and the same value exceeds
// once in twenty times, in standard uncertainties of one: the studentized
// range for infinite degrees of freedom (E. S. Pearson and H. O. Hartley,
// Biometrika Tables for Statisticians I, table 29). Beyond 20 it is that of 20.
func span95(n int) float64 {
	return spans95[min(max(n, 2), len(spans95)+1)-2]
}

var spans95 = [...]float64{ // from two readings on
	2.77, 3.31, 3.63, 3.86, 4.03, 4.17, 4.29, 4.39, 4.47, 4.55,
	4.62, 4.68, 4.74, 4.80, 4.85, 4.89, 4.93, 4.97, 5.01,
}

// rotate reads the optic character and sign from the edges read at several turns
// of one facet, says by which rule, and does not allocate. Of the handbooks' rules: one edge stands and the other
// moves,
// uniaxial, positive when the high edge moves, negative when the low one does;
// both move, biaxial, positive when the high edge falls past the middle
// between lowest and highest, negative when the low edge rises past it. An
// edge moves when its readings span more than those of a standing edge do once
// in twenty times, and stands when they span at most half of that; between the
// two nothing is claimed of it. uRead is the standard uncertainty of one edge
// within a sitting.
func rotate(e edges, uRead float64) (Rotated, int) {
	u := math.Sqrt2 * uRead
	if e.n == 0 {
		return Rotated{}, noPair
	}
	r := Rotated{Birefringence: e.widest, U: u}
	if e.n < 3 {
		return r, tooFew
	}
	// Both edges of different turns may be compared: the highest high and the
	// lowest low are the extremes of one and the same stone.
	r.Birefringence = e.highMax - e.lowMin
	if e.full {
		c := math.Cos(e.gap / 2 * math.Pi / 180)
		r.Full, r.AtMost = true, r.Birefringence/(c*c)
	}
	moveLow, moveHigh := e.lowMax-e.lowMin, e.highMax-e.highMin
	moves := span95(e.n) * uRead
	lowMoves, highMoves := moveLow > moves, moveHigh > moves
	switch {
	case lowMoves && highMoves:
		r.Constant, r.Character = "none", OpticBiaxial
		middle, past := (e.lowMin+e.highMax)/2, 1.5*uRead
		switch {
		case e.highMin < middle-past && e.lowMax <= middle+past:
			r.Sign = +1
			return r, biaxialPositive
		case e.lowMax > middle+past && e.highMin >= middle-past:
			r.Sign = -1
			return r, biaxialNegative
		}
		return r, biaxialOnly
	case highMoves && moveLow <= moves/2:
		r.Constant, r.Character, r.Sign = "low", OpticUniaxial, +1
		return r, uniaxialPositive
	case lowMoves && moveHigh <= moves/2:
		r.Constant, r.Character, r.Sign = "high", OpticUniaxial, -1
		return r, uniaxialNegative
	case lowMoves || highMoves:
		return r, oneMoves
	case e.widest <= 3*u:
		r.Constant = "both"
		return r, oneEdge
	}
	r.Constant = "both"
	return r, bothStand
}
