package identify

import (
	"math"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"lotpaper/data"
	"lotpaper/internal/facts"
	"lotpaper/internal/testkit/vectors"
)

// signed is the table with data/signs.csv.
func signed(t *testing.T) *Table {
	t.Helper()
	signs, err := ReadSigns(data.FS, "signs.csv")
	if err != nil {
		t.Fatal(err)
	}
	table, err := shared.WithSigns(signs)
	if err != nil {
		t.Fatal(err)
	}
	return table
}

func TestSigns_MoveSharesAndNeverExclude(t *testing.T) {
	table := signed(t)
	over := []Pair{{Low: Edge{Over: true}, High: Edge{Over: true}}}
	plain := Stone(table, &Observations{Pairs: over}, &Settings{})
	share := func(name string, o Observations) float64 {
		o.Pairs = over
		v := Stone(table, &o, &Settings{})
		if len(v.Candidates) != len(plain.Candidates) {
			t.Errorf("%+v leaves %d, without it %d", o, len(v.Candidates), len(plain.Candidates))
		}
		p, _ := v.Holds(facts.MaterialNamed(name))
		return p
	}
	// Thermal probes pass diamond and moissanite alike; conduction tells them
	// apart (Read, Gemmology, 3rd ed., 2005, from memory).
	if none, high := share("diamond", Observations{}), share("diamond", Observations{Thermal: "high"}); high <= none {
		t.Errorf("diamond: %.3f, with a high thermal reading %.3f", none, high)
	}
	high, conducts := share("synthetic moissanite", Observations{Thermal: "high"}), share("synthetic moissanite",
		Observations{Thermal: "high", Electrical: "conducts"})
	if conducts <= high {
		t.Errorf("moissanite: %.3f, conducting %.3f", high, conducts)
	}
	if low := share("diamond", Observations{Thermal: "low"}); low >= share("diamond", Observations{}) {
		t.Errorf("a low thermal reading does not lower diamond: %.3f", low)
	}
}

// Lab Notes, Gems & Gemology, Spring 2016: a blue stone of 1.728 with strong
// anomalous double refraction that is strong red under the filter is a flame
// fusion synthetic spinel coloured by cobalt.
func TestSigns_Filter(t *testing.T) {
	o := Observations{Spot: Edge{N: 1.728}, Optic: OpticAnomalous, Colour: "blue", Filter: "red"}
	v := Stone(signed(t), &o, &Settings{})
	if got := v.Candidates[0].Material.Name; got != "synthetic spinel (flame fusion)" {
		t.Errorf("%s first", got)
	}
}

func TestSigns_GrowthPointsToNatureAndEstablishesNothing(t *testing.T) {
	o := sapphire
	o.Features = []string{"curved striae"}
	v := Stone(signed(t), &o, &Settings{})
	nature := v.Account(nil).Facets[1]
	if nature.Established || !strings.Contains(nature.How, "laboratory-grown") {
		t.Errorf("%+v", nature)
	}
}

// Words that no material is known for are a fault with the nearest that are.
func TestSigns_Unknown(t *testing.T) {
	table := signed(t)
	o := Observations{Features: []string{"gas bubles", "Silk"}, Look: Look{Signs: []string{"play of colour"}}}
	faults := table.UnknownSigns(&o)
	if len(faults) != 1 || faults[0].Code != "sign-unknown" || !strings.Contains(faults[0].Mend, "gas bubbles") {
		t.Errorf("%v", faults)
	}
}

// Play of colour makes an opal, and a look that no opal has unmakes it.
func TestSigns_Look(t *testing.T) {
	table := signed(t)
	share := func(l Look) float64 {
		v := Stone(table, &Observations{Spot: Edge{N: 1.45}, Colour: "white", Look: l}, &Settings{})
		return v.Share([]*facts.Material{facts.MaterialNamed("opal"), facts.MaterialNamed("synthetic opal"),
			facts.MaterialNamed("opal doublet"), facts.MaterialNamed("opal triplet")})
	}
	none, play := share(Look{}), share(Look{Signs: []string{"play of color"}})
	if metal := share(Look{Signs: []string{"metallic lustre"}}); !(metal < none && none < play) {
		t.Errorf("opal: %.3f, with play of colour %.3f, with metallic lustre %.3f", none, play, metal)
	}
}

func TestSigns_Faults(t *testing.T) {
	if _, err := ReadSigns(fstest.MapFS{"x": {Data: []byte("material,test,result,how,nature,stones,source\ndiamond," +
		"sound,rings,usual,,,x\n")}}, "x"); err == nil {
		t.Error("a test by sound was accepted")
	}
	if _, err := shared.WithSigns([]Sign{{Material: "unobtainium", Test: "thermal", Result: "high"}}); err == nil {
		t.Error("a sign of no material was accepted")
	}
}

// Published spectra and pleochroic colours: each read on a stone of that colour makes its material likelier than the
// colour alone did, and together with its index the likeliest answer, or nearly.
func TestSigns_Published(t *testing.T) {
	table := signed(t)
	leads, all := 0, 0
	for _, m := range vectors.Read(t, "identify/published_signs.csv") {
		material := facts.MaterialNamed(m["material"])
		if material == nil {
			t.Fatalf("%s is not in the table", m["material"])
		}
		o := Observations{Colour: m["color"]}
		share := func() float64 {
			v := Stone(table, &o, &Settings{})
			return v.Share([]*facts.Material{material})
		}
		before := share()
		for _, nm := range strings.Split(m["lines"], ";") {
			if nm != "" {
				o.Lines = append(o.Lines, number(t, nm))
			}
		}
		if m["strength"] != "" {
			o.Pleochroism = Pleochroism{Strength: m["strength"], Hues: m["hues"]}
		}
		if after := share(); after < 1.2*before {
			t.Errorf("%s, %s: share %.3f by colour, %.3f with %s%s", m["material"], m["color"], before, after,
				m["lines"], m["hues"])
		}
		r := &table.rows[indexOf(t, table, material)]
		if r.wholeNumber.typical < 1.79 {
			o.Spot = Edge{N: math.Round(100*r.wholeNumber.typical) / 100}
		} else {
			o.Spot = Edge{Over: true}
		}
		all++
		v := Stone(table, &o, &Settings{})
		if best := v.Leading(1, 0); slices.Contains(best[0].Members, material) {
			leads++
		} else {
			t.Logf("%s, %s, by %s%s: %s", m["material"], m["color"], m["lines"], m["hues"], best[0].Name)
		}
	}
	if leads < all*8/10 {
		t.Errorf("%d of %d lead", leads, all)
	}
}
