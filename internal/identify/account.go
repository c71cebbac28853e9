package identify

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"lotpaper/internal/facts"
)

// Account is a verdict in words: what a gemmologist would write on the paper.
type Account struct {
	Kind         Kind
	Headline     string
	Candidates   []CandidateAccount
	Excluded     []ExclusionAccount // nearest first
	Quarrels     []Quarrel
	NotSeparated []string // what has the same constants as what is left
	Considered   int
	NotJudged    []string // materials without a known index, when an index was read
	Separates    []string // what these readings can and cannot separate, in numbers
	Facets       []Facet
	Cautions     []string
}

// CandidateAccount is one material that is left, with every test.
type CandidateAccount struct {
	Material  *facts.Material
	Share     float64
	Standing  string // fits, within error, against a sign
	Varieties []string
	Tests     []TestAccount
}

// TestAccount is one reading held against one material.
type TestAccount struct {
	Test    string
	Reading string
	Range   string  // of the material; "unknown" when the table has none
	ExcessU float64 // distance outside the range in standard uncertainties; 0 inside; +Inf when it cannot be at all
	Inside  bool
	Source  string
}

// ExclusionAccount is one material that a reading excludes.
type ExclusionAccount struct {
	Material *facts.Material
	Test     string
	Reading  string
	Range    string
	ExcessU  float64 // +Inf for a kind of thing it cannot show
	Reason   string
	Source   string
}

// Facet is one of the four facets of a stone, and how it is known.
type Facet struct {
	Name        string // "species", "nature", "treatment", "origin"
	Established bool
	How         string
}

// Account writes the verdict out. The materials are named as the table names
// them; varieties, if given, are named under the candidates whose colour the
// stone has.
func (v *Verdict) Account(varieties []*facts.Variety) Account {
	return v.AccountNearest(varieties, len(v.excluded))
}

// AccountNearest is Account with at most n exclusions, the nearest: the words
// of all of them take most of the time.
func (v *Verdict) AccountNearest(varieties []*facts.Variety, n int) Account {
	a := Account{Kind: v.Kind, Considered: v.Considered, Cautions: v.cautions(), Facets: v.facets(),
		Separates: v.separates()}
	var readings [tests]string // each worded once
	for t := Test(0); t < tests; t++ {
		if v.bench.done(t) {
			readings[t] = v.reading(t)
		}
	}
	a.Candidates = make([]CandidateAccount, 0, len(v.Candidates))
	for _, c := range v.Candidates {
		ca := CandidateAccount{Material: c.Material, Share: c.Share, Standing: v.standing(c),
			Varieties: v.varieties(c.Material, varieties)}
		for t := Test(0); t < tests; t++ {
			if v.bench.done(t) {
				ca.Tests = append(ca.Tests, v.against(t, int(c.index), readings[t]))
			}
		}
		a.Candidates = append(a.Candidates, ca)
		for _, n := range c.Material.NotSeparated {
			if !slices.Contains(a.NotSeparated, n) {
				a.NotSeparated = append(a.NotSeparated, n)
			}
		}
	}
	excluded := v.Excluded()
	excluded = excluded[:min(n, len(excluded))]
	a.Excluded = make([]ExclusionAccount, 0, len(excluded))
	for _, e := range excluded {
		ta := v.against(e.Test, int(e.index), readings[e.Test])
		var reason string
		if math.IsInf(e.Excess, 1) {
			reason = ta.Test + " " + ta.Reading + ": it shows " + ta.Range
		} else {
			reason = ta.Test + " " + ta.Reading + " lies " + strconv.FormatFloat(e.Excess, 'f', 1, 64) +
				" standard uncertainties outside " + ta.Range
		}
		a.Excluded = append(a.Excluded, ExclusionAccount{Material: e.Material, Test: ta.Test, Reading: ta.Reading,
			Range: ta.Range, ExcessU: e.Excess, Reason: reason, Source: ta.Source})
	}
	a.Quarrels = v.Quarrels()
	if v.NotJudged > 0 {
		for i, m := range v.table.Materials {
			if !v.table.rows[i].whole.Known {
				a.NotJudged = append(a.NotJudged, m.Name)
			}
		}
	}
	a.Headline = v.headline(varieties)
	return a
}

func (v *Verdict) standing(c Candidate) string {
	r := &v.table.rows[c.index]
	colour := v.bench.hues != 0 && r.hues != 0 && v.bench.hues&(r.hues|r.hues.kin()) == 0
	switch {
	case colour || v.opticAgainst(r):
		return againstSign
	case c.Worst > 0:
		return withinError
	}
	return fits
}

// opticAgainst reports whether the polariscope or the figure speaks against a
// material without excluding it.
func (v *Verdict) opticAgainst(r *row) bool {
	return v.bench.against(r) != ""
}

// varieties of a candidate that the stone's colour allows.
func (v *Verdict) varieties(m *facts.Material, all []*facts.Variety) []string {
	var out []string
	for _, x := range all {
		if x.Species != m.Name || v.bench.hues == 0 {
			continue
		}
		var h hue
		for _, w := range x.Colors {
			h |= huesOf(w)
		}
		if h&v.bench.hues != 0 {
			out = append(out, x.Name)
		}
	}
	return out
}

// against is one done test of the stone held against material i.
func (v *Verdict) against(t Test, i int, reading string) TestAccount {
	b, r, m := &v.bench, &v.table.rows[i], v.table.Materials[i]
	a := TestAccount{Test: t.String(), Reading: reading, Source: m.Source(t.column())}
	switch t {
	case TestEdge:
		a.Range, a.ExcessU = r.text.whole, b.edgeExcess(b.low, b.uEdge, r.whole)
	case TestLow:
		a.Range, a.ExcessU = r.text.low, b.edgeExcess(b.low, b.uEdge, r.low)
	case TestHigh:
		a.Range, a.ExcessU = r.text.high, b.edgeExcess(b.high, b.uEdge, r.high)
	case TestSpot:
		a.Range, a.ExcessU = r.text.whole, b.edgeExcess(b.spot, b.uSpot, r.whole)
	case TestSeparation:
		a.Range, a.ExcessU = r.text.sep, math.Max(0, b.sep-r.sep.Max)/b.uSep
	case TestFull:
		a.Range, a.ExcessU = r.text.sep, b.fullExcess(r.sep)
	case TestSG:
		a.Range, a.ExcessU = r.text.sg, outside(b.sg, b.uSG, r.sg)
	case TestLiquid:
		a.Range = r.text.sg
		for _, l := range b.liquids {
			a.ExcessU = math.Max(a.ExcessU, b.liquidExcess(l, r.sg))
		}
	case TestOptic, TestFigure:
		a.Range = r.text.optic
		if t == TestOptic && b.opticExcludes(r) || t == TestFigure && b.figureExcludes(r, 0) {
			a.ExcessU = math.Inf(1)
		}
	case TestPleochroism:
		a.Range = r.text.pleo
		if b.pleo >= 2 && r.class == facts.Isotropic {
			a.Range, a.ExcessU = "none: it is singly refractive", math.Inf(1)
		}
	case TestSpectrum:
		a.Range = r.text.lines
	case TestLongWave:
		a.Range = r.text.long
	case TestShortWave:
		a.Range = r.text.short
	case TestColour:
		a.Range = r.text.colours
	case TestLook:
		a.Range, a.Source = clearText(m), m.Typical.Source
	}
	if t >= TestFilter {
		a.Range, a.Source = r.signText(t)
	}
	a.Inside = a.ExcessU == 0
	a.Range += b.beyondGem(t, a.ExcessU, m)
	return a
}

// facets: what is known of the four, from readings alone.
func (v *Verdict) facets() []Facet {
	species := Facet{Name: "species"}
	switch v.Kind {
	case Established:
		species.Established = true
		species.How = fmt.Sprintf("%s, %s of all that it can be, by %s", v.Named.Name, percent(v.Named.Share),
			listed(v.bench.grounds()))
	case Likely:
		species.How = fmt.Sprintf("likely %s, %s of all that it can be", v.Named.Name, percent(v.Named.Share))
	case Open:
		species.How = fmt.Sprintf("no answer has a share of %.0f %%; no reading excludes %d of %d materials",
			100*likelyFrom, len(v.Candidates), v.Considered)
	case None:
		species.How = "the readings fit nothing in the table"
	default:
		species.How = "too little was tested"
	}
	nature := "not established: a grown stone has the constants of the natural one; growth features or a laboratory " +
		"must tell"
	if g := v.growth(); len(g) > 0 {
		nature = "pointed to, not established: " + strings.Join(g, "; ")
	}
	return []Facet{
		species,
		{Name: "nature", How: nature},
		{Name: "treatment", How: "not established by constants; look for its signs, or ask a laboratory"},
		{Name: "origin", How: "not established: no bench test tells where a stone was found"},
	}
}

// separates says what these readings can do for this stone, in numbers.
func (v *Verdict) separates() []string {
	b := &v.bench
	var out []string
	if b.low.read && !b.low.over {
		out = append(out, fmt.Sprintf("an edge is known to ±%.4f: at %g standard uncertainties it excludes materials "+
			"whose range ends more than %.4f away", b.uEdge, b.k, b.k*b.uEdge))
	}
	if b.spot.read && !b.spot.over {
		out = append(out, fmt.Sprintf("a spot reading is known to ±%.3f: it excludes only what lies more than %.3f "+
			"away; a flat facet would do three times better", b.uSpot, b.k*b.uSpot))
	}
	if b.done(TestSeparation) {
		out = append(out, fmt.Sprintf("the birefringence of %.3f is a lower bound: it excludes materials of less "+
			"than %.3f, none of more", b.sep, math.Max(0, b.sep-b.k*b.uSep)))
	}
	if b.turned.n >= 3 {
		out = append(out, "turned: "+b.turned.why(b.rule))
	}
	if b.done(TestSG) {
		out = append(out, fmt.Sprintf("the specific gravity is known to ±%.3f: it excludes materials whose range "+
			"ends more than %.3f away", b.uSG, b.k*b.uSG))
		for _, p := range v.pairs(4) {
			if g := gap(p[0].Material.SG, p[1].Material.SG); g > 0 && g < (b.k+1.645)*b.uSG {
				out = append(out, fmt.Sprintf("SG cannot tell %s (%s) from %s (%s) on this stone: the ranges are "+
					"%.2f apart, a reading would have to be good to ±%.3f", p[0].Material.Name,
					rangeText(p[0].Material.SG, 2), p[1].Material.Name, rangeText(p[1].Material.SG, 2), g,
					g/(b.k+1.645)))
			}
		}
	}
	if v.Kind == Open || v.Kind == Likely {
		for _, p := range v.pairs(3) {
			a, b := p[0].Material, p[1].Material
			if ct, ok := SmallestWeight(a, b, v.settings.Balance, 3, v.bench.k); ok {
				out = append(out, fmt.Sprintf("SG tells %s from %s from %.3g ct on, on a balance of %g ct, three "+
					"repeats, water temperature noted", a.Name, b.Name, ct, v.settings.Balance))
			} else if a.SG.Known && b.SG.Known {
				out = append(out, fmt.Sprintf("SG never tells %s (%s) from %s (%s)", a.Name, rangeText(a.SG, 2), b.Name,
					rangeText(b.SG, 2)))
			}
		}
	}
	return out
}

// pairs of the best n candidates.
func (v *Verdict) pairs(n int) [][2]Candidate {
	var out [][2]Candidate
	best := v.Candidates[:min(n, len(v.Candidates))]
	for i := range best {
		for j := i + 1; j < len(best); j++ {
			out = append(out, [2]Candidate{best[i], best[j]})
		}
	}
	return out
}

// gap between two ranges: 0 when they touch or one is unknown.
func gap(a, b facts.Range) float64 {
	if !a.Known || !b.Known || a.Overlaps(b) {
		return 0
	}
	return math.Max(a.Min, b.Min) - math.Min(a.Max, b.Max)
}

// cautions for the tests that were done, and the one that always holds.
func (v *Verdict) cautions() []string {
	var out []string
	for _, c := range []struct {
		tests []Test
		text  string
	}{
		{[]Test{TestEdge, TestLow, TestHigh, TestSpot}, CautionRefractometer},
		{[]Test{TestLiquid}, CautionLiquids},
		{[]Test{TestLongWave, TestShortWave}, CautionUltraviolet},
	} {
		if slices.ContainsFunc(c.tests, v.bench.done) {
			out = append(out, c.text)
		}
	}
	if v.Kind != Established { // when a further test is wanted
		out = append(out, CautionHarm)
	}
	return append(out, CautionBench)
}

// The cautions of the bench (common practice); local rules come first.
const (
	CautionRefractometer = "the refractometer's contact liquid is poisonous: ventilate, keep it off the skin, wipe " +
		"stone and glass after each reading"
	CautionLiquids = "heavy liquids are poisonous: gloves, ventilation, no open bottle, wash the stone; never " +
		"for porous stones, opal, pearl, turquoise or assembled stones"
	CautionUltraviolet = "ultraviolet lamps hurt eyes and skin: glasses that stop ultraviolet, or a viewing cabinet"
	CautionHarm        = "hot needle, acid and hardness tests destroy: never on a cut stone"
	CautionBench       = "a bench identification is no laboratory report"
)
