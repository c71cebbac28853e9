package identify

import (
	"os"
	"testing"
)

// kit is the whole bench of data/next_tests.csv.
func kit(t testing.TB) []Instrument {
	t.Helper()
	f, err := os.Open("../../data/next_tests.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	k, err := ReadKit(f, "next_tests.csv")
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func TestDump(t *testing.T) {
	k := kit(t)
	for _, o := range []Observations{
		{Pairs: pair(1.660, 1.676), Optic: OpticDoubly, Colour: "pink"},
		{Pairs: pair(1.660, 1.676), Optic: OpticDoubly, Colour: "green"},
		{Pairs: pair(1.660, 1.676)},
		{},
		{Pairs: pair(1.544, 1.553)},
		{SG: 4.0},
		{Pairs: pair(1.718, 1.723), SG: 3.61},
	} {
		v := Stone(shared, &o, &Settings{})
		a := v.Next(&Settings{Kit: k, Carats: 2})
		t.Log(o.Pairs, o.Colour, v.Kind, len(v.Candidates), names(v)[:min(5, len(v.Candidates))])
		for _, n := range a.Next {
			t.Logf("   %s bits %.3f /min %.3f settles %.3f splits %v why %s", n.Instrument, n.Bits, n.BitsPerMinute, n.Settles, n.Splits, n.Why)
		}
		t.Log("   ", a.Enough, a.Inseparable)
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
