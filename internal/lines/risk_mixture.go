package lines

import (
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/chance"
	"lotpaper/internal/costing"
	"lotpaper/internal/identify"
)

// mixture is the belief about a lot's share of stones that are not what it is
// sold as; the zero belief is certain, or not counted.
type mixture struct {
	belief chance.Beta
	not    string // why it is not counted
}

// modelPart is the units of a design that take the same doubtful stones: of
// mixed lots, or still to come from a cutter.
type modelPart struct {
	name   string
	units  int64
	stones []costing.ModelStone
}

// parts are the units of a design by the doubtful stones that they take.
func (m *modelBuilder) parts(d *pricedDesign) []modelPart {
	at := map[string]int{}
	var out []modelPart
	for _, piece := range m.plan.Pieces {
		if piece.Design != d.Name {
			continue
		}
		var names []string
		var stones []costing.ModelStone
		for _, f := range piece.Fills {
			pos, _ := d.PositionNamed(f.Position)
			for _, s := range f.Stones {
				if st, name, ok := m.fromCutter(s.Lot, s.Pieces); ok {
					names, stones = append(names, name), append(stones, st)
				}
				mix := m.mixture(s.Lot)
				if mix.belief == (chance.Beta{}) {
					continue
				}
				each := eachOf(m.bookCost(s.Lot, s.Pieces), s.Pieces)
				fee := m.fee(costing.StoneInput{Setting: pos.Setting, Length: max(pos.LengthMax, pos.LengthMin)})
				names = append(names, fmt.Sprintf("%s of %s", s.Lot, f.Position))
				stones = append(stones, costing.ModelStone{Pieces: s.Pieces, Each: each,
					Others: m.belief("others/"+s.Lot, mix.belief), Wrong: each.Add(fee)})
			}
		}
		name := strings.Join(names, ", ")
		i, known := at[name]
		if !known {
			i = len(out)
			at[name] = i
			out = append(out, modelPart{name: name, stones: stones})
		}
		out[i].units++
	}
	return out
}

// fromCutter is the luck of stones that a cutter is still to bring of the
// dealer's own material: some break and are bought anew, and a lower yield
// takes more of the material.
func (m *modelBuilder) fromCutter(lot string, pieces int64) (costing.ModelStone, string, bool) {
	to := m.ordered[lot]
	if !to.ours || !m.counts["cutter"] {
		return costing.ModelStone{}, "", false
	}
	st := costing.ModelStone{Pieces: pieces, Each: to.each, Cut: m.bookCost(lot, pieces)}
	st.Breakage = m.belief("cutter breakage/"+lot, to.skill.Breakage)
	st.Yield = m.belief("cutter yield/"+lot, to.skill.Yield)
	return st, lot + " from the cutter", st.Breakage != "" || st.Yield != ""
}

// mixture is what is believed of a lot, from its stones that were drawn at
// random and tested.
func (m *modelBuilder) mixture(lot string) mixture {
	if !m.counts["identity"] {
		return mixture{}
	}
	if x, ok := m.mixed[lot]; ok {
		return x
	}
	x := m.mixtureOf(lot)
	m.mixed[lot] = x
	return x
}

// mixtureOf works out what mixture keeps.
func (m *modelBuilder) mixtureOf(lot string) mixture {
	s, id := m.lots[lot], m.identities[lot]
	switch {
	case id == nil:
		return mixture{not: "nobody tested it"}
	case s.Pieces == 1 && s.Facets.Species.Basis == book.LabReported:
		return mixture{}
	case id.Judged.Of > 0 && id.Judged.Shown >= id.Judged.Of:
		return mixture{} // every stone was shown to be the claim
	case id.Judged.Random == 0:
		return mixture{not: "no stone of it was drawn at random and tested"}
	}
	bad, tested := 0, 0
	for i, st := range id.Judged.Stones {
		if i < len(id.Stones) && id.Stones[i].Drawn == identify.Random {
			tested++
			if st.Standing != "claim" {
				bad++
			}
		}
	}
	b, ok := costing.OthersBelief(bad, tested)
	if !ok {
		return mixture{not: "the tests leave other materials possible in every tested stone"}
	}
	return mixture{belief: b}
}
