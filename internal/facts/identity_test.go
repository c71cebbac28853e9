package facts

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

// Typical values lie inside the ranges of their material, and no common material
// lacks a row.
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
	}
}

// leastShares is the number of materials with shares of their hues: raise it
// when one is found, never lower it.
const leastShares = 81

// The hues of every material have a source, and shares are marked as what they
// are: a page or unverified.
func TestColorShares(t *testing.T) {
	shared := 0
	for _, m := range Materials() {
		stated := slices.ContainsFunc(m.ColorShares, func(c ColorShare) bool { return c.Percent > 0 })
		if stated {
			shared++
		}
		if source := m.Source("color_shares"); source == "" || stated != strings.Contains(source, "shares") {
			t.Errorf("%s: hues %v come from %q", m.Name, m.ColorShares, source)
		}
	}
	if shared < leastShares {
		t.Errorf("%d materials have shares of their hues, but they were %d", shared, leastShares)
	}
}

// A cell of hues is read with or without their shares, and each fault is told
// with its file, row and column.
func TestColorShares_Cells(t *testing.T) {
	for _, c := range []struct {
		cell  string
		want  []ColorShare
		fault string
	}{
		{cell: ""},
		{cell: "green;blue", want: []ColorShare{{"green", 0}, {"blue", 0}}},
		{cell: "green 50; blue 30; black", want: []ColorShare{{"green", 50}, {"blue", 30}, {"black", 0}}},
		{cell: "red 33.33;pink 33.33;grey 33.33", want: []ColorShare{{"red", 33.33}, {"pink", 33.33}, {"grey", 33.33}}},
		{cell: "green 100", want: []ColorShare{{"green", 100}}},
		{cell: "teal 50;blue", fault: `"teal" is no plain hue word`},
		{cell: "green;;blue", fault: `"" is no plain hue word`},
		{cell: "green 50;blue;green", fault: "green is there twice"},
		{cell: "green 0;blue", fault: `"green 0" is no hue with its share in percent`},
		{cell: "green -5;blue", fault: `"green -5" is no hue with its share in percent`},
		{cell: "green NaN;blue", fault: `"green NaN" is no hue with its share in percent`},
		{cell: "green half;blue", fault: `"green half" is no hue with its share in percent`},
		{cell: "green 60;blue 50", fault: "the shares add to 110 %, which is over 100"},
		{cell: "green 60;blue 40;red", fault: "the stated shares leave nothing for the other hues"},
		{cell: "green 50;blue 30", fault: "the shares of all hues add to 80 %, which is under 99"},
	} {
		t.Run(c.cell, func(t *testing.T) {
			fault := ""
			defer func() {
				if p := recover(); p != nil {
					fault = fmt.Sprint(p)
				}
				want := c.fault
				if want != "" {
					want = "facts: hues.csv:7: column color_shares: " + want
				}
				if fault != want {
					t.Errorf("the fault is %q, want %q", fault, want)
				}
			}()
			got := colorShares(row{"hues.csv", 7, map[string]string{"color_shares": c.cell}}, "color_shares")
			if !slices.Equal(got, c.want) {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
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
				if !slices.Contains(m.Hues(), h) {
					t.Errorf("%s: a line at %v nm is told of %s stones, which it is not met in", m.Name, l.NM, h)
				}
			}
		}
	}
}
