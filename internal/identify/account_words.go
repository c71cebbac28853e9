package identify

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/facts"
)

func (v *Verdict) headline() string {
	names := func(n int) string {
		var out []string
		for _, c := range v.Candidates[:min(n, len(v.Candidates))] {
			out = append(out, c.Material.Name)
		}
		if rest := len(v.Candidates) - n; rest > 0 {
			out = append(out, fmt.Sprintf("%d more", rest))
		}
		return listed(out)
	}
	switch v.Kind {
	case Single:
		return fmt.Sprintf("%s: the only one of %d materials that the readings leave", names(1), v.Considered)
	case None:
		return fmt.Sprintf("none of %d materials fits the readings; read again before going on", v.Considered)
	case Thin:
		if v.bench.did == 0 {
			return "nothing was tested"
		}
		if len(v.Candidates) == 1 && v.doubt() != "" {
			return fmt.Sprintf("%s is the only one of %d materials left, but %s: read again, or think of a material "+
				"that the table has not", names(1), v.Considered, v.doubt())
		}
		if len(v.Candidates) == 1 {
			return fmt.Sprintf("%s is the only one of %d materials left, but a single kind of reading is too little "+
				"to rest on", names(1), v.Considered)
		}
		return fmt.Sprintf("too little was tested to say: %d of %d materials are left", len(v.Candidates), v.Considered)
	}
	return fmt.Sprintf("not told apart: %s; %d of %d materials are left", names(3), len(v.Candidates), v.Considered)
}

func rangeText(r facts.Range, digits int) string {
	switch {
	case !r.Known:
		return "unknown"
	case r.Min == r.Max:
		return fmt.Sprintf("%.*f", digits, r.Min)
	}
	return fmt.Sprintf("%.*f to %.*f", digits, r.Min, digits, r.Max)
}

func opticText(m *facts.Material) string {
	text := cmp.Or(string(m.Optic), "unknown")
	if m.Sign != "" {
		text += " " + m.Sign
	}
	if m.AnomalousDR {
		text += ", may look doubly refractive by strain"
	}
	for _, o := range m.AlsoShows {
		text += ", also met as " + string(o)
	}
	return text
}

func numbers(xs []float64) string {
	var out []string
	for _, x := range xs {
		out = append(out, fmt.Sprintf("%g", x))
	}
	if len(out) == 0 {
		return ""
	}
	return strings.Join(out, ", ") + " nm"
}

// reading is what was read in the test, with its uncertainty.
func (v *Verdict) reading(t Test) string {
	b := &v.bench
	edgeText := func(e edge, u float64) string {
		if e.over {
			return fmt.Sprintf("above %.2f", e.n)
		}
		return fmt.Sprintf("%.3f ± %.4f", e.n, u)
	}
	glowText := func(g glow) string {
		text := [4]string{"inert", "weak", "moderate", "strong"}[min(g.strength, 3)]
		if g.hues != 0 && g.strength > 0 {
			text += " " + g.hues.String()
		}
		return text
	}
	switch t {
	case TestEdge, TestLow:
		return edgeText(b.low, b.uEdge)
	case TestHigh:
		return edgeText(b.high, b.uEdge)
	case TestSpot:
		return edgeText(b.spot, b.uSpot)
	case TestSeparation, TestFull:
		return fmt.Sprintf("%.3f ± %.4f", b.sep, b.uSep)
	case TestSG:
		return fmt.Sprintf("%.3f ± %.3f", b.sg, b.uSG)
	case TestLiquid:
		var out []string
		for _, l := range b.liquids {
			out = append(out, fmt.Sprintf("%s at %.2f", l.Result, l.SG))
		}
		return strings.Join(out, ", ")
	case TestOptic:
		return string(b.optic)
	case TestFigure:
		return strings.TrimSpace(string(b.optic) + " " + map[int8]string{1: "+", -1: "-"}[b.sign])
	case TestPleochroism:
		return [4]string{"none", "weak", "moderate", "strong"}[min(max(b.pleo, 0), 3)]
	case TestSpectrum:
		return numbers(b.lines)
	case TestLongWave:
		return glowText(b.long)
	case TestShortWave:
		return glowText(b.short)
	}
	switch t {
	case TestFilter:
		return b.filter
	case TestThermal:
		return b.thermal
	case TestElectrical:
		return b.electrical
	case TestFeature:
		return strings.Join(b.features, ", ")
	}
	return b.hues.String()
}

// signText is what is published of a material under one of the tests by sign.
func (r *row) signText(t Test) (results, source string) {
	var out, sources []string
	test := signTests[t-TestFilter]
	for _, s := range r.signs {
		if s.Test != test {
			continue
		}
		text := s.Result
		if !s.Usual {
			text = "now and then " + text
		}
		if s.Stones != "" {
			text += " (" + s.Stones + ")"
		}
		out = append(out, text)
		if !slices.Contains(sources, s.Source) {
			sources = append(sources, s.Source)
		}
	}
	return cmp.Or(strings.Join(out, "; "), "unknown"), strings.Join(sources, "; ")
}

// String lists the hues of the set.
func (h hue) String() string {
	var out []string
	for i, n := range hueNames {
		if h&(1<<i) != 0 {
			out = append(out, n)
		}
	}
	return strings.Join(out, " ")
}

var hueNames = [...]string{"red", "orange", "yellow", "green", "blue", "violet", "pink", "brown", "white", "grey",
	"black", "colourless"}
