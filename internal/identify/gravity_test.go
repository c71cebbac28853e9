package identify

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"lotpaper/data"
	"lotpaper/internal/csvtable"
	"lotpaper/internal/facts"
)

func TestSG_Published(t *testing.T) {
	for _, c := range []struct {
		air, water, want, within float64
		source                   string
	}{
		{4.02, 3.32 - 0.30, 4.02, 1e-9,
			"Wade, A Text-Book of Precious Stones (1918), lesson VI: wire of 0.30 taken off"},
		{2.06, 2.06 - 0.76, 2.71, 0.005, "SG calculation, Rough Creations, 2019: aquamarine, 0.76 g displaced"},
		{0.443, 0.443 - 0.1665, 2.66, 0.005, "Bauer, Precious Stones (English ed.), p. 19: quartz"},
	} {
		g, fault := SG(Weighing{Air: c.air, Water: c.water})
		if fault != nil || math.Abs(g.SG-c.want) > c.within {
			t.Errorf("SG(%v, %v) = %v, %v; want %v (%s)", c.air, c.water, g.SG, fault, c.want, c.source)
		}
	}
}

// Hydrostatic weighing method (Studio PJJ, 2007): an error of 0.01 ct in the
// water weighing of a 2.00 ct stone of SG 4.00 shifts SG by 0.08.
func TestSG_Sensitivity(t *testing.T) {
	true4, _ := SG(Weighing{Air: 2, Water: 1.5})
	off, _ := SG(Weighing{Air: 2, Water: 1.51})
	if d := off.SG - true4.SG; math.Abs(d-0.08) > 0.003 {
		t.Errorf("0.01 ct in water shifts SG by %v, want 0.08", d)
	}
	// The wire's part of the budget is that sensitivity times 0.003 ct.
	for _, p := range true4.Parts {
		if p.What == "wire and surface tension" && math.Abs(p.U-0.024) > 1e-9 {
			t.Errorf("wire: %v, want 0.024", p.U)
		}
	}
}

// The budget is the root sum of squares of its parts (JCGM 100:2008, 5.1.2),
// and each part is the partial derivative times its input's uncertainty.
func TestSG_BudgetIsTheGUMs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sg := rapid.Float64Range(1.1, 7).Draw(t, "sg")
		w := Weighing{Air: rapid.Float64Range(0.2, 50).Draw(t, "air"), Balance: rapid.SampledFrom([]float64{0.001, 0.01,
			0.05}).Draw(t, "balance"), Repeats: rapid.IntRange(1, 9).Draw(t, "repeats"), TempKnown: true, WaterC: 22}
		w.Water = w.Air * (1 - 1/sg)
		g, fault := SG(w)
		if fault != nil {
			t.Fatal(fault)
		}
		sum := 0.0
		for _, p := range g.Parts {
			sum += p.U * p.U
		}
		if math.Abs(math.Sqrt(sum)-g.U) > 1e-12*g.U {
			t.Fatalf("parts give %v, u is %v", math.Sqrt(sum), g.U)
		}
		// Numerical derivatives.
		h := w.Air * 1e-6
		at := func(air, water float64) float64 {
			x := w
			x.Air, x.Water = air, water
			sg, _ := x.gravity()
			return sg
		}
		dAir := (at(w.Air+h, w.Water) - at(w.Air-h, w.Water)) / (2 * h)
		dWater := (at(w.Air, w.Water+h) - at(w.Air, w.Water-h)) / (2 * h)
		want := math.Hypot(dAir, dWater) * w.Balance / math.Sqrt(6)
		if math.Abs(g.Parts[0].U-want) > 1e-4*want {
			t.Fatalf("resolution: %v, want %v", g.Parts[0].U, want)
		}
	})
}

func TestSG_TemperatureAndFaults(t *testing.T) {
	cold, _ := SG(Weighing{Air: 4.02, Water: 3.02})
	warm, _ := SG(Weighing{Air: 4.02, Water: 3.02, TempKnown: true, WaterC: 20})
	// Water at 20 °C is 0.9982 as dense as at 4 °C (Jones and Harris, 1992).
	if got := warm.SG / cold.SG; math.Abs(got-0.9982) > 5e-5 {
		t.Errorf("factor at 20 °C is %v, want 0.9982", got)
	}
	for _, w := range []Weighing{{Air: 2, Water: 2}, {Air: 2, Water: 3}, {Air: -1, Water: 0},
		{Air: 2, Water: 1, TempKnown: true, WaterC: 80}, {}} {
		if _, fault := SG(w); fault == nil {
			t.Errorf("%+v was accepted", w)
		}
	}
}

// The table of water densities (Jones and Harris, Journal of Research of NIST
// 97, 1992) row by row.
func TestWaterDensity_Table(t *testing.T) {
	rows, err := csvtable.Read(data.FS, "water_density.csv")
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows {
		celsius, free := number(t, row["celsius"]), number(t, row["air_free"])
		if d := WaterDensity(celsius) / 1000; math.Abs(d-free) > 1e-7 {
			t.Errorf("%v °C: %.7f g/cm3, table %v", celsius, d, free)
		}
	}
}

func TestSmallestWeight(t *testing.T) {
	m := facts.MaterialNamed
	spodumene, sillimanite, kornerupine, quartz, corundum := m("spodumene"), m("sillimanite"), m("kornerupine"),
		m("quartz"), m("corundum")
	// Common practice: the SG of spodumene and sillimanite is too close for an
	// ordinary scale on a small stone.
	if ct, ok := SmallestWeight(spodumene, sillimanite, 0.01, 1, 3); !ok || ct < 5 {
		t.Errorf("spodumene from sillimanite from %v ct, %v; want a big stone", ct, ok)
	}
	if ct, ok := SmallestWeight(quartz, corundum, 0.01, 1, 3); !ok || ct > 0.7 {
		t.Errorf("quartz from corundum from %v ct, %v; want a small stone", ct, ok)
	}
	if _, ok := SmallestWeight(m("taaffeite"), m("musgravite"), 0.001, 9, 3); ok {
		t.Error("overlapping ranges are separated")
	}
	for _, pair := range [][2]*facts.Material{{spodumene, sillimanite}, {spodumene, kornerupine}, {quartz, corundum}} {
		a, okA := SmallestWeight(pair[0], pair[1], 0.01, 3, 3)
		b, okB := SmallestWeight(pair[1], pair[0], 0.01, 3, 3)
		finer, _ := SmallestWeight(pair[0], pair[1], 0.001, 3, 3)
		if a != b || okA != okB || finer > a {
			t.Errorf("%s and %s: %v and %v; on a finer balance %v", pair[0].Name, pair[1].Name, a, b, finer)
		}
		// At that weight the gap is what k plus the 95 % point need, just below it is not.
		gap := gap(pair[0].SG, pair[1].SG)
		heavier := math.Max(pair[0].SG.Min, pair[1].SG.Min)
		if need := 4.645 * sgAt(a, heavier, 0.01, 3); need > gap*1.001 {
			t.Errorf("%s and %s: %v ct needs %v of %v", pair[0].Name, pair[1].Name, a, need, gap)
		}
		if need := 4.644 * sgAt(a*0.98, heavier, 0.01, 3); need < gap {
			t.Errorf("%s and %s: less than %v ct would do", pair[0].Name, pair[1].Name, a)
		}
	}
}
