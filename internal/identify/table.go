// Package identify turns bench readings of one stone into the materials that
// it can be: which are excluded and by how much, how likely each that is left,
// what the readings cannot separate, and which test comes next; and the
// verdicts of a lot's tested stones into the state of the lot.
//
// A verdict names the SPECIES. It never says natural, untreated, or from
// where: those facets need other evidence.
package identify

import (
	"cmp"
	"math"
	"strings"
	"sync"

	"lotpaper/internal/facts"
)

// Table is a set of materials compiled for speed: readings are held against
// slices of numbers. It is safe for concurrent use.
type Table struct {
	Materials []*facts.Material
	rows      []row
	hot       []limits
	flat      []float64 // frequency of each material when priors are off
	frequency []float64 // of each in the trade; they add up to 1
	open      []openRow
	nodes     []node // a material each, in their order, then series and families
	results   []result
}

// row is one material's ranges as the refractometer, balance and polariscope
// meet them.
type row struct {
	class     facts.Optic
	sign      int8 // 0: either
	also      []facts.Optic
	anomalous bool

	whole     facts.Range // every index it can show
	low, high facts.Range // of the two edges of one facet
	uniaxial  facts.Range // omega, when uniaxial
	alpha     facts.Range
	beta      facts.Range
	gamma     facts.Range
	sep       facts.Range // birefringence; unknown only when no index is known either
	sg        facts.Range

	// What likelihoods are taken from.
	typical       facts.Range // edges of gem goods
	typicalSpread float64     // 0: not stated
	wholeNumber   quantity
	lowNumber     quantity
	sepNumber     quantity // the whole birefringence
	sgNumber      quantity
	hueChances    [hueCount]float64
	clear         [3]float64

	pleo           int8 // strength 0..3, -1 unknown
	pleoFacts      []pleoFact
	lines          []lineFact
	long, short    []glowFact
	hues           hue
	signs          []tableSign
	series, family int32 // nodes; -1: none

	text rowText
}

// rowText is the row in words, made once.
type rowText struct{ whole, low, high, sep, sg, optic, pleo, lines, long, short, colours string }

// Trade frequencies as weights before any test (common practice): a common
// material is met five times as often as an occasional one, and that about five
// times as often as a collector's.
var frequencies = map[facts.Frequency]float64{"common": 40, "occasional": 8, "collector": 1.5}

// Compile prepares the materials.
func Compile(materials []*facts.Material) *Table {
	t := &Table{Materials: materials}
	t.rows, t.hot = make([]row, len(materials)), make([]limits, len(materials))
	t.frequency, t.flat = make([]float64, len(materials)), make([]float64, len(materials))
	total := 0.0
	for i, m := range materials {
		t.rows[i] = compile(m)
		t.hot[i] = t.rows[i].limits()
		w, ok := frequencies[m.Frequency]
		if !ok {
			w = frequencies["occasional"]
		}
		t.frequency[i] = w
		total += w
	}
	for i := range t.frequency {
		t.frequency[i] /= total
		t.flat[i] = 1 / float64(len(t.flat))
	}
	t.open = openRows(materials, t.rows)
	t.group(facts.SeriesMembers())
	return t
}

// Default is the compiled table of every material the project knows.
var Default = sync.OnceValue(func() *Table { return Compile(facts.Materials()) })

func (t *Table) frequencies(s *Settings) []float64 {
	if s.PriorsOff {
		return t.flat
	}
	return t.frequency
}

func compile(m *facts.Material) row {
	r := row{class: m.Optic, anomalous: m.AnomalousDR, sg: m.SG, sep: m.Birefringence, pleo: -1, series: -1,
		family: -1}
	switch m.Sign {
	case "+":
		r.sign = +1
	case "-":
		r.sign = -1
	}
	r.also = m.AlsoShows
	r.whole = span(m.RI, m.Alpha, m.Beta, m.Gamma, m.Omega, m.Epsilon)
	if m.Optic == facts.Isotropic {
		r.sep = facts.Span(0, 0)
	}
	if !r.sep.Known && r.whole.Known {
		r.sep = facts.Span(0, r.whole.Max-r.whole.Min)
	}
	switch m.Optic {
	case facts.Uniaxial:
		r.uniaxialEdges(m)
	case facts.Biaxial:
		r.biaxialEdges(m)
	default:
		r.low, r.high = r.whole, r.whole
	}
	if strength, ok := strengthOf(m.Pleochroism); ok {
		r.pleo = int8(strength)
	}
	r.lines = lineFacts(m.Spectrum)
	r.pleoFacts = pleoFacts(m.PleochroicColors)
	r.long, r.short = glowFacts(m.LongWave), glowFacts(m.ShortWave)
	for _, c := range m.ColorShares {
		r.hues |= huesOf(c.Hue)
	}
	r.numbers(m)
	r.hueChances, r.clear = hueChances(m), clearOf(m)
	r.text = rowText{
		whole: rangeText(r.whole, 3), low: rangeText(r.low, 3), high: rangeText(r.high, 3), sep: rangeText(r.sep, 3),
		sg:    rangeText(r.sg, 2),
		optic: opticText(m), pleo: cmp.Or(m.Pleochroism, "unknown"), lines: cmp.Or(lineText(m.Spectrum), "unknown"),
		long: cmp.Or(m.LongWave, "unknown"), short: cmp.Or(m.ShortWave, "unknown"),
		colours: cmp.Or(strings.Join(m.Hues(), ", "), "unknown"),
	}
	return r
}

// numbers makes what likelihoods are taken from.
func (r *row) numbers(m *facts.Material) {
	p := &m.Typical
	r.typical, r.typicalSpread = p.RI, p.RISpread
	whole, low, sep, sg := notStated, notStated, notStated, notStated
	spread := p.RISpread
	if p.RI.Known {
		whole, low, sep = (p.RI.Min+p.RI.Max)/2, p.RI.Min, p.RI.Max-p.RI.Min
		spread = math.Max(spread, (p.RI.Max-p.RI.Min)/3) // one edge, or a spot, lies anywhere between the two
	}
	if p.Spot != 0 {
		whole, spread = p.Spot, p.RISpread
	}
	if p.SG != 0 {
		sg = p.SG
	}
	r.wholeNumber = anIndex.of(r.whole, whole, spread)
	r.lowNumber = anIndex.of(r.low, low, p.RISpread)
	r.sepNumber = aSep.of(r.sep, sep, 0)
	r.sgNumber = aGravity.of(r.sg, sg, p.SGSpread)
}

// lineFacts makes the published lines ready.
func lineFacts(lines []facts.SpectralLine) []lineFact {
	out := make([]lineFact, 0, len(lines))
	for _, l := range lines {
		f := lineFact{nm: l.NM, within: lineWithin, hit: lineMedium}
		if l.Kind != "line" {
			f.within = bandWithin
		}
		switch l.Strength {
		case "strong":
			f.hit = lineStrong
		case "weak":
			f.hit = lineWeak
		}
		for _, h := range l.Stones {
			f.stones |= huesOf(h)
		}
		out = append(out, f)
	}
	return out
}

// pleoFacts parses a cell such as "blue-green, yellow-green (emerald); blue,
// colourless (aquamarine)".
func pleoFacts(cell string) []pleoFact {
	var out []pleoFact
	for _, part := range strings.Split(cell, ";") {
		told, where, _ := strings.Cut(part, "(")
		if f := (pleoFact{huesOf(told), huesOf(where)}); f.hues != 0 {
			out = append(out, f)
		}
	}
	return out
}

// span joins the known ranges.
func span(ranges ...facts.Range) facts.Range {
	var out facts.Range
	for _, r := range ranges {
		switch {
		case !r.Known:
		case !out.Known:
			out = r
		default:
			out.Min, out.Max = math.Min(out.Min, r.Min), math.Max(out.Max, r.Max)
		}
	}
	return out
}

// uniaxialEdges: one edge is omega, the other anywhere from omega to epsilon.
func (r *row) uniaxialEdges(m *facts.Material) {
	if !r.whole.Known {
		return
	}
	omega, epsilon := m.Omega, m.Epsilon
	least := facts.Span(r.whole.Min, math.Max(r.whole.Min, r.whole.Max-r.sep.Min))
	most := facts.Span(math.Min(r.whole.Max, r.whole.Min+r.sep.Min), r.whole.Max)
	switch r.sign {
	case +1:
		r.low = orRange(omega, least)
		r.high = facts.Span(r.low.Min, orRange(epsilon, most).Max)
		r.uniaxial = r.low
	case -1:
		r.high = orRange(omega, most)
		r.low = facts.Span(orRange(epsilon, least).Min, r.high.Max)
		r.uniaxial = r.high
	default:
		r.low, r.high = r.whole, r.whole
		r.uniaxial = orRange(omega, r.whole)
	}
}

// biaxialEdges: alpha <= low <= beta <= high <= gamma.
func (r *row) biaxialEdges(m *facts.Material) {
	if !r.whole.Known {
		return
	}
	r.alpha = orRange(m.Alpha, facts.Span(r.whole.Min, math.Max(r.whole.Min, r.whole.Max-r.sep.Min)))
	r.gamma = orRange(m.Gamma, facts.Span(math.Min(r.whole.Max, r.whole.Min+r.sep.Min), r.whole.Max))
	r.beta = orRange(m.Beta, facts.Span(r.alpha.Min, r.gamma.Max))
	r.low = facts.Span(r.alpha.Min, math.Max(r.alpha.Max, r.beta.Max))
	r.high = facts.Span(math.Min(r.beta.Min, r.gamma.Min), r.gamma.Max)
}

func orRange(r, otherwise facts.Range) facts.Range {
	if r.Known {
		return r
	}
	return otherwise
}

// limits are the numbers of a row that most readings are turned away by, close
// together in memory. An unknown range has no ends.
type limits struct{ whole, low, high, sep, sg ends }

type ends struct{ min, max float64 }

func (r *row) limits() limits {
	of := func(x facts.Range) ends {
		if !x.Known {
			return ends{math.Inf(-1), math.Inf(1)}
		}
		return ends{x.Min, x.Max}
	}
	return limits{of(r.whole), of(r.low), of(r.high), of(r.sep), of(r.sg)}
}

// miss reports whether two intervals have no value in common.
func (e ends) miss(o ends) bool { return e.min > o.max || e.max < o.min }

// shows reports whether a figure of that class is published for the material.
func (r *row) shows(class Optic) bool {
	if string(r.class) == string(class) {
		return true
	}
	for _, a := range r.also {
		if string(a) == string(class) {
			return true
		}
	}
	return false
}

// listed joins names for a sentence.
func listed(names []string) string {
	switch len(names) {
	case 0:
		return ""
	case 1:
		return names[0]
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}
