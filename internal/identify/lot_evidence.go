package identify

import (
	"fmt"
	"math"
	"slices"

	"lotpaper/internal/facts"
)

// evidence is what one tested stone says of the claim of its lot, on its own.
type evidence struct {
	stone  *TestedStone
	random bool
	share  float64 // of the claim
	// Likelihoods of the readings under the claim and under anything else, and
	// under each material of the table and, last, the open set.
	claim, other float64
	each         []float64
	before       []float64 // shares of the same before any test but the colour; 0 for the claim
	lab          bool      // a laboratory reports the claim
	quarrels     bool      // a laboratory reports what the readings exclude
	flagged      bool      // it is not the claim
	doubted      bool      // it speaks against the claim, without deciding
	established  bool      // as the claim
	named        Named
	p            float64 // chance that it is the claim
}

// A stone is flagged from its own evidence alone: a share of the claim up to
// flagShare, when the readings are at least ten times as likely under anything
// else. It is doubted with a share below a half and readings three times as
// likely. A share alone does neither: many materials are blue or green, and
// nothing speaks against a sapphire that is seen to be doubly refractive.
const (
	flagShare   = 0.02
	flagFactor  = 10
	doubtShare  = 0.5
	doubtFactor = 3
	plainChance = 0.95
	labChance   = 0.999 // of a matching report of the claim
)

// plain reports whether the stone is the claim nearly for certain.
func (e *evidence) plain() bool { return e.p >= plainChance && e.share >= doubtShare && !e.flagged }

// evidenceOf weighs one stone's verdict against the claim.
func evidenceOf(t *TestedStone, claim []*facts.Material) evidence {
	v := &t.Verdict
	e := evidence{stone: t, random: t.Drawn == Random, named: v.Named}
	prior, open := v.priors()
	e.before = append(prior, open)
	is := func(m *facts.Material) bool {
		return slices.ContainsFunc(claim, func(c *facts.Material) bool { return c == m || c.Name == m.Name })
	}
	e.each = make([]float64, len(prior)+1)
	before := 0.0
	for i, m := range v.table.Materials {
		if prior[i] > 0 {
			e.each[i] = v.shares[i] / prior[i]
		}
		if is(m) {
			before += prior[i]
			e.share += v.shares[i]
			e.each[i], e.before[i] = 0, 0 // no other material
		}
	}
	e.each[len(prior)] = v.OpenShare / open
	before = min(max(before, 1e-9), 1-1e-9)
	e.claim, e.other = e.share/before, max(0, 1-e.share)/(1-before)
	inside := 0
	for _, m := range v.Named.Members {
		if is(m) {
			inside++
		}
	}
	e.established = v.Kind == Established && e.share >= likelyFrom
	e.flagged = e.share <= flagShare && e.claim <= e.other/flagFactor || v.Kind == Established && inside == 0
	e.doubted = !e.flagged && (e.share < doubtShare && e.claim < e.other/doubtFactor || v.Kind == None)
	if t.Lab == nil {
		return e
	}
	switch _, held := v.Holds(t.Lab); {
	case v.bench.did != 0 && !held:
		e.quarrels, e.flagged, e.established = true, false, false
	case is(t.Lab):
		e.lab, e.share, e.flagged, e.doubted, e.established = true, labChance, false, false, true
		e.claim, e.other = labChance/before, (1-labChance)/(1-before)
		clear(e.each)
	default:
		e.flagged, e.doubted, e.established = true, false, false
	}
	return e
}

// priors are the shares of all materials, and of the open set, before any test
// but the stone's colour.
func (v *Verdict) priors() (each []float64, open float64) {
	frequencies := v.table.frequencies(&v.settings)
	open = openPrior
	if v.bench.hues != 0 {
		open *= openColour
	}
	total := open
	each = make([]float64, len(frequencies), len(frequencies)+1)
	for i := range each {
		each[i] = v.table.rows[i].prior(frequencies[i], v.bench.hues)
		total += each[i]
	}
	for i := range each {
		each[i] /= total
	}
	return each, open / total
}

// standing words how the stone stands to the claim.
func (e *evidence) standing(claim []*facts.Material) StoneStanding {
	out := StoneStanding{Stone: e.stone.Stone, Share: e.share, Chance: e.p}
	v := &e.stone.Verdict
	switch {
	case e.quarrels:
		out.Standing = openClaim
		out.Why = fmt.Sprintf("a laboratory reports %s, the readings exclude it: measure again", e.stone.Lab.Name)
	case e.lab:
		out.Standing, out.Why = isClaim, "reported by a laboratory"
	case e.flagged && e.stone.Lab != nil:
		out.Standing, out.Why = NotClaim, fmt.Sprintf("a laboratory reports %s", e.stone.Lab.Name)
	case e.flagged:
		out.Standing = NotClaim
		out.Why = e.whyNot(claim)
	case e.plain():
		out.Standing = isClaim
		out.Why = fmt.Sprintf("the claim has a share of %s", percent(e.share))
	default:
		out.Standing = openClaim
		out.Why = e.undecided()
		switch {
		case v.bench.clash:
			out.Why = v.clashWords()
		case v.Kind == None:
			out.Why = "nothing fits its readings: read it again"
		case e.doubted:
			out.Why += "; its readings speak against the claim"
		}
	}
	return out
}

// undecided says what the readings of a stone alone leave open.
func (e *evidence) undecided() string {
	if e.stone.Verdict.Kind == Thin {
		return "too little was tested to name it alone"
	}
	why := "its readings alone give the claim " + percent(e.share)
	if leading := e.stone.Verdict.Leading(1, 0.05); len(leading) > 0 && leading[0].Share > e.share {
		why += fmt.Sprintf(" and %s %s", leading[0].Name, percent(leading[0].Share))
	}
	return why
}

// whyNot says what a flagged stone is instead, and which reading says so.
func (e *evidence) whyNot(claim []*facts.Material) string {
	v := &e.stone.Verdict
	var why string
	leading := v.Leading(1, 0.05)
	switch {
	case v.Kind == Established || v.Kind == Likely:
		why = fmt.Sprintf("it is %s, %s", v.Named.Name, percent(v.Named.Share))
	case v.Kind == None || len(leading) == 0:
		why = "nothing fits its readings, the claim least of all: read it again"
	default:
		why = fmt.Sprintf("the claim has a share of %s beside %s", percent(e.share), leading[0].Name)
	}
	if len(claim) == 1 {
		if test, excess, ok := v.ExcludedBy(claim[0]); ok {
			why += "; the claim is excluded by " + test.String()
			if !math.IsInf(excess, 1) {
				why += fmt.Sprintf(", %.1f standard uncertainties outside", excess)
			}
		}
	}
	return why
}

// How a tested stone stands to the claim of its lot.
const (
	isClaim   = "claim"
	openClaim = "claim among others"
	NotClaim  = "not the claim"
)
