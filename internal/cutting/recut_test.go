package cutting

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"lotpaper/internal/chance"
	"lotpaper/internal/facts"
	"lotpaper/internal/num"
)

func TestRecutOf(t *testing.T) {
	stone := Measured{Shape: Oval, Length: 940, Width: 730, Depth: 480, SG: num.MustDec("3.53")}
	price := func(t Target, w num.Carat) (num.Money, bool) { // a calibrated carat brings 30, another 20
		each := int64(20)
		if t.Length%100 == 0 && t.Width%100 == 0 {
			each = 30
		}
		return num.FromMinor(100*each, "EUR").Times(w.Dec(), num.HalfUp), true
	}
	list, faults := RecutOf(stone, 2650, Targets(""), RecutSettings{Charge: num.FromMinor(800, "EUR"),
		Break: chance.BetaOf(0.05, 20), Value: price})
	if faults != nil {
		t.Fatal(faults)
	}
	found := false
	for _, r := range list {
		if r.Weight+r.Loss != 2650 || r.Weight > 2650 || r.Low > r.Weight || r.High < r.Weight {
			t.Errorf("%s: %s of 2.650 ct, loss %s, band %s to %s", r.Target, r.Weight, r.Loss, r.Low, r.High)
		}
		if r.Target.Shape == Oval {
			found = true
			if r.Target.Length != 900 || r.Target.Width != 700 || r.Depth != 476 || r.Window {
				t.Errorf("the largest oval is %s, %s deep; want 9.00 x 7.00, 4.76 deep (68 %% of 7)", r.Target, r.Depth)
			}
			// Expected = 30 a carat x 0.95 - 8.
			want := num.FromMinor(3000, "EUR").Times(r.Weight.Dec(), num.HalfUp).Times(num.MustDec("0.95"), num.HalfUp).
				Sub(num.FromMinor(800, "EUR"))
			if r.Expected.Cmp(want) != 0 || r.Gain.Cmp(want.Sub(r.Before)) != 0 {
				t.Errorf("expected value %s, gain %s; want %s", r.Expected, r.Gain, want)
			}
			if r.Before.String() != "53.00" { // 2.65 ct at 20
				t.Errorf("value before %s, want 53.00", r.Before)
			}
		}
	}
	if !found || len(list) > 5 {
		t.Errorf("%d options, an oval among them: %v", len(list), found)
	}
	for i := 1; i < len(list); i++ {
		if list[i].Gain.Cmp(list[i-1].Gain) > 0 {
			t.Error("options are not in the order of gain")
		}
	}
	shallow := stone
	shallow.Depth = 300
	list, _ = RecutOf(shallow, 0, Targets(Oval), RecutSettings{})
	if len(list) == 0 || !list[0].Window || list[0].Depth != 300 || len(list[0].Notes) < 2 {
		t.Errorf("a shallow stone keeps its depth and shows a window: %+v", list)
	}
}

func TestRecutOf_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := Measured{
			Shape: rapid.SampledFrom([]Shape{Round, Oval, Pear, Cushion, EmeraldCut, Marquise, Heart, Trillion}).
				Draw(t, "shape"),
			Length: num.Millimetre(rapid.IntRange(300, 1600).Draw(t, "length")),
			Depth:  num.Millimetre(rapid.IntRange(150, 900).Draw(t, "depth")),
			SG:     num.MustDec("3.2"),
		}
		m.Width = num.Millimetre(float64(m.Length) * rapid.Float64Range(0.5, 1).Draw(t, "ratio"))
		list, faults := RecutOf(m, 0, Targets(m.Shape), RecutSettings{Most: 50})
		if faults != nil {
			t.Fatal(faults)
		}
		for _, r := range list {
			if r.Target.Length+20 > max(m.Length, m.Width)+4 || r.Depth > m.Depth || r.Loss < 0 {
				t.Fatalf("%s does not come out of %+v", r.Target, m)
			}
			for _, o := range list {
				if o.Target != r.Target && o.Target.Shape == r.Target.Shape && o.Target.Length >= r.Target.Length &&
					o.Target.Width >= r.Target.Width {
					t.Fatalf("%s is offered beside the larger %s", r.Target, o.Target)
				}
			}
		}
	})
}

func TestTargets_EveryShapeIsKnown(t *testing.T) {
	for _, c := range facts.CalibratedSizes() {
		if _, f := ParseShape(c.Shape); f != nil {
			t.Errorf("%s: %v", c.Shape, f)
		}
	}
	if len(Targets("")) < 80 || len(Targets(Round)) < 15 {
		t.Errorf("%d targets, %d of them round", len(Targets("")), len(Targets(Round)))
	}
}

func TestAnglesOf(t *testing.T) {
	for _, c := range []struct {
		source   string
		ri       string
		critical float64
		within   float64
	}{
		{"Sapphire faceting rough (J. Graham, International Gem Society)", "1.76", 34.62, 0.005},
		{"Topaz faceting information (J. Graham, International Gem Society)", "1.62", 38, 0.5},
		{"opal near 43.6 (computed from n = 1.45)", "1.45", 43.6, 0.05},
	} {
		a, f := AnglesOf(num.MustDec(c.ri))
		if f != nil || math.Abs(a.Critical.Float()-c.critical) > c.within {
			t.Errorf("%s: %s (%v), want %g", c.source, a.Critical, f, c.critical)
		}
		if got := a.Pavilion.Sub(a.Critical).Float(); math.Abs(got-2) > 0.011 {
			t.Errorf("pavilion %s is not 2 over %s", a.Pavilion, a.Critical)
		}
	}
	if _, f := AnglesOf(num.Int(1)); f == nil {
		t.Error("no fault for RI 1")
	}
}

func TestOrient(t *testing.T) {
	topaz := Orient(facts.MaterialNamed("topaz"), "")
	if len(topaz) != 1 || topaz[0].Source == "" {
		t.Errorf("topaz: %v", topaz)
	}
	if got := Orient(facts.MaterialNamed("spodumene"), "kunzite"); len(got) < 2 { // colour axis and cleavage
		t.Errorf("kunzite: %v", got)
	}
	if got := Orient(facts.MaterialNamed("fluorite"), ""); len(got) == 0 {
		t.Error("fluorite has perfect cleavage and no advice")
	}
	for _, o := range facts.Orientations() {
		if _, f := facts.Resolve(o.Species); f != nil {
			t.Errorf("orientation of %s: %v", o.Species, f)
		}
	}
}

func TestYield(t *testing.T) {
	// The art and joy of recutting gemstones (J. K. Prim, 2021): spinel 2.03 to 1.38 ct.
	y, f := YieldOf(2030, 1380)
	if f != nil || math.Abs(y.Loss.Float()-32.02) > 0.005 {
		t.Errorf("loss %s (%v)", y.Loss, f)
	}
	// Valuable rough gemstones (International Gem Society): 186 ct at 12, 30 % yield.
	price, _ := num.ParseUnitPrice("12", "USD")
	r, f := CostOfRough(186000, price, num.Money{}, num.Percent{Dec: num.Int(30)})
	if f != nil || r.Cost.String() != "2232.00" || r.Finished != 55800 || r.PerFinished.String() != "40" ||
		r.PerGram.String() != "60" {
		t.Errorf("%+v %v", r, f)
	}
	for _, bad := range [][2]num.Carat{{0, 1}, {1000, 1001}, {1000, 0}} {
		if _, f := YieldOf(bad[0], bad[1]); f == nil {
			t.Errorf("no fault for %v", bad)
		}
	}
}

func TestSkillOf(t *testing.T) {
	record := []CutterRecord{{Stones: 80, Broken: 8, CaratsIn: 100000, CaratsOut: 60000}}
	// 20 stones of estimate and 80 of record: 5 % and 10 % give 9 %.
	s := SkillOf(Prior{0.05, 20}, Prior{0.5, 20}, record)
	if math.Abs(s.Breakage.Mean()-0.09) > 1e-9 || math.Abs(s.Yield.Mean()-0.58) > 1e-9 || s.Stones != 80 {
		t.Errorf("breakage %g, yield %g", s.Breakage.Mean(), s.Yield.Mean())
	}
	// Without an estimate the record speaks for itself: Jeffreys' (k + 1/2) / (n + 1).
	s = SkillOf(Prior{}, Prior{}, record)
	if math.Abs(s.Breakage.Mean()-8.5/81) > 1e-9 || math.Abs(s.Yield.Mean()-48.5/81) > 1e-9 {
		t.Errorf("breakage %g, yield %g", s.Breakage.Mean(), s.Yield.Mean())
	}
	// With neither, nothing is believed.
	if s = SkillOf(Prior{}, Prior{0.4, 20}, nil); s.Breakage != (chance.Beta{}) ||
		math.Abs(s.Yield.Mean()-0.4) > 1e-9 || s.Words != "no record yet; expected yield 40 %, weighing as much as "+
		"20 stones" {
		t.Errorf("%+v", s)
	}
}
