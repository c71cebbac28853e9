package durability

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"lotpaper/internal/facts"
)

// The words for the wearer are never weaker than the findings: each finding
// that has words stands on the card with the word of its level before it, and
// each forbidden bench step is named.
func TestCare_NeverWeaker(t *testing.T) {
	for _, m := range facts.Materials() {
		for _, set := range facts.Settings() {
			s := Situation{Stone: Stone{Material: m}, Position: Position{set, "ring", "daily"}}
			v := Judge(s)
			c := CareOf(s, v)
			all := strings.Join(slices.Concat(c.Wear, c.Display, c.Repair), "\n")
			for _, f := range v.Findings {
				if f.Care == "" {
					continue
				}
				found := false
				for l := f.Level; l <= Avoid; l++ {
					found = found || strings.Contains(all, levelSay[l]+f.Care)
				}
				if !found {
					t.Fatalf("%s in %s: %s at %s is not on the card:\n%s", m.Name, set.Name, f.Rule, f.Level, all)
				}
			}
			for _, step := range v.Forbidden {
				name, _, _ := strings.Cut(step, ":")
				if !strings.Contains(all, "Never with the stone in place: "+name) {
					t.Fatalf("%s: %s is forbidden and not on the card", m.Name, name)
				}
			}
			if len(c.Clean) == 0 || len(c.Wear) == 0 {
				t.Fatalf("%s: an empty card", m.Name)
			}
		}
	}
}

func TestDisclosure(t *testing.T) {
	emerald := stones(t, "emerald")[0]
	d := DisclosureOf(emerald)
	for _, want := range []string{"nature not stated", "usual treatment assumed", "oil", "special care",
		"affects the value", "not permanent"} {
		if !strings.Contains(d.Words, want) {
			t.Errorf("%q lacks %q", d.Words, want)
		}
	}
	if !d.Assumed || !d.Specific {
		t.Errorf("%+v", d)
	}
	emerald.Treatment, emerald.Nature = "none", "natural"
	if d := DisclosureOf(emerald); d.Assumed || d.Words != "natural. no treatment" {
		t.Errorf("%+v", d)
	}
	// Without a filler nothing is washed out of it, but it stays an emerald.
	bare := Judge(Situation{Stone: emerald, Position: Position{setting(t, "prong"), "ring", "daily"}})
	if oiled := Judge(Situation{Stone: stones(t, "emerald")[0], Position: Position{setting(t, "prong"), "ring",
		"daily"}}); bare.Setting >= oiled.Setting || bare.Setting < Care {
		t.Errorf("untreated %s, usual %s", bare.Setting, oiled.Setting)
	}
	// 16 CFR 23.25(d) (2018): a stone mixed with a filler needs the qualifier
	// that it has not the same characteristics, and special care.
	ruby := stones(t, "ruby")[0]
	ruby.Treatment = "lead glass"
	if d := DisclosureOf(ruby); !strings.Contains(d.Words, "not the same characteristics") ||
		!strings.Contains(d.Words, "special care") || !d.Specific {
		t.Errorf("%+v", d)
	}
	// Nobody may take a composite for the usual ruby, but it is asked for.
	plain := stones(t, "ruby")[0]
	v := Judge(Situation{Stone: plain, Position: Position{setting(t, "prong"), "ring", "daily"}})
	if v.Setting > Care || !strings.Contains(strings.Join(v.Assumed, "\n"), "glass") {
		t.Errorf("ruby: %s, %v", v.Setting, v.Assumed)
	}
	for _, name := range []string{"cubic zirconia", "glass, soda-lime"} {
		if d := DisclosureOf(Stone{Material: facts.MaterialNamed(name)}); strings.Contains(d.Nature, "natural") ||
			d.Nature == "nature not stated" {
			t.Errorf("%s: %s", name, d.Nature)
		}
	}
	x := stones(t, "topaz")[0]
	x.Treatment = "heated, irradiated; moonbeams"
	d = DisclosureOf(x)
	if len(d.Treatment) != 3 || !strings.Contains(d.Words, "moonbeams (not a treatment that the tables know)") {
		t.Errorf("%+v", d)
	}
}

// Every treatment that the fact tables call usual is known here, or is one that
// they give to some sorts only.
func TestTreatments_UsualAreKnown(t *testing.T) {
	check := func(name string, list []string) {
		for _, w := range list {
			if _, ok := tables().treatment(w); !ok && !strings.Contains(w, "(") {
				t.Errorf("%s: treatment %q is not known", name, w)
			}
		}
	}
	for _, m := range facts.Materials() {
		check(m.Name, m.UsualTreatments)
	}
	for _, v := range facts.Varieties() {
		check(v.Name, v.UsualTreatments)
	}
}

func TestCheck(t *testing.T) {
	good := Situation{Stone: stones(t, "topaz")[0], Position: Position{setting(t, "prong"), "Ring", "everyday"},
		Bench: []string{"torch"}}
	good.Treatment, good.Shape, good.Inclusions = "irradiated + heated", "emerald cut", "inner; liquid"
	if l := Check(good); l != nil {
		t.Errorf("%v", l)
	}
	bad := Situation{Position: Position{nil, "rign", "dayly"}, Bench: []string{"tourch"}, Display: Display{Lux: -1,
		HoursPerDay: 25, Lamp: "candle"}}
	bad.Treatment, bad.Shape, bad.Inclusions, bad.Girdle = "moonbeams", "blob", "dusty", "fat"
	l := Check(bad)
	if len(l) != 11 {
		t.Errorf("%d faults", len(l))
	}
	for _, f := range l {
		if f.Code == "" || f.What == "" || f.Mend == "" {
			t.Errorf("%+v", f)
		}
	}
	bad.Stone.Material = facts.MaterialNamed("topaz")
	// unknown words are never fine
	if v := Judge(bad); v.Setting < Care || v.Bench != Avoid ||
		!strings.Contains(strings.Join(v.Assumed, "\n"), "tourch") {
		t.Errorf("%+v %v", v.Levels, v.Assumed)
	}
}

func TestVerdict_JSON(t *testing.T) {
	v := Judge(Situation{Stone: stones(t, "kunzite")[0], Position: Position{setting(t, "prong"), "ring", "daily"}})
	raw, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	var got map[string]any
	if err := json.Unmarshal(raw, &got); err != nil {
		t.Fatal(err)
	}
	if got["level"] != 3.0 || got["setting"] != 3.0 || got["bench"] == nil || got["display"] == nil {
		t.Errorf("%s", raw)
	}
	first := got["findings"].([]any)[0].(map[string]any)
	for _, key := range []string{"rule", "hazard", "part", "level", "reason", "source", "mend", "numbers"} {
		if first[key] == nil {
			t.Errorf("a finding lacks %q: %v", key, first)
		}
	}
}

// The tables: ids once, sources everywhere, no address and no path in them.
func TestTables(t *testing.T) {
	for _, r := range book().rules {
		for _, text := range []string{r.source, r.reason, r.advice, r.care} {
			if strings.Contains(text, "http") {
				t.Errorf("%s: %q", r.id, text)
			}
		}
	}
	for a, col := range book().columns {
		if score := attribute(a) == pieceScore || attribute(a) == impactScore ||
			attribute(a) == crownScore; (col == nil) != score {
			t.Errorf("%s: asked for by a rule: %v", scales[a].name, col != nil)
		}
	}
	for i, p := range Priors() {
		if p.Level > Sound && p.Mean < Priors()[i-1].Mean {
			t.Errorf("%+v is milder than the level before it", p)
		}
	}
	if _, err := parseWhen("hardness>=7"); err == nil {
		t.Error("a rule may ask for the better end")
	}
	for _, bad := range []string{"sparkle>=2", "toughness<=medium", "torch=yes", "hardness<=unknown", "light>="} {
		if _, err := parseWhen(bad); err == nil {
			t.Errorf("%q passes", bad)
		}
	}
}
