package identify

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"lotpaper/data"
	"lotpaper/internal/chance"
	"lotpaper/internal/fault"
)

// kit is the whole bench of data/next_tests.csv.
func kit(t testing.TB) []Instrument {
	t.Helper()
	k, err := ReadKit(data.FS, "next_tests.csv")
	if err != nil {
		t.Fatal(err)
	}
	return k
}

// One pair of edges makes a pink spodumene likely, and a second measured
// property is what establishes it: the best test measures one, each with its
// caution, and the lamps wait.
func TestNext_Pyroxene(t *testing.T) {
	o := Observations{Pairs: pair(1.660, 1.676), Optic: OpticDoubly, Colour: "pink"}
	v := Stone(shared, &o, &Settings{})
	a := v.Next(&Settings{Kit: kit(t), Carats: 0.8})
	if len(a.Next) != 3 {
		t.Fatalf("%d next tests", len(a.Next))
	}
	if best := a.Next[0]; best.Chance < 0.5 || best.Caution == "" || !slices.Contains([]string{Balance, HeavyLiquids,
		Conoscope, RotationTest, Spectroscope}, best.Instrument) {
		t.Errorf("best is %+v", best)
	}
	for i, n := range a.Next {
		if n.Bits <= 0 || n.Why == "" || i > 0 && n.Value > a.Next[i-1].Value {
			t.Errorf("%+v", n)
		}
		if n.Instrument == Refractometer {
			t.Error("the refractometer was used already")
		}
	}
}

// A bigger stone makes the balance worth more.
func TestNext_BalanceKnowsTheStone(t *testing.T) {
	v := Stone(shared, &Observations{Pairs: pair(1.660, 1.676), Optic: OpticDoubly}, &Settings{})
	only := []Instrument{{Name: Balance, Minutes: 6}}
	bits := func(ct float64) float64 {
		a := v.Next(&Settings{Kit: only, Carats: ct})
		if len(a.Next) == 0 {
			return 0
		}
		return a.Next[0].Bits
	}
	if small, big := bits(0.3), bits(20); !(big > small+0.1) {
		t.Errorf("a stone of 0.3 ct gives %.3f bits, of 20 ct %.3f", small, big)
	}
}

// No bench test tells taaffeite from musgravite (GAAJ Laboratory, 2006: not
// separable by basic tests); a laboratory can, and it is said.
func TestNext_Inseparable(t *testing.T) {
	o := Observations{Pairs: pair(1.718, 1.723), SG: 3.61, SGU: 0.02, Optic: OpticUniaxialNeg}
	v := Stone(shared, &o, &Settings{})
	a := v.Next(&Settings{Kit: kit(t), Carats: 2})
	if len(a.Inseparable) == 0 || !strings.Contains(a.Inseparable[0], "taaffeite") ||
		!strings.Contains(a.Inseparable[0], "Raman") {
		t.Errorf("inseparable: %v", a.Inseparable)
	}
}

func TestNext_NothingToDo(t *testing.T) {
	k := kit(t)
	none := Stone(shared, &nothing, &Settings{})
	if a := none.Next(&Settings{Kit: k}); len(a.Next) != 0 || !strings.Contains(a.Enough, "repeat") {
		t.Errorf("none: %+v", a)
	}
	single := Stone(shared, &sapphire, &Settings{})
	if a := single.Next(&Settings{Kit: k}); len(a.Next) != 0 || !strings.Contains(a.Enough, "enough: established") {
		t.Errorf("single: %+v", a)
	}
}

// The information of a test is at most the entropy of the answers, never
// negative, and what is made of it by Monte Carlo; so is the chance that the
// verdict is established.
func TestNext_InformationIsTheExpectedFall(t *testing.T) {
	o := Observations{Pairs: pair(1.660, 1.676), Colour: "pink"}
	table := signed(t)
	v := Stone(table, &o, &Settings{PriorsOff: true})
	r := v.rivals()
	entropy := func(p []float64) float64 {
		sums := map[int32]float64{}
		z := 0.0
		for j, x := range p {
			a := int32(-1)
			if j < len(r.index) {
				a = table.answer(r.index[j])
			}
			sums[a] += x
			z += x
		}
		h := 0.0
		for _, x := range sums {
			if x > 0 {
				h -= x / z * math.Log2(x/z)
			}
		}
		return h
	}
	before := entropy(r.shares)
	f := Settings{Carats: 3}.filled()
	s := chance.NewStream(2, "information")
	tried := 0
	for _, in := range Instruments {
		oc, _ := v.outcomes(in, &r, &f)
		if len(oc.chance) == 0 {
			continue
		}
		tried++
		bits, sure := v.information(&r, &oc), v.establishes(&r, &oc, establishedFrom)
		if bits < 0 || bits > before+1e-9 || sure < 0 || sure > 1 {
			t.Errorf("%s: %v bits of %v, established %v", in, bits, before, sure)
		}
		for j := range r.shares {
			sum := 0.0
			for i := range oc.chance {
				sum += oc.chance[i][j]
			}
			if math.Abs(sum-1) > 1e-6 && sum != 0 {
				t.Errorf("%s: the outcomes of rival %d add up to %v", in, j, sum)
			}
		}
		// Draw a rival by its share, an outcome by its chance, and look at the
		// entropy that is left.
		fall, rounds := 0.0, 4000
		for range rounds {
			j := pick(s, r.shares)
			i := pick(s, column(oc.chance, j))
			after := make([]float64, len(r.shares))
			for k := range after {
				after[k] = r.shares[k] * oc.chance[i][k]
			}
			fall += before - entropy(after)
		}
		if got := fall / float64(rounds); math.Abs(got-bits) > 0.06 {
			t.Errorf("%s: %.3f bits, drawn %.3f", in, bits, got)
		}
	}
	if tried < 12 {
		t.Errorf("%d instruments were tried", tried)
	}
}

func column(rows [][]float64, j int) []float64 {
	out := make([]float64, len(rows))
	for i := range rows {
		out[i] = rows[i][j]
	}
	return out
}

// What a stone cannot take is barred, with the reason.
func TestNext_Bars(t *testing.T) {
	barred := func(o Observations, instrument string) bool {
		v := Stone(shared, &o, &Settings{})
		a := v.Next(&Settings{Kit: kit(t), Carats: 2})
		for _, n := range a.Next {
			if n.Instrument == instrument {
				return false
			}
		}
		return slices.ContainsFunc(a.Barred, func(s string) bool {
			why, all, found := strings.Cut(s, ": ")
			return found && strings.HasPrefix(why, "not on this stone, ") && slices.Contains(strings.Split(all, ", "),
				instrument)
		})
	}
	for _, c := range []struct {
		name, instrument string
		o                Observations
	}{
		{"a cabochon", Refractometer, Observations{SG: 4.00, Look: Look{Cut: "cabochon"}}},
		{"a set stone", Balance, Observations{Pairs: pair(1.544, 1.553), Look: Look{Fixed: true}}},
		{"an opaque stone", Polariscope, Observations{SG: 4.00, Look: Look{Transparency: "opaque"}}},
		{"probably opal", HeavyLiquids, Observations{Spot: Edge{N: 1.45}, Colour: "white"}},
	} {
		if !barred(c.o, c.instrument) {
			t.Errorf("%s: the %s is not barred", c.name, c.instrument)
		}
	}
}

func TestReadKit_Faults(t *testing.T) {
	_, err := ReadKit(fstest.MapFS{"kit.csv": {Data: []byte("instrument,minutes,cannot,usual\ncrystal ball,2,,yes\n" +
		"polariscope,-1,,no\nbalance,6,shy,yes\nlook,1,,often\n")}}, "kit.csv")
	faults, ok := fault.From(err)
	if !ok || len(faults) != 4 || faults[3].Code != "usual-unreadable" || faults[2].Code != "cannot-unknown" ||
		faults[0].Code != "instrument-unknown" || faults[1].Code != "minutes-unreadable" ||
		faults[1].Where.Row != 3 {
		t.Errorf("%v", err)
	}
	for _, in := range kit(t) {
		if in.Source == "" || in.Minutes <= 0 {
			t.Errorf("%+v", in)
		}
	}
}

func BenchmarkNext(b *testing.B) {
	o := Observations{Pairs: pair(1.660, 1.676), Optic: OpticDoubly}
	s := Settings{Kit: kit(b), Carats: 2}
	b.ReportAllocs()
	for b.Loop() {
		v := Stone(shared, &o, &s)
		v.Next(&s)
	}
}

func BenchmarkNext_Nothing(b *testing.B) {
	o := Observations{}
	s := Settings{Kit: kit(b), Carats: 2}
	for b.Loop() {
		v := Stone(shared, &o, &s)
		v.Next(&s)
	}
}

// Asked again after each test, the advice establishes nearly every stone of gem
// goods from one pair of edges, the polariscope and a colour, seldom wrongly,
// and in fewer tests than the whole bench has.
func TestNext_Adaptive(t *testing.T) {
	var k []Instrument
	for _, in := range kit(t) {
		if slices.Contains([]string{LookOver, Dichroscope, LongWaveLamp, ShortWaveLamp, RotationTest, Conoscope,
			Balance}, in.Name) {
			k = append(k, in)
		}
	}
	d, of := newDealer(t, "gem goods", 5), truthMaterials()
	const stones = 220
	established, wrong, minutes, tests := 0, 0, 0.0, 0
	for n := range stones {
		i := of[n%len(of)]
		if n%2 == 1 { // half species alike, half by trade
			for i = pick(d.s, shared.frequency); !slices.Contains(of, i); {
				i = pick(d.s, shared.frequency)
			}
		}
		m, r := shared.Materials[i], &shared.rows[i]
		x, _ := d.deal(t, m, r)
		all := completeBench.observe(d.s, m, r, x)
		o := Observations{Pairs: all.Pairs, Optic: all.Optic, Colour: all.Colour}
		if class, _ := all.Optic.split(); class == OpticUniaxial || class == OpticBiaxial {
			o.Optic = OpticDoubly
		}
		s := Settings{Kit: k, Carats: 2}
		v := Stone(shared, &o, &s)
		for range len(k) {
			a := v.Next(&s)
			if len(a.Next) == 0 {
				break
			}
			tests++
			minutes += a.Next[0].Minutes
			switch a.Next[0].Instrument {
			case LookOver:
				o.Look = all.Look
			case Dichroscope:
				o.Pleochroism = all.Pleochroism
			case LongWaveLamp:
				o.LongWave = all.LongWave
			case ShortWaveLamp:
				o.ShortWave = all.ShortWave
			case RotationTest:
				o.Birefringence, o.BirefringenceMax, o.Blinked = all.Birefringence, true, true
			case Conoscope:
				o.Optic = all.Optic
			case Balance:
				o.SG, o.SGU = all.SG, all.SGU
			}
			v = Stone(shared, &o, &s)
		}
		if v.Kind == Established {
			established++
			if !rightly(v.Named, m) {
				wrong++
			}
		}
	}
	golden(t, "next.txt", fmt.Sprintf("%d stones of gem goods from pair, polariscope and colour: established %.1f %%, "+
		"wrong %d; %.1f minutes, %.1f tests each\n", stones, 100*float64(established)/stones, wrong, minutes/stones,
		float64(tests)/stones))
	if established < stones*85/100 || wrong > stones*2/100 || minutes > 8*stones {
		t.Errorf("%d of %d established, %d wrong, %.1f minutes each", established, stones, wrong, minutes/stones)
	}
}

// A stone that stays dark all round has no figure and no edge that moves: neither
// is offered. Dark in one direction proves nothing.
func TestNext_NoFigureOfADarkStone(t *testing.T) {
	offered := func(directions int) (n int) {
		o := Observations{Pairs: []Pair{{Low: Edge{N: 1.718}}}, Optic: OpticIsotropic, Directions: directions,
			Colour: "red"}
		s := Settings{Kit: kit(t)}
		v := Stone(shared, &o, &s)
		r, filled := v.rivals(), s.filled()
		for _, name := range []string{Conoscope, RotationTest} {
			if got, _ := v.outcomes(name, &r, &filled); len(got.chance) > 0 {
				n++
			}
		}
		return n
	}
	if offered(3) != 0 || offered(1) != 2 {
		t.Errorf("dark in three directions %d of conoscope and turning, in one %d", offered(3), offered(1))
	}
}
