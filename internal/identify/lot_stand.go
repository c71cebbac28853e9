package identify

import (
	"fmt"
	"math"
	"slices"

	"lotpaper/internal/facts"
)

// stand tells how one verdict stands to the claim.
func stand(t TestedStone, claim []*facts.Material) StoneStanding {
	out := StoneStanding{Stone: t.Stone}
	if t.Lab != nil {
		return out.reported(t, claim)
	}
	inside, share := 0, 0.0
	for _, m := range claim {
		if p, ok := t.Verdict.Holds(m); ok {
			inside++
			share += p
		}
	}
	left := len(t.Verdict.Candidates)
	switch {
	case left == 0:
		out.Standing = NotClaim
		out.Why = "nothing fits its readings, the claim least of all: read it again"
	case inside == 0:
		out.Standing = NotClaim
		out.Why = fmt.Sprintf("its readings exclude the claim and leave %s", t.Verdict.Candidates[0].Material.Name)
		if test, excess, ok := t.Verdict.ExcludedBy(claim[0]); ok && len(claim) == 1 {
			out.Why += fmt.Sprintf(" (%s)", distance(test, excess))
		}
	case inside == left && t.Verdict.decided():
		out.Standing = isClaim
		out.Why = "everything else is excluded"
	default:
		out.Standing = openClaim
		out.Why = fmt.Sprintf("the claim is one of %d materials left (share %.2f)", left, share)
		if left == inside {
			out.Why = "nothing else is left, but too little was tested"
		}
	}
	return out
}

// reported is how a stone with a laboratory's report stands.
func (out StoneStanding) reported(t TestedStone, claim []*facts.Material) StoneStanding {
	_, held := t.Verdict.Holds(t.Lab)
	switch {
	case t.Verdict.bench.did != 0 && !held:
		out.Standing = openClaim
		out.Why = fmt.Sprintf("a laboratory reports %s, the readings exclude it: measure again", t.Lab.Name)
	case slices.ContainsFunc(claim, func(m *facts.Material) bool { return m.Name == t.Lab.Name }):
		out.Standing = isClaim
		out.Why = "reported by a laboratory"
	default:
		out.Standing = NotClaim
		out.Why = fmt.Sprintf("a laboratory reports %s", t.Lab.Name)
	}
	return out
}

func distance(test Test, excess float64) string {
	if math.IsInf(excess, 1) {
		return test.String() + ": it cannot show that"
	}
	return fmt.Sprintf("%s, %.1f standard uncertainties outside", test, excess)
}

// decided reports whether enough was tested for a verdict to rest on.
func (v *Verdict) decided() bool {
	const decisive = propertyIndex | propertyGravity | propertySpectrum
	return v.Properties >= 2 && v.bench.have&decisive != 0
}
