package identify

import (
	"flag"
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"lotpaper/internal/facts"
	"lotpaper/internal/testkit/vectors"
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden compares got with testdata/golden/identify/NAME.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := "../../testdata/golden/identify/" + name
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if string(want) != got {
		t.Errorf("%s differs; run the test with -update and look at the difference\ngot:\n%s", name, got)
	}
}

func number(t testing.TB, s string) float64 {
	t.Helper()
	if s == "" {
		return 0
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// caseOf reads one row of cases.csv.
func caseOf(t testing.TB, m map[string]string) Observations {
	o := Observations{
		Colour:        m["colour"],
		RIU:           number(t, m["ri_u"]),
		Spot:          Edge{N: number(t, m["ri_spot"])},
		Birefringence: number(t, m["birefringence"]),
		Optic:         Optic(m["optic"]),
		SG:            number(t, m["sg"]),
		SGU:           number(t, m["sg_u"]),
		LongWave:      Glow{m["lw"], m["lw_colour"]},
		ShortWave:     Glow{m["sw"], m["sw_colour"]},
		Pleochroism:   Pleochroism{Strength: m["pleochroism"]},
	}
	if m["ri_low"] != "" {
		o.Pairs = pair(number(t, m["ri_low"]), number(t, m["ri_high"]))
	}
	if m["over"] == "yes" {
		o.Pairs = []Pair{{Low: Edge{Over: true}, High: Edge{Over: true}}}
	}
	for _, l := range strings.Split(m["lines"], ";") {
		if l != "" {
			o.Lines = append(o.Lines, number(t, l))
		}
	}
	return o
}

// named reports whether the material is what the case was published as: by name,
// short name or group.
func named(m *facts.Material, published string) bool {
	for _, p := range strings.Split(published, ";") {
		if m.Name == p || m.Short == p || m.Group == p || strings.HasPrefix(m.Name, p+" ") ||
			strings.HasPrefix(m.Name, p+",") {
			return true
		}
	}
	return false
}

// Published cases: laboratory notes, journal articles, textbooks. The published
// species must be among what is left, except where the case itself says why
// its readings contradict the modern range, or the table has not the species
// (then nothing may be established).
func TestStone_PublishedCases(t *testing.T) {
	var b strings.Builder
	fmt.Fprintf(&b, "%-4s %-11s %4s %5s %s\n", "case", "verdict", "left", "share", "published as")
	cases, left, inTable := vectors.Read(t, "identify/cases.csv"), 0, 0
	for _, m := range cases {
		o := caseOf(t, m)
		if faults := o.Validate(); len(faults) > 0 {
			t.Errorf("%s: %v", m["case"], faults)
		}
		v := Stone(shared, &o, &Settings{})
		exists := slices.ContainsFunc(shared.Materials, func(x *facts.Material) bool { return named(x, m["expected"]) })
		share, found := 0.0, false
		for _, c := range v.Candidates {
			if named(c.Material, m["expected"]) {
				share, found = share+c.Share, true
			}
		}
		mark := ""
		switch {
		case !exists:
			mark = "not in the table"
			if v.Kind == Established {
				t.Errorf("%s (%s) is not in the table, yet %s is established", m["case"],
					m["published_species"], v.Named.Name)
			}
		case m["contradicts"] != "":
			mark = "contradicts: " + m["contradicts"]
			if found {
				t.Errorf("%s: said to contradict, but %s is left", m["case"], m["expected"])
			}
			inTable++
		default:
			inTable++
			if found {
				left++
			} else {
				t.Errorf("%s: %s is excluded; left %v", m["case"], m["expected"], names(v))
			}
		}
		if v.Kind == Established && !slices.ContainsFunc(v.Named.Members, func(x *facts.Material) bool {
			return named(x, m["expected"])
		}) {
			t.Errorf("%s: established as %s, published as %s", m["case"], v.Named.Name, m["published_species"])
		}
		is := ""
		if v.Named.Name != "" {
			is = " [" + v.Named.Name + "]"
		}
		fmt.Fprintf(&b, "%-4s %-11s %4d %5.2f %s%s\n", m["case"], v.Kind, len(v.Candidates), share,
			strings.TrimSuffix(m["published_species"]+"; "+mark, "; "), is)
	}
	fmt.Fprintf(&b, "%d cases, %d of %d in the table with their published species left\n", len(cases), left, inTable)
	golden(t, "cases.txt", b.String())
}
