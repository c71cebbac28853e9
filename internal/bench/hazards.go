package bench

import (
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/facts"
	"lotpaper/internal/identify"
)

// Hazards are what can hurt people of a material, and of its variety where that
// has its own.
func Hazards(m *facts.Material, v *facts.Variety) (out []answer.PeopleHazard) {
	for _, h := range facts.HazardsOf(m, v) {
		name := m.Short
		if h.Variety != "" {
			name = h.Variety
		}
		out = append(out, answer.PeopleHazard{Stone: name, Hazard: h.Kind, When: h.When, Advice: h.Advice,
			Source: h.Source})
	}
	return out
}

// minded is the share from which it is told that a stone can hurt people.
const minded = 0.05

// hazardWords are what can hurt people of what a stone likely is, but for its
// cutting.
func hazardWords(v *identify.Verdict) []string {
	var list []answer.PeopleHazard
	for _, n := range v.Leading(int(1/minded), minded) {
		for _, m := range n.Members {
			if v.Share([]*facts.Material{m}) >= minded {
				list = append(list, Hazards(m, nil)...)
			}
		}
	}
	return answer.HazardWords(answer.JewelHazards(list))
}

// cautions say that the vendor's name for a lot misleads, and what can hurt
// people of what a piece of it likely is.
func (id *LotIdentity) cautions() []string {
	out := []string{}
	for words := strings.Fields(id.Lot.Claim); len(words) > 0; words = words[1:] { // "spinel balas ruby"
		named, f := facts.Resolve(strings.Join(words, " "))
		if f != nil {
			continue
		}
		if misleads := named.Misleads(); misleads != "" {
			out = append(out, misleads)
		}
		break
	}
	named, _ := facts.Resolve(id.Lot.Name())
	var list []answer.PeopleHazard
	for _, p := range id.MayBe() {
		switch {
		case p.Material == nil || p.Chance < minded:
		case p.Claim:
			list = append(list, Hazards(p.Material, named.Variety)...)
		default:
			list = append(list, Hazards(p.Material, nil)...)
		}
	}
	return append(out, answer.HazardWords(answer.JewelHazards(list))...)
}
