package identify

import (
	"math"
	"runtime"
	"slices"
	"strconv"
	"testing"

	"lotpaper/internal/facts"
)

var shared = Compile(facts.Materials())

func pair(low, high float64) []Pair {
	return []Pair{{Low: Edge{N: low}, High: Edge{N: high}}}
}

// names of the candidates, best first.
func names(v Verdict) []string {
	var out []string
	for _, c := range v.Candidates {
		out = append(out, c.Material.Name)
	}
	return out
}

func holds(v Verdict, name string) bool {
	for _, c := range v.Candidates {
		if c.Material.Name == name {
			return true
		}
	}
	return false
}

// Common practice: a doubly refractive reading of about 1.66 to 1.68 leaves
// sillimanite, spodumene and kornerupine.
func TestStone_PyroxeneReadings(t *testing.T) {
	for _, optic := range []Optic{OpticUntested, OpticDoubly} {
		v := Stone(shared, &Observations{Pairs: pair(1.660, 1.676), Optic: optic}, &Settings{})
		for _, want := range []string{"sillimanite", "spodumene", "kornerupine"} {
			if !holds(v, want) {
				t.Errorf("optic %q: %s is not among %v", optic, want, names(v))
			}
		}
		if v.Kind == Established {
			t.Errorf("optic %q: established as %s by one look at the refractometer", optic, v.Named.Name)
		}
	}
}

func TestStone_SharesAddUp(t *testing.T) {
	for _, o := range []Observations{
		{},
		{Pairs: pair(1.660, 1.676)},
		{SG: 4.0},
		{Spot: Edge{N: 1.54}, Colour: "yellow"},
		{Pairs: []Pair{{Low: Edge{Over: true}, High: Edge{Over: true}}}},
	} {
		v := Stone(shared, &o, &Settings{})
		sum := v.OpenShare
		for _, e := range v.Excluded() {
			sum += e.Share
		}
		for i, c := range v.Candidates {
			sum += c.Share
			if i > 0 && c.Share > v.Candidates[i-1].Share {
				t.Errorf("%+v: %s is out of order", o, c.Material.Name)
			}
		}
		if math.Abs(sum-1) > 1e-9 || len(v.Candidates)+len(v.Excluded()) != v.Considered {
			t.Errorf("%+v: shares add up to %v; %d left, %d excluded of %d", o, sum, len(v.Candidates),
				len(v.Excluded()), v.Considered)
		}
	}
}

func BenchmarkStone(b *testing.B) {
	o := Observations{Pairs: pair(1.660, 1.676), Optic: OpticDoubly, SG: 3.21, SGU: 0.03}
	b.ReportAllocs()
	for b.Loop() {
		Stone(shared, &o, &Settings{})
	}
}

// Readings of no gem in the table give none, never a nearest guess.
func TestStone_None(t *testing.T) {
	calcite, spinel := facts.MaterialNamed("calcite"), facts.MaterialNamed("spinel (natural)")
	birefringence := calcite.Birefringence.Max
	for _, c := range []struct {
		name  string
		o     Observations
		tests []Test // of the first conflict
	}{
		{"index of no gem", Observations{Pairs: []Pair{{Low: Edge{N: 1.30}}}}, []Test{TestEdge}},
		{"SG of no gem", Observations{SG: 9, SGU: 0.02}, []Test{TestSG}},
		{"birefringence of calcite with the index of spinel",
			Observations{Pairs: pair(spinel.RI.Min, spinel.RI.Min+birefringence), SG: 3.60, Optic: OpticUniaxialNeg},
			nil},
		{"index of quartz with the SG of zircon", Observations{Pairs: pair(1.544, 1.553), SG: 4.68, SGU: 0.02}, nil},
		{"one dark stone with two edges far apart", Observations{Pairs: pair(1.762, 1.770), Optic: OpticIsotropic},
			nil},
	} {
		v := Stone(shared, &c.o, &Settings{})
		if v.Kind != None || len(v.Candidates) != 0 {
			t.Errorf("%s: %s, %v", c.name, v.Kind, names(v))
			continue
		}
		conflicts := v.Quarrels()
		if len(conflicts) == 0 {
			t.Errorf("%s: no quarrel is named", c.name)
			continue
		}
		if c.tests != nil && !slices.Equal(conflicts[0].Tests, c.tests) {
			t.Errorf("%s: %v, want %v", c.name, conflicts[0].Tests, c.tests)
		}
		if a := v.Account(nil); a.Kind != None || len(a.Quarrels) == 0 || len(a.Excluded) != v.Considered {
			t.Errorf("%s: account %+v", c.name, a.Headline)
		}
	}
}

// Contradictory readings name the pair that cannot both be right.
func TestStone_ContradictionNamesThePair(t *testing.T) {
	o := Observations{Pairs: pair(1.544, 1.553), SG: 4.68, SGU: 0.02, Optic: OpticDoubly}
	v := Stone(shared, &o, &Settings{})
	for _, c := range v.Quarrels() {
		if len(c.Tests) != 2 {
			t.Errorf("conflict of %v", c.Tests)
		}
		if slices.Contains(c.Tests, TestOptic) {
			t.Errorf("the polariscope is blamed: %s", c.Text)
		}
	}
	found := slices.ContainsFunc(v.Quarrels(), func(c Quarrel) bool { return slices.Contains(c.Tests, TestSG) })
	if !found {
		t.Errorf("SG is in no named pair: %v", v.Quarrels())
	}
}

// More readings never bring a material back, and a greater k excludes less.
func TestStone_Monotonic(t *testing.T) {
	b := newBencher(t, 9)
	for i, m := range shared.Materials {
		o, _, ok := b.stone(m, &shared.rows[i])
		if !ok {
			continue
		}
		all := Stone(shared, &o, &Settings{})
		less := o
		less.Weighing, less.Optic = Weighing{}, OpticUntested
		wide := Stone(shared, &less, &Settings{})
		for _, c := range all.Candidates {
			if _, ok := wide.Holds(c.Material); !ok {
				t.Errorf("%s: a further reading brought %s back", m.Name, c.Material.Name)
			}
		}
		loose := Stone(shared, &o, &Settings{K: 5})
		for _, c := range all.Candidates {
			if _, ok := loose.Holds(c.Material); !ok {
				t.Errorf("%s: k = 5 excludes %s, k = 3 does not", m.Name, c.Material.Name)
			}
		}
		off := Stone(shared, &o, &Settings{PriorsOff: true})
		if len(off.Candidates) != len(all.Candidates) {
			t.Errorf("%s: trade frequency excludes: %d and %d left", m.Name, len(off.Candidates), len(all.Candidates))
		}
	}
}

// A reading's own uncertainty counts: a worse one excludes less.
func TestStone_OwnUncertainty(t *testing.T) {
	for name, c := range map[string]struct{ usual, worse Observations }{
		"spot": {Observations{Spot: Edge{N: 1.54}}, Observations{Spot: Edge{N: 1.54}, SpotU: 0.02}},
		"birefringence": {Observations{Birefringence: 0.020, BirefringenceMax: true}, Observations{Birefringence: 0.020,
			BirefringenceU: 0.006, BirefringenceMax: true}},
		"liquid": {Observations{Liquids: []Liquid{{SG: 3.32, Result: Suspends}}},
			Observations{Liquids: []Liquid{{SG: 3.32, U: 0.1, Result: Suspends}}}},
		"edge": {Observations{Pairs: pair(1.762, 1.770)}, Observations{Pairs: pair(1.762, 1.770), RIU: 0.005}},
	} {
		usual, worse := Stone(shared, &c.usual, &Settings{}), Stone(shared, &c.worse, &Settings{})
		if len(worse.Candidates) <= len(usual.Candidates) {
			t.Errorf("%s: %d left with a worse reading, %d with the usual one", name, len(worse.Candidates),
				len(usual.Candidates))
		}
		for _, k := range usual.Candidates {
			if _, ok := worse.Holds(k.Material); !ok {
				t.Errorf("%s: the worse reading excludes %s", name, k.Material.Name)
			}
		}
	}
	// no spot reading is as good as an edge
	v := Stone(shared, &Observations{Spot: Edge{N: 1.54}, SpotU: 0.001}, &Settings{})
	if v.bench.uSpot != 0.005 {
		t.Errorf("a spot reading to ±%g", v.bench.uSpot)
	}
}

// The greatest separation may be told with the edges alone: it then counts as
// the birefringence itself does.
func TestStone_GreatestSeparation(t *testing.T) {
	edges := Observations{Pairs: pair(1.660, 1.676), BirefringenceMax: true}
	itself := Observations{Pairs: pair(1.660, 1.676), Birefringence: 0.016, BirefringenceMax: true}
	a, b := Stone(shared, &edges, &Settings{}), Stone(shared, &itself, &Settings{})
	if !a.bench.done(TestFull) || !slices.Equal(names(a), names(b)) {
		t.Errorf("by the edges %v, by the birefringence %v", names(a), names(b))
	}
	one := Observations{Pairs: []Pair{{Low: Edge{N: 1.718}}}, BirefringenceMax: true}
	if v := Stone(shared, &one, &Settings{}); !v.bench.done(TestFull) || holds(v, "kyanite") {
		t.Errorf("one edge wherever it is turned leaves %v", names(v))
	}
}

// Often-facts never exclude: whatever the colour, fluorescence and lines.
func TestStone_SignsNeverExclude(t *testing.T) {
	base := Observations{Pairs: pair(1.660, 1.676), SG: 3.18, SGU: 0.02}
	want := len(Stone(shared, &base, &Settings{}).Candidates)
	for _, o := range []Observations{
		{Colour: "black"}, {LongWave: Glow{"strong", "green"}}, {ShortWave: Glow{"strong", "red"}},
		{Lines: []float64{653.5}}, {LongWave: Glow{Strength: "inert"}},
	} {
		o.Pairs, o.SG, o.SGU = base.Pairs, base.SG, base.SGU
		if v := Stone(shared, &o, &Settings{}); len(v.Candidates) != want {
			t.Errorf("%+v leaves %d materials, without it %d", o, len(v.Candidates), want)
		}
	}
}

// Strong orange under long wave favours pink to lilac spodumene, and an inert
// green or yellow stone excludes nothing (common practice).
func TestStone_LongWaveFavoursKunzite(t *testing.T) {
	spodumene := facts.MaterialNamed("spodumene")
	share := func(colour string, g Glow) float64 {
		v := Stone(shared, &Observations{Pairs: pair(1.660, 1.676), Optic: OpticBiaxialPos, Colour: colour,
			LongWave: g}, &Settings{PriorsOff: true})
		p, _ := v.Holds(spodumene)
		return p
	}
	quiet, orange := share("pink", Glow{}), share("pink", Glow{"strong", "orange"})
	if orange <= quiet || orange < 0.5 {
		t.Errorf("pink: share %.3f without, %.3f with strong orange", quiet, orange)
	}
	if inert := share("green", Glow{Strength: "inert"}); inert < share("green", Glow{})/2 {
		t.Errorf("green and inert: share falls to %.3f", inert)
	}
}

func TestStone_OverTheLimit(t *testing.T) {
	over := Edge{Over: true}
	v := Stone(shared, &Observations{Pairs: []Pair{{Low: over, High: over}}, SG: 4.68, SGU: 0.02,
		Optic: OpticUniaxialPos}, &Settings{})
	if len(v.Candidates) == 0 || v.Candidates[0].Material.Name != "zircon (high type)" {
		t.Errorf("over the limit with SG 4.68, uniaxial positive: %v", names(v))
	}
	// A liquid of 1.81 reaches farther: what reads 1.80 is over 1.79 only.
	m := facts.MaterialNamed("almandine")
	reach := func(limit float64) bool {
		v := Stone(shared, &Observations{Pairs: []Pair{{Low: Edge{Over: true, N: limit}}}}, &Settings{})
		_, ok := v.Holds(m)
		return ok
	}
	if !reach(1.79) || reach(1.90) {
		t.Errorf("almandine (to %.2f) over 1.79: %v, over 1.90: %v", m.RI.Max, reach(1.79), reach(1.90))
	}
}

func TestStone_Optics(t *testing.T) {
	garnet, quartz, diamond := facts.MaterialNamed("almandine"), facts.MaterialNamed("quartz"),
		facts.MaterialNamed("diamond")
	left := func(o Observations, m *facts.Material) bool {
		v := Stone(shared, &o, &Settings{})
		_, ok := v.Holds(m)
		return ok
	}
	// Doubly does not exclude what shows anomalous double refraction; a figure does.
	if !left(Observations{Optic: OpticDoubly}, garnet) || !left(Observations{Optic: OpticDoubly}, diamond) {
		t.Error("doubly excludes garnet or diamond")
	}
	if left(Observations{Optic: OpticUniaxial}, garnet) {
		t.Error("a figure leaves garnet")
	}
	// Dark in one direction is not isotropic: three are needed.
	if !left(Observations{Optic: OpticIsotropic, Directions: 1}, quartz) ||
		left(Observations{Optic: OpticIsotropic, Directions: 3}, quartz) {
		t.Error("isotropic in one direction excludes quartz, or in three does not")
	}
	// Kornerupine can look uniaxial, and a figure of the wrong class alone
	// excludes nothing that is doubly refractive.
	if !left(Observations{Optic: OpticUniaxialNeg}, facts.MaterialNamed("kornerupine")) ||
		!left(Observations{Optic: OpticBiaxial}, quartz) {
		t.Error("a figure alone excludes kornerupine or strained quartz")
	}
	if left(Observations{Pleochroism: Pleochroism{Strength: "strong"}}, garnet) {
		t.Error("strong pleochroism leaves garnet")
	}
}

// At most four allocations a case, whatever was read.
func TestStone_Allocations(t *testing.T) {
	for name, o := range map[string]Observations{
		"three readings": {Pairs: pair(1.660, 1.676), SG: 3.21, SGU: 0.03},
		"everything": {Pairs: pair(1.660, 1.676), Optic: OpticBiaxialPos, Weighing: Weighing{Air: 2, Water: 1.37,
			Balance: 0.01}, Colour: "violet-pink",
			LongWave: Glow{"strong", "orange"}, ShortWave: Glow{"weak", "orange"},
			Pleochroism: Pleochroism{Strength: "strong"}, Lines: []float64{437}},
		"nothing": {},
		"rotation": {Pairs: crystal{1.660, 1.666, 1.676}.turn(vector{0.3, 0.5, 0.8}.unit(), 8,
			func(n float64) float64 { return n })},
	} {
		if n := testing.AllocsPerRun(100, func() { Stone(shared, &o, &Settings{}) }); n > 4 {
			t.Errorf("%s: %v allocations", name, n)
		}
	}
}

// Two edges as far apart as calcite's, at the index of spinel, are no malachite:
// an aggregate is not the one answer when two sharp edges were read.
func TestStone_AggregateWithTwoEdgesIsNotSingle(t *testing.T) {
	v := Stone(shared, &Observations{Pairs: pair(1.718, 1.890)}, &Settings{})
	if v.Kind == Established {
		t.Errorf("single: %v", names(v))
	}
}

// copies is the table repeated: every row, and so every survivor, n times.
func copies(n int) *Table {
	var all []*facts.Material
	for range n {
		all = append(all, shared.Materials...)
	}
	return Compile(all)
}

// The memory of a case grows as the table does, and not the number of its
// allocations: the 17th survivor once cost a list as long as the table. Each
// material stands on exactly one side of the verdict. What the time does,
// BenchmarkStone_LongTable prints.
func TestStone_LinearInSpecies(t *testing.T) {
	for name, o := range map[string]Observations{
		"nine left": {Pairs: pair(1.660, 1.676), SG: 3.18},
		"all left":  {},
		"none left": {SG: 9, SGU: 0.02},
		"every test": {Pairs: pair(1.660, 1.676), Optic: OpticBiaxialPos, SG: 3.18, Colour: "pink",
			LongWave: Glow{"strong", "orange"}},
	} {
		bytes := func(table *Table) float64 {
			const runs = 40
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			for range runs {
				Stone(table, &o, &Settings{})
			}
			runtime.ReadMemStats(&after)
			return float64(after.TotalAlloc-before.TotalAlloc) / runs
		}
		one := bytes(shared)
		for _, n := range []int{2, 4, 16} {
			table := copies(n)
			if got := bytes(table); got > 1.25*float64(n)*one {
				t.Errorf("%s: %.0f bytes with %d materials, %.0f with %d", name, one, len(shared.Materials), got,
					len(table.Materials))
			}
			if v := Stone(table, &o, &Settings{}); len(v.Candidates)+len(v.excluded)+
				v.NotJudged != len(table.Materials) {
				t.Errorf("%s: %d candidates, %d excluded and %d not judged of %d materials", name, len(v.Candidates),
					len(v.excluded), v.NotJudged, len(table.Materials))
			}
			if a := testing.AllocsPerRun(50, func() { Stone(table, &o, &Settings{}) }); a > 4 {
				t.Errorf("%s: %v allocations with %d materials", name, a, len(table.Materials))
			}
		}
	}
}

// ns/material must stay the same while the table grows.
func BenchmarkStone_LongTable(b *testing.B) {
	o := Observations{Pairs: pair(1.660, 1.676), SG: 3.18}
	for _, n := range []int{1, 4, 16} {
		table := copies(n)
		b.Run(strconv.Itoa(len(table.Materials)), func(b *testing.B) {
			for b.Loop() {
				Stone(table, &o, &Settings{})
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(table.Materials)), "ns/material")
		})
	}
}

// A high edge over the limit is a reading: between a low edge of 1.60 and 1.79 lies
// rhodochrosite, and few unknown materials have such a separation.
func TestStone_HighEdgeOverTheLimit(t *testing.T) {
	o := Observations{Pairs: []Pair{{Low: Edge{N: 1.599}, High: Edge{Over: true}}}, Optic: OpticDoubly, Colour: "pink"}
	v := Stone(shared, &o, &Settings{})
	if best := v.Leading(1, 0); v.Kind == None || best[0].Nearest.Name != "rhodochrosite" || v.OpenShare > 0.2 {
		t.Errorf("%s, %s first, open set %.2f", v.Kind, best[0].Name, v.OpenShare)
	}
}

// An edge over the limit is as seldom a mistake as any edge: a titanite by gravity
// and figure is no topaz.
func TestStone_OverTheLimitIsNoTopaz(t *testing.T) {
	o := Observations{Pairs: []Pair{{Low: Edge{Over: true}, High: Edge{Over: true}}}, Optic: OpticBiaxialPos, SG: 3.53,
		SGU: 0.012, Colour: "yellow"}
	v := Stone(shared, &o, &Settings{})
	if topaz := v.Share([]*facts.Material{facts.MaterialNamed("topaz")}); v.Kind != Established || topaz > 0.01 {
		t.Errorf("%s %s, topaz %.3f", v.Kind, v.Named.Name, topaz)
	}
}
