package identify

import (
	"math"
	"slices"
	"strings"
	"testing"

	"lotpaper/internal/facts"
)

func TestAccount_NamesWhatIsNotEstablished(t *testing.T) {
	o := Observations{Pairs: pair(1.762, 1.770), Optic: OpticUniaxialNeg, SG: 4.00, SGU: 0.02, Colour: "blue"}
	v := Stone(shared, &o, &Settings{})
	a := v.Account(facts.Varieties())
	if a.Kind != Established || a.Candidates[0].Material.Name != "corundum" {
		t.Fatalf("%s: %v", a.Kind, names(v))
	}
	if !slices.ContainsFunc(a.NotSeparated, func(s string) bool { return strings.Contains(s, "synthetic") }) {
		t.Errorf("the synthetic is not named: %v", a.NotSeparated)
	}
	for _, f := range a.Facets {
		if f.Established != (f.Name == "species") || f.How == "" {
			t.Errorf("facet %+v", f)
		}
	}
	if !slices.ContainsFunc(a.Candidates[0].Varieties, func(s string) bool { return strings.Contains(s, "sapphire") }) {
		t.Errorf("varieties of a blue corundum: %v", a.Candidates[0].Varieties)
	}
	if !slices.Contains(a.Cautions, CautionRefractometer) || !slices.Contains(a.Cautions, CautionBench) {
		t.Errorf("cautions %v", a.Cautions)
	}
	for _, x := range a.Candidates[0].Tests {
		if x.Reading == "" || x.Range == "" || x.Source == "" {
			t.Errorf("test %+v", x)
		}
	}
	for i, e := range a.Excluded {
		if !(e.ExcessU > 3) || e.Reason == "" || e.Source == "" {
			t.Errorf("%s: %v, %q, source %q", e.Material.Name, e.ExcessU, e.Reason, e.Source)
		}
		if i > 0 && e.ExcessU < a.Excluded[i-1].ExcessU {
			t.Errorf("%s is out of order", e.Material.Name)
		}
	}
}

// What a reading can do for this stone is said in numbers.
func TestAccount_Separates(t *testing.T) {
	o := Observations{Pairs: pair(1.660, 1.676), Weighing: Weighing{Air: 0.80, Water: 0.545, Balance: 0.01},
		Optic: OpticDoubly}
	v := Stone(shared, &o, &Settings{})
	text := strings.Join(v.Account(nil).Separates, "\n")
	for _, want := range []string{"±0.0018", "lower bound", "SG cannot tell spodumene (3.15 to 3.21) from"} {
		if !strings.Contains(text, want) {
			t.Errorf("lacks %q:\n%s", want, text)
		}
	}
}

// A shadow edge's range is not the material's whole range: the low edge of a
// spodumene never passes beta, and the account says so.
func TestAccount_ShadowEdges(t *testing.T) {
	o := Observations{Pairs: pair(1.660, 1.676)}
	v := Stone(shared, &o, &Settings{})
	m := facts.MaterialNamed("spodumene")
	for _, c := range v.Account(nil).Candidates {
		if c.Material != m {
			continue
		}
		if got, want := c.Tests[0].Range, rangeText(facts.Span(m.Alpha.Min, m.Beta.Max), 3); got != want {
			t.Errorf("low edge of spodumene: %s, want %s", got, want)
		}
		if got, want := c.Tests[1].Range, rangeText(facts.Span(m.Beta.Min, m.Gamma.Max), 3); got != want {
			t.Errorf("high edge of spodumene: %s, want %s", got, want)
		}
	}
}

func TestChartModel(t *testing.T) {
	o := Observations{Pairs: pair(1.660, 1.676), SG: 3.18, SGU: 0.02}
	v := Stone(shared, &o, &Settings{})
	boxes := len(v.Candidates) + 3
	m := v.ChartModel(boxes)
	if len(m.Boxes) != boxes || m.Boxes[0].Excluded || !m.Boxes[boxes-1].Excluded || m.Reason != "" {
		t.Fatalf("%+v", m)
	}
	if !m.Cross.NKnown || !m.Cross.SGKnown || m.Cross.NAt != 1.668 || m.Cross.SGAt != 3.18 ||
		math.Abs(m.Cross.SG.Max-3.24) > 1e-9 {
		t.Errorf("cross %+v", m.Cross)
	}
	for _, b := range m.Boxes {
		outside := m.N.Distance(b.N.Min) + m.N.Distance(b.N.Max) + m.SG.Distance(b.SG.Min) + m.SG.Distance(b.SG.Max)
		if !m.N.Known || !m.SG.Known || outside > 0 {
			t.Errorf("%s lies outside the picture", b.Name)
		}
	}
	v = Stone(shared, &Observations{Pairs: []Pair{{Low: Edge{Over: true}}}}, &Settings{})
	if m := v.ChartModel(5); !m.Cross.NOverLimit || m.Cross.SGKnown || m.Reason != "no SG was measured" {
		t.Errorf("over the limit: %+v, %q", m.Cross, m.Reason)
	}
}

func TestFacets_Report(t *testing.T) {
	o := Observations{Pairs: pair(1.762, 1.770), Optic: OpticUniaxialNeg, SG: 4.00, SGU: 0.02}
	v := Stone(shared, &o, &Settings{})
	r := &LabReport{Lab: "Lab", Number: "17", Carats: 2.04, LengthMM: 8.1, WidthMM: 6.3, Species: "corundum",
		Nature: "natural", Treatment: "no indications of heating"}
	f := v.Facets(r, Measured{Carats: 2.04, LengthMM: 8.05, WidthMM: 6.3})
	if !f[1].Established || !f[2].Established || f[3].Established || !strings.Contains(f[1].How, "Lab 17") {
		t.Errorf("%+v", f)
	}
	for name, m := range map[string]Measured{"weight": {Carats: 2.10, LengthMM: 8.1}, "size": {Carats: 2.04,
		LengthMM: 7.2}, "none": {}} {
		if f := v.Facets(r, m); f[1].Established || !strings.Contains(f[1].How, "is not used") {
			t.Errorf("%s: %+v", name, f[1])
		}
	}
	r.Species = "spinel (natural)"
	if f := v.Facets(r, Measured{Carats: 2.04}); f[0].Established || !strings.Contains(f[0].How, "exclude") {
		t.Errorf("a report against the readings: %+v", f[0])
	}
}

func TestValidate(t *testing.T) {
	for code, o := range map[string]Observations{
		"index-impossible":         {Spot: Edge{N: 16.6}},
		"edges-swapped":            {Pairs: pair(1.676, 1.660)},
		"uncertainty-impossible":   {RIU: -1},
		"birefringence-impossible": {Birefringence: -0.01},
		"optic-unknown":            {Optic: "triaxial"},
		"sg-impossible":            {SG: -3},
		"weight-in-water":          {Weighing: Weighing{Air: 2, Water: 2.5}},
		"weight-not-positive":      {Weighing: Weighing{Air: -2, Water: 1}},
		"liquid-unknown":           {Liquids: []Liquid{{SG: 3.32, Result: "hovers"}}},
		"strength-unknown":         {LongWave: Glow{Strength: "blinding"}},
		"line-impossible":          {Lines: []float64{4370}},
		"maximum-of-nothing":       {BirefringenceMax: true, SG: 3.18},
		"transparency-unknown":     {Look: Look{Transparency: "murky"}},
	} {
		faults := o.Validate()
		if len(faults) == 0 || faults[0].Code != code || faults[0].Mend == "" {
			t.Errorf("%s: %v", code, faults)
		}
	}
	nan := math.NaN()
	for _, o := range []Observations{{Spot: Edge{N: nan}}, {RIU: nan}, {Birefringence: nan}, {SG: nan},
		{SG: 3, SGU: nan}, {Lines: []float64{nan}}, {Weighing: Weighing{Air: nan, Water: 1}},
		{Weighing: Weighing{Air: 2, Water: nan}}, {Liquids: []Liquid{{SG: nan, Result: Sinks}}},
		{Liquids: []Liquid{{SG: 3, U: nan, Result: Sinks}}}, {SpotU: nan}, {BirefringenceU: nan}} {
		if len(o.Validate()) == 0 {
			t.Errorf("no number was accepted: %+v", o)
		}
	}
	o := Observations{Pairs: []Pair{{Low: Edge{N: 1.30}}}, SG: 9,
		Pleochroism: Pleochroism{Strength: "weak", Colours: 2}}
	if faults := o.Validate(); len(faults) > 0 {
		t.Errorf("readings of no gem are a verdict, not a fault: %v", faults)
	}
}

func BenchmarkAccount(b *testing.B) {
	o := Observations{Pairs: pair(1.660, 1.676), Optic: OpticDoubly, SG: 3.21, SGU: 0.03}
	v := Stone(shared, &o, &Settings{})
	varieties := facts.Varieties()
	b.ReportAllocs()
	for b.Loop() {
		v.Account(varieties)
	}
}

// The account of a stone whose reading lies outside the gem range and inside
// the mineral's says so, and by which page: zinc-rich spinels of Ceylon read
// up to 1.754 (Gems & Gemology, Lab Notes, Spring 2019).
func TestAccount_BeyondTheGemRange(t *testing.T) {
	o := Observations{Pairs: []Pair{{Low: Edge{N: 1.745}}}, SG: 3.60, SGU: 0.02, Optic: OpticIsotropic, Colour: "blue"}
	v := Stone(shared, &o, &Settings{})
	found := false
	for _, e := range v.Account(nil).Excluded {
		beyond := strings.Contains(e.Reason, "outside the gem range, inside the mineral's range of")
		if e.Material.Name == "spinel (natural)" {
			found = true
			if !beyond || !strings.Contains(e.Reason, "by "+e.Material.MineralRI.Source) {
				t.Errorf("spinel: %s", e.Reason)
			}
		} else if beyond && !e.Material.MineralRI.Known && !e.Material.MineralSG.Known {
			t.Errorf("%s: %s", e.Material.Name, e.Reason)
		}
	}
	if !found {
		t.Error("spinel is not excluded")
	}
}
