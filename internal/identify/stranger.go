package identify

import (
	"math"

	"lotpaper/internal/facts"
)

// The open set stands for a material that the table has not: something like one
// of its natural materials, but not the same. openPrior is its weight before
// any test beside all of the table.
const openPrior = 0.023

// How far an unknown material may lie from a known one of the same kind
// (tuned on the generators of truth_test.go).
const (
	openIndex  = 0.03
	openSG     = 0.25
	openSep    = 0.008
	openColour = 0.1  // any named hue
	openClass  = 0.95 // its optic character is that of the known one
	openLine   = 0.03 // each line, anywhere
)

// openRow is one natural material as the centre of unknown ones.
type openRow struct {
	n, u  float64 // index and its standard deviation
	sg    float64
	sep   float64
	uSep  float64
	class facts.Optic
	sign  int8
}

func openRows(materials []*facts.Material, rows []row) []openRow {
	var out []openRow
	for i, m := range materials {
		r := &rows[i]
		if m.Nature != facts.Natural || !r.whole.Known || !r.sg.Known {
			continue
		}
		sep := (r.sep.Min + r.sep.Max) / 2
		out = append(out, openRow{n: (r.whole.Min + r.whole.Max) / 2,
			u: openIndex + (r.whole.Max-r.whole.Min)/4, sg: (r.sg.Min + r.sg.Max) / 2, sep: sep,
			uSep: math.Max(openSep, sep/3), class: r.class, sign: r.sign})
	}
	return out
}

// stranger is the likelihood of every reading under the open set.
func (b *bench) stranger(t *Table) float64 {
	rows := t.open
	sum := 0.0
	for i := range rows {
		sum += b.near(&rows[i])
	}
	if len(rows) == 0 {
		return 0
	}
	p := sum / float64(len(rows))
	if b.hues != 0 {
		p *= openColour
	}
	if b.clear >= 0 {
		p *= clearUnknown[b.clear]
	}
	if b.long.seen {
		p *= b.long.chance(nil, b.hues)
	}
	if b.short.seen {
		p *= b.short.chance(nil, b.hues)
	}
	if b.pleo >= 0 {
		p *= pleoStranger
		for h := b.pleoHues; h != 0; h &= h - 1 {
			p *= pleoAnyHue
		}
	}
	if b.done(TestSpectrum) && len(b.lines) == 0 {
		p *= linesSilent
	}
	for range b.lines {
		p *= openLine
	}
	return p * b.toldOfStranger(t)
}

// near is the likelihood of the numbers and the optic character under unknown
// materials about one known one.
func (b *bench) near(r *openRow) float64 {
	sum, scale := 0.0, 1.0 // of squares; and what the density is divided by
	number := func(x, mean, sd float64) {
		z := (x - mean) / sd
		sum += z * z
		scale *= sd * math.Sqrt(2*math.Pi)
	}
	over := func(limit, mean, sd float64) { scale /= 0.5 * math.Erfc((limit-mean)/(sd*math.Sqrt2)) }
	edge := func(e edge) {
		if e.over {
			over(e.n, r.n, r.u)
		} else {
			number(e.n, r.n, r.u)
		}
	}
	switch {
	case b.pair:
		number(b.mid, r.n, r.u)
	case b.low.read && !b.low.over && b.high.read: // the high edge is over the limit
		number(b.low.n, r.n-r.sep/2, r.u)
		over(b.high.n-b.low.n, r.sep, r.uSep)
	case b.low.read:
		edge(b.low)
	}
	if b.spot.read {
		edge(b.spot)
	}
	if b.done(TestSG) {
		number(b.sg, r.sg, openSG)
	}
	if sum > 60 {
		return 0
	}
	p := 1.0
	for _, l := range b.liquids {
		switch l.Result {
		case Sinks:
			over(l.SG, r.sg, openSG)
		case Floats:
			p *= 0.5 * math.Erfc((r.sg-l.SG)/(openSG*math.Sqrt2))
		default:
			number(l.SG, r.sg, openSG)
		}
	}
	switch {
	case b.done(TestFull):
		number(b.sep, r.sep, r.uSep)
	case b.done(TestSeparation): // a lower bound: half the benches turn the stone
		below, full := standardNormal((r.sep - b.sep) / r.uSep)
		p *= 0.5*full/r.uSep + 0.5*below/(r.sep+r.uSep)
	}
	return p * math.Exp(-sum/2) / scale * b.openOptics(r)
}

// openOptics is the chance of what polariscope and conoscope show when the
// character is that of the known material in nineteen of twenty.
func (b *bench) openOptics(r *openRow) float64 {
	const other = 1 - openClass
	p := 1.0
	if b.done(TestOptic) {
		doubly := r.class == facts.Uniaxial || r.class == facts.Biaxial
		same := b.optic == OpticDoubly && doubly || b.optic == OpticAggregate && r.class == facts.Aggregate ||
			(b.optic == OpticIsotropic || b.optic == OpticAnomalous) && r.class == facts.Isotropic
		if p *= openClass; !same {
			p *= other / openClass
		}
	}
	if b.done(TestFigure) {
		switch {
		case string(r.class) != string(b.optic):
			p *= other
		case b.sign != 0 && r.sign == -b.sign:
			p *= other
		case b.sign != 0 && r.sign == 0:
			p *= openClass / 2
		default:
			p *= openClass
		}
	}
	return p
}
