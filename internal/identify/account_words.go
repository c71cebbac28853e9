package identify

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"lotpaper/internal/facts"
)

// headline is what a gemmologist would write first: what it is with its share,
// by what, and what stays open.
func (v *Verdict) headline(varieties []*facts.Variety) string {
	name := func() string {
		n, inside := v.Named.Name, ""
		switch {
		case v.Named.Level == MaterialLevel:
			n = v.Named.Nearest.Short
			if kinds := v.varieties(v.Named.Nearest, varieties); len(kinds) == 1 && !strings.Contains(kinds[0], n) {
				inside = " (" + kinds[0] + ")"
			}
		case !strings.Contains(n, "("):
			inside = " (" + v.Named.Nearest.Short + ")"
		}
		return n + inside + ", " + percent(v.Named.Share)
	}
	leading := func() string {
		var out []string
		for _, n := range v.Leading(4, 0.01) {
			out = append(out, n.Name+" "+percent(n.Share))
		}
		return strings.Join(out, ", ")
	}
	switch v.Kind {
	case Established:
		return fmt.Sprintf("%s: established by %s; open: nature, treatment, origin", name(), listed(v.bench.grounds()))
	case Likely:
		if v.Guard != "" {
			return fmt.Sprintf("%s: likely, not established, because %s", name(), v.Guard)
		}
		return fmt.Sprintf("%s: likely by %s; established from %g %% on", name(), listed(v.bench.grounds()),
			100*v.bench.least())
	case None:
		if v.bench.clash {
			return v.clashWords()
		}
		if v.OpenShare >= openFrom {
			return fmt.Sprintf("nothing that fits: something that the table of %d materials has not is as likely as "+
				"anything in it; read again, or ask a laboratory", v.Considered)
		}
		if q := v.Quarrels(); len(q) > 0 {
			return fmt.Sprintf("none of %d materials fits: %s", v.Considered, q[0].Text)
		}
		return fmt.Sprintf("none of %d materials fits the readings; read again before going on", v.Considered)
	case Thin:
		if v.bench.did == 0 {
			return "nothing was tested"
		}
		return fmt.Sprintf("too little was tested to name it: %s", cmp.Or(leading(), "nothing has a share of 1 %"))
	}
	return "open: " + leading()
}

// percent words a share, never rounded up to certainty.
func percent(share float64) string {
	if share >= 0.9995 {
		return "over 99.9 %"
	}
	return fmt.Sprintf("%.1f %%", math.Floor(share*1000)/10)
}

// grounds are the kinds of readings that an answer rests on.
func (b *bench) grounds() []string {
	var out []string
	for _, g := range []struct {
		done bool
		name string
	}{
		{b.low.read || b.spot.read, "index"}, {b.done(TestSeparation) || b.done(TestFull), "birefringence"},
		{b.done(TestSG) || b.done(TestLiquid), "gravity"}, {b.done(TestFigure), "figure"},
		{b.rotated != "" && !b.done(TestFigure), "turning"}, {b.done(TestOptic), "polariscope"},
		{b.pleo >= 0, "pleochroism"}, {len(b.lines) > 0, "spectrum"},
	} {
		if g.done {
			out = append(out, g.name)
		}
	}
	if len(out) == 0 {
		return []string{"signs"}
	}
	return out
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

// lineText names the published lines, and the stones that show them when not
// all do.
func lineText(lines []facts.SpectralLine) string {
	var out []string
	for _, l := range lines {
		text := fmt.Sprintf("%g", l.NM)
		if len(l.Stones) > 0 {
			text += " (" + strings.Join(l.Stones, ", ") + ")"
		}
		out = append(out, text)
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
		return cmp.Or(numbers(b.lines), "no line seen")
	case TestLook:
		return Transparencies[b.clear]
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
	case TestLookSign:
		return strings.Join(b.looks, ", ")
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
		if !s.often() {
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
