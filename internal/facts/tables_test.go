package facts

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// TestRangeLaws: a value is inside exactly when it is at no distance, and
// overlap is symmetric.
func TestRangeLaws(t *testing.T) {
	aRange := rapid.Custom(func(t *rapid.T) Range {
		a, b := rapid.Float64Range(0, 10).Draw(t, "a"), rapid.Float64Range(0, 10).Draw(t, "b")
		return Span(min(a, b), max(a, b))
	})
	rapid.Check(t, func(t *rapid.T) {
		r, o := aRange.Draw(t, "r"), aRange.Draw(t, "o")
		v := rapid.Float64Range(-1, 11).Draw(t, "v")
		if inside := v >= r.Min && v <= r.Max; inside != (r.Distance(v) == 0) {
			t.Fatalf("%v contains %v: %v, at distance %v", r, v, inside, r.Distance(v))
		}
		if r.Overlaps(o) != o.Overlaps(r) || !r.Overlaps(r) {
			t.Fatalf("overlap of %v and %v is not symmetric", r, o)
		}
		if (Range{}).Overlaps(r) || (Range{}).Distance(v) != 0 {
			t.Fatal("an unknown range says something")
		}
	})
}

// TestAlloyByRecipe: 583 parts gold, 104 silver and 313 copper have a density
// of 13.33 g/cm3 (How to determine approximate specific gravities of alloys,
// TMT); the table of trade 14K yellow lies within 3 percent of it.
func TestAlloyByRecipe(t *testing.T) {
	parts := map[string]float64{"Au": 583, "Ag": 104, "Cu": 313}
	volume := 0.0
	for symbol, p := range parts {
		m, f := MetalNamed(symbol)
		if f != nil {
			t.Fatal(f)
		}
		volume += p / m.Density
	}
	if got := 1000 / volume; math.Abs(got-13.33) > 0.005 {
		t.Errorf("density %.3f, published 13.33", got)
	}
	if a, _ := AlloyNamed("14k"); math.Abs(a.Density-13.33)/13.33 > 0.03 {
		t.Errorf("trade 14K yellow is %v", a.Density)
	}
}

// TestAlloys checks each alloy against the pure metals and its own rule of
// thumb for casting from wax.
func TestAlloys(t *testing.T) {
	for _, a := range Alloys() {
		if !a.DensityRange.Known || a.DensityRange.Distance(a.Density) > 0 {
			t.Errorf("%s: density %v is outside its own range %v", a.Name, a.Density, a.DensityRange)
		}
		if a.Metal == "gold" && a.Karat != 24 {
			pure, _ := MetalNamed("Au")
			if a.Density >= pure.Density {
				t.Errorf("%s is denser than gold", a.Name)
			}
			// The mark of 10K is printed 416 or 417, of 14K 585 for 583, of 22K 916 for 917.
			if math.Abs(float64(a.Fineness)-float64(a.Karat)/24*1000) > 2 {
				t.Errorf("%s is marked %d", a.Name, a.Fineness)
			}
			if !slices.ContainsFunc(FinenessMarks(), func(m *FinenessMark) bool {
				return m.Metal == "gold" &&
					m.Mark == a.Fineness
			}) {
				t.Errorf("%s: %d is no mark of the trade", a.Name, a.Fineness)
			}
		}
		// Metal to wax formulas (International Gem Society) and a Ganoksin
		// conversion table: multipliers follow the density within 5 percent.
		if w := a.WaxMultiplier; w.Known && (w.Max < a.Density*0.95 || w.Min > a.Density*1.08) {
			t.Errorf("%s: multiplier %v beside density %v", a.Name, w, a.Density)
		}
	}
	last := map[string]int{}
	for _, m := range FinenessMarks() {
		if m.Mark <= last[m.Metal] || m.Mark > 999 {
			t.Errorf("mark %s %d is out of order", m.Metal, m.Mark)
		}
		last[m.Metal] = m.Mark
	}
}

// TestWaterDensity against Jones and Harris, J. Res. NIST 97 (1992): air-free
// 0.9982033 at 20 C and 0.9970430 at 25 C.
func TestWaterDensity(t *testing.T) {
	want := map[float64]float64{20: 0.9982033, 25: 0.9970430}
	rows := waterDensities()
	for i, w := range rows {
		if v, ok := want[w.Celsius]; ok && math.Abs(v-w.AirFree) > 1e-7 {
			t.Errorf("%v C: %v, published %v", w.Celsius, w.AirFree, v)
		}
		if w.AirSaturated >= w.AirFree {
			t.Errorf("%v C: air makes water heavier", w.Celsius)
		}
		if i > 0 && (w.Celsius-rows[i-1].Celsius != 0.5 || w.AirFree >= rows[i-1].AirFree) {
			t.Errorf("%v C: out of order", w.Celsius)
		}
	}
}

// TestRingSizes computes each size from its system and holds it against the
// published tables (Ring size systems, Wikipedia) and a maker's chart (Rio
// Grande), whose worst size (US 11: 64.1 mm) lies 0.54 mm from the formula.
func TestRingSizes(t *testing.T) {
	system := map[string]*RingSystem{}
	for _, s := range RingSystems() {
		system[s.Name] = s
	}
	checked := 0
	for _, r := range ringSizes() {
		s := system[r.System]
		var n float64
		if s.Letters {
			n = float64(r.Size[0] - 'A')
		} else {
			n = mustFloat(t, r.Size)
		}
		measure := s.Base + s.Step*n
		if s.Unit == "in" {
			measure *= 25.4
		}
		circumference := measure
		if s.Measure == "diameter" {
			circumference = measure * math.Pi
		}
		if math.Abs(circumference-r.Circumference) > 0.0051 || math.Abs(circumference/math.Pi-r.Diameter) > 0.0051 {
			t.Errorf("%s %s: the formula gives %.3f mm, the table %v", r.System, r.Size, circumference, r.Circumference)
		}
		if r.Published > 0 {
			checked++
			if math.Abs(circumference-r.Published) > 0.11 {
				t.Errorf("%s %s: the formula gives %.2f mm, published is %v", r.System, r.Size,
					circumference, r.Published)
			}
		}
		if r.SecondChart > 0 && math.Abs(circumference-r.SecondChart) > 0.55 {
			t.Errorf("%s %s: the formula gives %.2f mm, the maker's chart %v", r.System, r.Size, circumference,
				r.SecondChart)
		}
	}
	if checked < 15 {
		t.Errorf("only %d sizes have a published circumference", checked)
	}
}

// TestSievesAndSizes: plates and sizes run upwards, and carats follow the cube
// of the diameter from 6.5 mm = 1 ct within the scatter of such charts.
func TestSievesAndSizes(t *testing.T) {
	rows := sieves()
	for i, s := range rows {
		if i > 0 && (s.StaysOn != rows[i-1].Passes || s.Diameter.Min < rows[i-1].Diameter.Max ||
			s.CaratsEach <= rows[i-1].CaratsEach) {
			t.Errorf("plate %s to %s does not follow the one before", s.StaysOn, s.Passes)
		}
		if math.Abs(s.CaratsEach*s.StonesPerCT-1) > 0.01 {
			t.Errorf("plate %s: %v ct each and %v a carat", s.Passes, s.CaratsEach, s.StonesPerCT)
		}
		mean := (s.Diameter.Min + s.Diameter.Max) / 2
		if cube := math.Pow(mean/6.5, 3); mean > 1.7 && math.Abs(cube/s.CaratsEach-1) > 0.15 {
			t.Errorf("plate %s: %v ct, the cube of the diameter gives %.4f", s.Passes, s.CaratsEach, cube)
		}
	}
	for _, c := range CalibratedSizes() {
		if c.Width <= 0 || c.Length < c.Width {
			t.Errorf("%s %v x %v mm", c.Shape, c.Length, c.Width)
		}
	}
}

// TestLightDoses: the blue wool standards fade at doses about three times
// apart (ISO 105-B08 builds each to take about twice to three times the one
// before), and light with ultraviolet fades faster.
func TestLightDoses(t *testing.T) {
	of := func(kind string) (v []float64) {
		for _, d := range LightDoses() {
			if d.Kind == kind {
				v = append(v, d.Value.Min)
			}
		}
		return v
	}
	clean, rich := of("fade dose, no UV"), of("fade dose, UV rich")
	if len(clean) != 8 || len(rich) != 8 {
		t.Fatalf("%d and %d blue wools", len(clean), len(rich))
	}
	for i := range clean {
		if rich[i] >= clean[i] {
			t.Errorf("blue wool %d fades slower in ultraviolet", i+1)
		}
		if i > 0 && (clean[i]/clean[i-1] < 2 || clean[i]/clean[i-1] > 4) {
			t.Errorf("blue wool %d fades at %v after %v", i+1, clean[i], clean[i-1])
		}
	}
}

// TestBench: solders of a row flow hotter as their name says (Argent
// Imagination, 2022), and an opal is never brought above 82 C (JCK).
func TestBench(t *testing.T) {
	var flow []float64
	for _, b := range benchProcesses() {
		if b.Process == "silver solder flow" {
			flow = append(flow, b.High)
		}
		if b.Process == "opal heat limit" && b.High != 82 {
			t.Errorf("opal limit %v C", b.High)
		}
		if b.HasLow && b.HasHigh && b.Low > b.High {
			t.Errorf("%s %s is upside down", b.Process, b.Item)
		}
	}
	if !slices.IsSorted(flow) || len(flow) != 5 || flow[0] != 653 || flow[3] != 788 {
		t.Errorf("silver solders flow at %v C", flow)
	}
}

func TestTariffCodes(t *testing.T) {
	seen := map[string]bool{}
	for _, h := range hsCodes() {
		if seen[h.Code] {
			t.Errorf("%s is there twice", h.Code)
		}
		seen[h.Code] = true
	}
	for _, code := range []string{"7103.10", "7103.91", "7103.99", "7104.99", "7113.19"} {
		if !seen[code] {
			t.Errorf("%s is missing", code)
		}
	}
}

// TestSettings: what the trade says of them, as published (JA quality
// assurance guides; Cecile Raley Designs, Setting considerations, 2015):
// prongs set gently and leave the girdle open, bezels the reverse; only
// tension holds a stone by constant side pressure between two points.
func TestSettings(t *testing.T) {
	get := func(name string) *Setting {
		s, f := SettingNamed(name)
		if f != nil {
			t.Fatal(f)
		}
		return s
	}
	prong, bezel, tension := get("prong"), get("bezel"), get("tension")
	if prong.Force >= bezel.Force || prong.GirdleExposed <= bezel.GirdleExposed || prong.Impact <= bezel.Impact {
		t.Errorf("prong %+v, bezel %+v", prong, bezel)
	}
	if !tension.SidePressure || tension.Force != 3 {
		t.Errorf("tension %+v", tension)
	}
	for _, s := range Settings() {
		if !s.Minutes.Known || len(s.Pieces) == 0 {
			t.Errorf("%s: minutes %v, pieces %q", s.Name, s.Minutes, s.Pieces)
		}
		for _, p := range s.Pieces {
			if _, f := PieceNamed(p); f != nil {
				t.Errorf("%s: %v", s.Name, f)
			}
		}
	}
}

// TestLookAlikesAreNamed: what a bench cannot separate is said of the stones
// where it matters most.
func TestLookAlikesAreNamed(t *testing.T) {
	for _, name := range []string{"corundum", "beryl", "quartz", "chrysoberyl", "diamond", "opal", "turquoise",
		"jadeite", "topaz", "spodumene",
		"zoisite (tanzanite)", "tourmaline (elbaite and general)", "pearl (nacreous)", "amber", "lapis lazuli",
		"coral (calcareous)", "spinel (natural)", "almandine"} {
		m := MaterialNamed(name)
		if m == nil || len(m.NotSeparated) == 0 {
			t.Errorf("%s names nothing that tests of the bench cannot separate from it", name)
		}
	}
	for name, want := range map[string]string{"corundum": "heating", "quartz": "dyeing", "topaz": "irradiation",
		"zoisite (tanzanite)": "heating"} {
		if m := MaterialNamed(name); !slices.ContainsFunc(m.UsualTreatments,
			func(s string) bool { return len(s) >= len(want) && s[:len(want)] == want }) {
			t.Errorf("%s: usual treatments %q, without %s", name, m.UsualTreatments, want)
		}
	}
	if !MaterialNamed("fluorite").FluoridePickle {
		t.Error("fluorite in pickle gives no warning")
	}
	for _, name := range []string{"diamond", "spinel (natural)", "almandine", "opal", "amber", "glass, lead",
		"plastic, acrylic", "synthetic spinel (flame fusion)", "cubic zirconia"} {
		if !MaterialNamed(name).AnomalousDR {
			t.Errorf("%s shows no anomalous double refraction", name)
		}
	}
}

func TestVersionIsStable(t *testing.T) {
	if v := Version(); len(v) != 12 || v != Version() {
		t.Errorf("version %q", v)
	}
}

// BenchmarkLoadMaterials measures what a cold command pays for the table.
func BenchmarkLoadMaterials(b *testing.B) {
	for b.Loop() {
		load("materials.csv", parseMaterial)()
	}
}
