package identify

import (
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

// Common practice: for readings of about 1.66 to 1.68 long-wave ultraviolet
// comes out among the best next tests, and SG on a small stone does not settle
// sillimanite, spodumene and kornerupine.
func TestNext_Pyroxene(t *testing.T) {
	o := Observations{Pairs: pair(1.660, 1.676), Optic: OpticDoubly, Colour: "pink"}
	v := Stone(shared, &o, &Settings{})
	a := v.Next(&Settings{Kit: kit(t), Carats: 0.8})
	if len(a.Next) != 3 {
		t.Fatalf("%d next tests", len(a.Next))
	}
	if !slices.ContainsFunc(a.Next, func(n NextTest) bool { return n.Instrument == LongWaveLamp && n.Caution != "" }) {
		t.Errorf("long wave is not among %+v", a.Next)
	}
	for i, n := range a.Next {
		if n.Bits <= 0 || n.Why == "" || i > 0 && n.BitsPerMinute > a.Next[i-1].BitsPerMinute {
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
	if a := single.Next(&Settings{Kit: k}); len(a.Next) != 0 || !strings.Contains(a.Enough, "single") {
		t.Errorf("single: %+v", a)
	}
}

// The information of a test is at most the entropy of the shares, never
// negative, and what is made of it by Monte Carlo.
func TestNext_InformationIsTheExpectedFall(t *testing.T) {
	o := Observations{Pairs: pair(1.660, 1.676)}
	v := Stone(shared, &o, &Settings{PriorsOff: true})
	n := min(len(v.Candidates), consider)
	shares, entropy := make([]float64, n), 0.0
	for i, c := range v.Candidates[:n] {
		shares[i] = c.Share
		entropy -= c.Share * math.Log2(c.Share)
	}
	f := Settings{Carats: 3}.filled()
	s := chance.NewStream(2, "information")
	for _, in := range Instruments {
		oc, _ := v.outcomes(in, v.Candidates[:n], &f)
		if len(oc.chance) == 0 {
			continue
		}
		bits, settles := oc.information(shares)
		if bits < 0 || bits > entropy+1e-9 || settles < 0 || settles > 1 {
			t.Errorf("%s: %v bits of %v, settles %v", in, bits, entropy, settles)
		}
		// Draw a candidate by its share, an outcome by its chance, and look at
		// the entropy that is left.
		fall, rounds := 0.0, 4000
		for range rounds {
			j := pick(s, shares)
			u, i := s.Float64(), 0
			for ; i < len(oc.chance)-1; i++ {
				if u -= oc.chance[i][j]; u < 0 {
					break
				}
			}
			z, left := 0.0, 0.0
			for k := range shares {
				z += shares[k] * oc.chance[i][k]
			}
			for k := range shares {
				if w := shares[k] * oc.chance[i][k] / z; w > 0 {
					left -= w * math.Log2(w)
				}
			}
			fall += entropy - left
		}
		if got := fall / float64(rounds); math.Abs(got-bits) > 0.06 {
			t.Errorf("%s: %.3f bits, drawn %.3f", in, bits, got)
		}
	}
}

func TestReadKit_Faults(t *testing.T) {
	_, err := ReadKit(fstest.MapFS{"kit.csv": {Data: []byte("instrument,minutes\ncrystal ball,2\npolariscope,-1\n")}},
		"kit.csv")
	faults, ok := fault.From(err)
	if !ok || len(faults) != 2 || faults[0].Code != "instrument-unknown" || faults[1].Code != "minutes-unreadable" ||
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
