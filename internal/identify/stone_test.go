package identify

import (
	"math"
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
		if v.Kind != Group {
			t.Errorf("optic %q: verdict %s, want group", optic, v.Kind)
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
		sum := 0.0
		for i, c := range v.Candidates {
			sum += c.Share
			if i > 0 && c.Share > v.Candidates[i-1].Share {
				t.Errorf("%+v: %s is out of order", o, c.Material.Name)
			}
		}
		if math.Abs(sum-1) > 1e-9 || len(v.Candidates)+len(v.Excluded()) != v.Considered {
			t.Errorf("%+v: shares add up to %v; %d left, %d excluded of %d", o, sum, len(v.Candidates), len(v.Excluded()), v.Considered)
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
