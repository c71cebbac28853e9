package identify

import "lotpaper/internal/facts"

// Worth is what the pieces of a lot are worth, in any one unit.
type Worth struct {
	Stone func(stone string) float64      // a tested stone, as the claim
	Rest  float64                         // an untested piece on average, as the claim
	As    func(m *facts.Material) float64 // a piece as another material; nil: nothing
}

// Loss is what is expected to be lost when the lot is sold or paid for as its
// claim: each piece's chance of being something else times what it would bring
// less. It is an expectation, never a bound.
func (v *LotVerdict) Loss(w Worth) float64 {
	loss := 0.0
	for _, m := range v.models {
		found, brings := 0.0, 0.0 // of the strangers found, for those in the rest
		for i := range m.stones {
			e := &m.stones[i]
			as := m.asOther(e, w)
			loss += (1 - e.p) * max(0, w.Stone(e.stone.Stone)-as)
			if e.flagged {
				found++
				brings += as
			}
		}
		if found > 0 {
			brings /= found
		}
		loss += float64(m.pieces-m.tested()) * m.rest(0) * max(0, w.Rest-brings)
	}
	return loss
}

// asOther is what a tested stone brings as what it probably is, when it is not
// the claim.
func (m *lotModel) asOther(e *evidence, w Worth) float64 {
	if w.As == nil {
		return 0
	}
	v := &e.stone.Verdict
	sum, weight := 0.0, v.OpenShare
	for i, x := range v.table.Materials {
		if v.shares[i] > 0 && !m.is(x) {
			sum += v.shares[i] * w.As(x)
			weight += v.shares[i]
		}
	}
	if weight == 0 {
		return 0
	}
	return sum / weight
}
