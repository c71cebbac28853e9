package identify

import (
	"cmp"
	"slices"

	"lotpaper/internal/facts"
)

// Possible is a material that a piece of a lot, taken at random, may be.
type Possible struct {
	Material *facts.Material // nil: something that the table has not
	Chance   float64
	// Taken is what the lot is taken for: while no test speaks against the claim,
	// the claim's own materials make up the whole. Else it is Chance.
	Taken float64
	Claim bool
}

// leastPossible is the chance that is left out of MayBe altogether, at most.
const leastPossible = 0.005

// MayBe returns what a piece of the lot may be, the claim first, then the
// likeliest. A tested piece is its claim by the lot model, and any other
// material by its own share; the others follow the expected strangers, split
// by trade frequency and colour. A lot that is doubted, mixed or contradicted,
// or that has no claim, is what the tested stones' own evidence says. bare is
// the verdict on a stone of the lot before any test.
func (v *LotVerdict) MayBe(bare *Verdict, tested []TestedStone) []Possible {
	n := len(bare.table.Materials)
	now, taken := make([]float64, n+1), make([]float64, n+1)
	var claim []*facts.Material
	believed := 0.0 // of the claim before any test, its being something else altogether counted
	for _, m := range v.models {
		claim = m.claim
	}
	alone := len(v.models) == 0 || v.State == Doubted || v.State == Mixed || v.State == Contradicted
	switch {
	case alone && len(tested) == 0:
		bare.spread(now, nil, 0, 1)
	case alone:
		for i := range tested {
			t := &tested[i].Verdict
			t.spread(now, claim, t.Share(claim), 1/float64(len(tested)))
		}
	default:
		for _, m := range v.models {
			for i := range m.stones {
				e := &m.stones[i]
				e.stone.Verdict.spread(now, claim, e.p, 1/float64(v.Of))
			}
			rest := m.rest(0)
			bare.spread(now, claim, 1-rest, float64(m.pieces-m.tested())/float64(v.Of))
			bare.spread(taken, claim, 1, float64(m.pieces)/float64(v.Of))
			believed += (1 - m.untested) * float64(m.pieces) / float64(v.Of)
		}
	}
	if alone || sumOf(bare.table, now, claim) < believed-1e-9 {
		taken = now
	}
	out := make([]Possible, 0, 16)
	for i := range now {
		p := Possible{Chance: now[i], Taken: taken[i]}
		if i < n {
			p.Material = bare.table.Materials[i]
			p.Claim = among(claim, p.Material)
		}
		if p.Chance > 0 || p.Taken > 0 {
			out = append(out, p)
		}
	}
	slices.SortStableFunc(out, func(a, b Possible) int {
		if a.Claim != b.Claim && !alone {
			if a.Claim {
				return -1
			}
			return 1
		}
		return cmp.Compare(b.Chance, a.Chance)
	})
	left := 0.0
	for len(out) > 1 {
		last := out[len(out)-1]
		if left += last.Chance; left > leastPossible || last.Claim {
			break
		}
		out = out[:len(out)-1]
	}
	return out
}

// spread adds the share p to the claim and the rest to all else, each by the
// shares of the stone; everything counts by the weight.
func (v *Verdict) spread(into []float64, claim []*facts.Material, p, weight float64) {
	n := len(v.shares)
	claimed := v.Share(claim)
	for i, m := range v.table.Materials {
		switch {
		case !among(claim, m):
			if claimed < 1 {
				into[i] += weight * (1 - p) * v.shares[i] / (1 - claimed)
			}
		case claimed > 0:
			into[i] += weight * p * v.shares[i] / claimed
		default: // a laboratory's word against every reading
			into[i] += weight * p / float64(len(claim))
		}
	}
	if claimed < 1 {
		into[n] += weight * (1 - p) * v.OpenShare / (1 - claimed)
	}
}

func among(claim []*facts.Material, m *facts.Material) bool {
	return slices.ContainsFunc(claim, func(c *facts.Material) bool { return c == m || c.Name == m.Name })
}

// sumOf adds up the chances of the claim.
func sumOf(t *Table, chances []float64, claim []*facts.Material) float64 {
	sum := 0.0
	for i, m := range t.Materials {
		if among(claim, m) {
			sum += chances[i]
		}
	}
	return sum
}
