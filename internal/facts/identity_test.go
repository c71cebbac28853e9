package facts

import (
	"slices"
	"testing"
)

// Typical values lie inside the ranges of their material, the hues that are
// weighed are those that are listed, and no common material lacks a row.
func TestTypicalValues(t *testing.T) {
	for _, m := range Materials() {
		p := m.Typical
		if p.Source == "" {
			if m.Frequency == "common" {
				t.Errorf("%s is common and has no typical values", m.Name)
			}
			continue
		}
		whole := m.RI
		for _, r := range []Range{m.Alpha, m.Gamma, m.Omega, m.Epsilon} {
			switch {
			case !whole.Known:
				whole = r
			case r.Known:
				whole = Span(min(whole.Min, r.Min), max(whole.Max, r.Max))
			}
		}
		const rounding = 1e-9
		if p.RI.Known && (whole.Distance(p.RI.Min) > rounding || whole.Distance(p.RI.Max) > rounding) {
			t.Errorf("%s: typical indices %v lie outside %v", m.Name, p.RI, whole)
		}
		if p.Spot != 0 && (whole.Distance(p.Spot) > rounding || m.Optic != Aggregate) {
			t.Errorf("%s: a spot of %v lies outside %v, or it is no aggregate", m.Name, p.Spot, whole)
		}
		if p.SG != 0 && m.SG.Distance(p.SG) > rounding {
			t.Errorf("%s: typical SG %v lies outside %v", m.Name, p.SG, m.SG)
		}
		if p.RISpread < 0 || p.RISpread > 0.02 || p.SGSpread < 0 || p.SGSpread > 0.1 {
			t.Errorf("%s: spreads %v and %v", m.Name, p.RISpread, p.SGSpread)
		}
		for _, c := range p.Colors {
			if !slices.Contains(m.Colors, c.Hue) {
				t.Errorf("%s: %s is weighed but not listed", m.Name, c.Hue)
			}
		}
		for _, c := range m.Colors {
			if len(p.Colors) > 0 && !slices.ContainsFunc(p.Colors, func(x ColorShare) bool { return x.Hue == c }) {
				t.Errorf("%s: %s is listed but not weighed", m.Name, c)
			}
		}
	}
}

// A material belongs to one series at most, and the members of a series agree
// about its family and whether it is the answer.
func TestSeriesMembers(t *testing.T) {
	of, first := map[string]string{}, map[string]*SeriesMember{}
	for _, s := range SeriesMembers() {
		for _, m := range s.Materials {
			if have := of[m.Name]; have != "" {
				t.Errorf("%s is a member of %s and of %s", m.Name, have, s.Series)
			}
			of[m.Name] = s.Series
		}
		f := first[s.Series]
		if f == nil {
			first[s.Series] = s
			continue
		}
		if f.Family != s.Family || f.Stops != s.Stops || f.ToldApartBy != s.ToldApartBy {
			t.Errorf("the members of %s do not agree: %+v, %+v", s.Series, f, s)
		}
	}
	if of["almandine"] != of["pyrope"] || of["quartz"] == "" || of["glass, lead"] != of["glass, soda-lime"] {
		t.Errorf("almandine %q, pyrope %q, quartz %q, glass %q", of["almandine"], of["pyrope"], of["quartz"],
			of["glass, lead"])
	}
}

// Every line is one that can be seen, named once for its material, and the
// stones that show it have hues that the material is met in.
func TestSpectra(t *testing.T) {
	for _, m := range Materials() {
		seen := map[float64]bool{}
		for _, l := range m.Spectrum {
			if seen[l.NM] || l.NM < 380 || l.NM > 720 {
				t.Errorf("%s: line at %v nm is there twice, or cannot be seen", m.Name, l.NM)
			}
			seen[l.NM] = true
			for _, h := range l.Stones {
				if !slices.Contains(m.Colors, h) {
					t.Errorf("%s: a line at %v nm is told of %s stones, which it is not met in", m.Name, l.NM, h)
				}
			}
		}
	}
}
