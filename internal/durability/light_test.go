package durability

import (
	"math"
	"strings"
	"testing"

	"lotpaper/internal/facts"
)

func TestLuxHours_Published(t *testing.T) {
	// Annell AB, glossary, Luxtimme: 50 lx, 8 h, 300 days = 120,000 lx h a year.
	if got := (Display{Lux: 50, HoursPerDay: 8, DaysPerYear: 300}).LuxHours(); got != 120000 {
		t.Errorf("got %v", got)
	}
	// ERCO, Illumination of light-sensitive exhibits: 50 lx x 10 h = 250 lx x 2 h.
	a, b := Display{Lux: 50, HoursPerDay: 10, DaysPerYear: 1}, Display{Lux: 250, HoursPerDay: 2, DaysPerYear: 1}
	if a.LuxHours() != b.LuxHours() {
		t.Errorf("%v and %v", a.LuxHours(), b.LuxHours())
	}
}

func TestLightOf(t *testing.T) {
	s := Situation{Stone: stones(t, "kunzite")[0], Display: Display{Lux: 1500, HoursPerDay: 12, DaysPerYear: 313,
		LimitMlxh: 3}}
	r := LightOf(s)
	// 1500 x 12 x 313 = 5,634,000; 3,000,000 / 5,634,000 = 0.5325 years; 2,000 h left.
	if r.LuxHoursPerYear != 5634000 || r.Years == nil || math.Abs(*r.Years-0.53248) > 1e-4 || r.HoursLeft == nil ||
		*r.HoursLeft != 2000 {
		t.Errorf("%+v", r)
	}
	if r.Class != "high" || !strings.Contains(r.Order, "estimate") {
		t.Errorf("class %s, %s", r.Class, r.Order)
	}
	rows := map[string]Dose{}
	for _, d := range r.Table {
		if d.Source == "" {
			t.Errorf("%s has no source", d.Place)
		}
		rows[d.Place] = d
	}
	if half := rows["half the light"]; half.Years == nil || math.Abs(*half.Years-2**r.Years) > 1e-9 {
		t.Errorf("half the light: %+v", half)
	}
	if rows["evening wear"].LuxHoursPerYear >= rows["daily wear"].LuxHoursPerYear/100 {
		t.Error("evening wear is not far below day wear")
	}
	if rows["closed box"].Years != nil || rows["closed box"].LuxHoursPerYear != 0 {
		t.Errorf("closed box: %+v", rows["closed box"])
	}

	// Nothing is more precise than its source: no limit, no years.
	s.LimitMlxh = 0
	if r := LightOf(s); r.Years != nil || r.LimitLuxHours != nil || r.Table[0].Years != nil {
		t.Errorf("years without a limit: %+v", r)
	}
	s.Dark, s.LimitMlxh = true, 3
	if r := LightOf(s); r.LuxHoursPerYear != 0 || r.Years != nil {
		t.Errorf("in the dark: %+v", r)
	}
	if r := LightOf(Situation{}); r.Class != "unknown" || len(r.Assumed) == 0 {
		t.Errorf("nothing stated: %+v", r)
	}
}

// The places of wear last as long as the table of wear says.
func TestPlaces_Wear(t *testing.T) {
	for _, p := range tables().places {
		name, isWear := strings.CutSuffix(p.Name, " wear")
		if !isWear {
			continue
		}
		w, f := facts.WearNamed(name)
		if f != nil {
			t.Fatal(f)
		}
		if p.HoursPerDay*p.DaysPerYear != w.HoursPerYear {
			t.Errorf("%s: %v h, worn %v h", p.Name, p.HoursPerDay*p.DaysPerYear, w.HoursPerYear)
		}
	}
	for _, p := range tables().places {
		if _, ok := tables().lamp(p.Lamp); !ok {
			t.Errorf("%s: lamp %q is not known", p.Name, p.Lamp)
		}
	}
}

// What is not stated of a display is assumed and said, and never dark.
func TestAssume(t *testing.T) {
	for _, d := range []Display{{}, {HoursPerDay: 4}, {Lux: 200}, {DaysPerYear: 10}, {Lamp: "led"}} {
		var said []string
		got := tables().assume(d, &said)
		if got.LuxHours() == 0 || got.Lamp == "" || len(said) == 0 {
			t.Errorf("%+v: %+v, %v", d, got, said)
		}
	}
	full := Display{Lux: 50, HoursPerDay: 8, DaysPerYear: 300, Lamp: "led"}
	var said []string
	if got := tables().assume(full, &said); got != full || len(said) != 0 {
		t.Errorf("%+v, %v", got, said)
	}
}

// The limits of the light rules are the published ones, in klx h a year: CIE
// 157:2004 (annual exposure) and the ISO blue wool fade doses.
func TestLightRules_Published(t *testing.T) {
	published := map[int32]bool{}
	for _, d := range facts.LightDoses() {
		switch {
		case !d.Value.Known:
		case d.Unit == "Mlx h":
			published[int32(d.Value.Min*1000)] = true
		case d.Unit == "lx h per year":
			published[int32(d.Value.Min/1000)] = true
		}
	}
	limits := 0
	for _, r := range book().rules {
		for _, c := range r.when {
			if c.of == dose {
				limits++
				if !published[c.limit] {
					t.Errorf("%s: %d klx h is no published limit", r.id, c.limit)
				}
			}
		}
	}
	if limits == 0 {
		t.Error("no rule knows a dose")
	}
}

// Light with ultraviolet is held to the fade doses with ultraviolet, other light
// to those without (ISO blue wool standards by the Canadian Conservation
// Institute; classes of CIE 157:2004: high 1 to 3, medium 4 to 6): from 0.22 and
// 3.5 million lux-hours a year on with it, from 0.3 and 10 without.
func TestLight_WithUltraviolet(t *testing.T) {
	for _, c := range []struct {
		class     facts.Light
		lamp      string
		below, at float64 // million lux-hours a year: the last that is no avoid, the first that is
		low, most float64 // the class's fade doses
	}{
		{"high", "halogen", 0.219, 0.22, 0.22, 1.5}, {"high", "halogen filtered", 0.299, 0.3, 0.3, 3},
		{"high", "window", 0.219, 0.22, 0.22, 1.5}, {"high", "led", 0.299, 0.3, 0.3, 3},
		{"medium", "halogen", 3.499, 3.5, 3.5, 20}, {"medium", "halogen filtered", 9.999, 10, 10, 100},
		{"medium", "sun", 3.499, 3.5, 3.5, 20}, {"medium", "led", 9.999, 10, 10, 100},
		{"low", "fluorescent", 1e3, 0, 50, 120}, {"low", "fluorescent filtered", 1e3, 0, 300, 1000},
	} {
		stone := Stone{Material: &facts.Material{Name: "x", Light: c.class}}
		display := func(dose float64) Situation {
			return Situation{Stone: stone, Display: Display{Lux: dose * 1e6 / 1000, HoursPerDay: 10, DaysPerYear: 100,
				Lamp: c.lamp}}
		}
		if got := Judge(display(c.below)).Display; got == Avoid {
			t.Errorf("%s, %s: %g Mlx h a year is %s", c.class, c.lamp, c.below, got)
		}
		if c.at > 0 {
			if got := Judge(display(c.at)).Display; got != Avoid {
				t.Errorf("%s, %s: %g Mlx h a year is %s", c.class, c.lamp, c.at, got)
			}
		}
		if r := LightOf(display(1)); *r.FadeLow != 1e6*c.low || *r.FadeHigh != 1e6*c.most {
			t.Errorf("%s, %s: fades at %g to %g", c.class, c.lamp, *r.FadeLow, *r.FadeHigh)
		}
	}
}

// What a filter buys, from the doses with and without ultraviolet: 0.3/0.22 to
// 3/1.5 for blue wool 1 to 3, 10/3.5 to 100/20 for 4 to 6.
func TestFadeOf(t *testing.T) {
	for class, want := range map[string]string{"high": "about 1.4 to 2.0 times", "medium": "about 2.9 to 5.0 times",
		"low": "about 6.0 to 8.3 times"} {
		if low, _, gain := fadeOf(class, false); low == nil || !strings.HasPrefix(gain, want) {
			t.Errorf("%s: %q, want %q", class, gain, want)
		}
	}
	if low, _, gain := fadeOf("stable", true); low != nil || gain != "" {
		t.Errorf("stable: %q", gain)
	}
}
