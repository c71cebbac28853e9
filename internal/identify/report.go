package identify

import (
	"fmt"
	"math"
)

// LabReport is what a laboratory's report says of one stone. Empty fields are
// not stated; zero measures were not given.
type LabReport struct {
	Lab, Number, Date                        string
	Carats                                   float64
	LengthMM, WidthMM, DepthMM               float64
	Species, Nature, Treatment, Origin, Note string
}

// Measured is the stone in hand.
type Measured struct {
	Carats, LengthMM, WidthMM, DepthMM float64
}

// How far the stone in hand may differ from a report and still be its stone
// (common practice: both weigh to 0.01 ct and gauge to 0.1 mm).
const (
	reportCarats = 0.015
	reportMM     = 0.15
)

// Matches reports whether the stone in hand can be the stone of the report, by
// weight and size, and why. A report without a weight matches nothing.
func (r LabReport) Matches(m Measured) (ok bool, why string) {
	if r.Carats == 0 || m.Carats == 0 {
		return false, "a report belongs to a stone by weight and size: the weight is missing"
	}
	if d := math.Abs(r.Carats - m.Carats); d > reportCarats+1e-9 {
		return false, fmt.Sprintf("the report is of a stone of %.2f ct, this one weighs %.2f ct", r.Carats, m.Carats)
	}
	sizes := 0
	for _, p := range [...]struct {
		name      string
		have, say float64
	}{{"length", m.LengthMM, r.LengthMM}, {"width", m.WidthMM, r.WidthMM}, {"depth", m.DepthMM, r.DepthMM}} {
		if p.have == 0 || p.say == 0 {
			continue
		}
		sizes++
		if math.Abs(p.have-p.say) > reportMM+1e-9 {
			return false, fmt.Sprintf("the report gives a %s of %.2f mm, this stone measures %.2f mm", p.name,
				p.say, p.have)
		}
	}
	if sizes == 0 {
		return true, fmt.Sprintf("the weight agrees (%.2f ct); no size was compared", r.Carats)
	}
	return true, fmt.Sprintf("weight and %d measures agree", sizes)
}

// Facets joins what the readings established with what a matching report
// says. A report that disagrees with the readings establishes no species.
func (v *Verdict) Facets(r *LabReport, m Measured) []Facet {
	out := v.facets()
	if r == nil {
		return out
	}
	by := fmt.Sprintf("reported by %s %s", r.Lab, r.Number)
	if r.Date != "" {
		by += " of " + r.Date
	}
	if ok, why := r.Matches(m); !ok {
		for i := range out {
			out[i].How += fmt.Sprintf("; the report of %s %s is not used: %s", r.Lab, r.Number, why)
		}
		return out
	}
	for i, said := range []string{r.Species, r.Nature, r.Treatment, r.Origin} {
		if said == "" {
			continue
		}
		if out[i].Name == "species" && v.Kind != Thin && !v.allows(said) {
			out[i].Established = false
			out[i].How = fmt.Sprintf("%s as %s, but the readings exclude that: measure again", by, said)
			continue
		}
		out[i].Established = true
		out[i].How = by + ": " + said
	}
	return out
}

// allows reports whether a species of that name is left.
func (v *Verdict) allows(name string) bool {
	for _, c := range v.Candidates {
		if c.Material.Name == name || c.Material.Short == name {
			return true
		}
	}
	return false
}
