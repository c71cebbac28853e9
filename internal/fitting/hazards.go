package fitting

import (
	"slices"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
)

// hazards are what can hurt people of the stones that it likely is.
func hazards(stones []durability.Stone) []answer.PeopleHazard {
	out := []answer.PeopleHazard{}
	for _, s := range durability.Likely(stones) {
		for _, h := range bench.Hazards(s.Material, s.Variety) {
			if !slices.ContainsFunc(out, func(o answer.PeopleHazard) bool {
				return o.Stone == h.Stone && o.Hazard == h.Hazard
			}) {
				out = append(out, h)
			}
		}
	}
	return out
}

// HazardsNamed are what can hurt people of the stones that names stand for.
func HazardsNamed(names ...string) (out []answer.PeopleHazard) {
	for _, name := range names {
		named, f := facts.Resolve(name)
		if f != nil {
			continue
		}
		for _, m := range named.Materials {
			out = append(out, bench.Hazards(m, named.Variety)...)
		}
	}
	return out
}

// HazardsOf are what can hurt people of a lot: of what it is called, and of what
// more than one in twenty of its pieces may be.
func HazardsOf(lot book.Lot, id *bench.LotIdentity) []answer.PeopleHazard {
	out := HazardsNamed(lot.Name(), lot.Called())
	if stones, f := stonesOf(lot, id); f == nil {
		out = append(out, hazards(stones)...)
	}
	return out
}

// Hazards are what can hurt people of the stones that the lot likely is.
func (j *Judgement) Hazards() []answer.PeopleHazard { return hazards(j.stones) }
