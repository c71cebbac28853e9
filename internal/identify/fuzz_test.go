package identify

import (
	"math"
	"testing"
)

// Whatever passes Validate gives a verdict whose shares add up and whose
// account can be written.
func FuzzStone(f *testing.F) {
	f.Add(1.660, 1.676, false, 0.016, "doubly", 3.18, 0.02, "pink", "strong", "orange", 2.0, 1.37, 437.0)
	f.Add(1.79, 0.0, true, 0.0, "isotropic", 0.0, 0.0, "", "", "", 0.0, 0.0, 0.0)
	f.Add(1.544, 1.544, false, 0.0, "uniaxial+", 9.0, 1e-9, "blue/green", "inert", "", 1e-3, 0.0, 653.5)
	f.Fuzz(func(t *testing.T, low, high float64, over bool, sep float64, optic string, sg, sgu float64, colour,
		strength, hue string, air, water, line float64) {
		o := Observations{Pairs: []Pair{{Low: Edge{N: low, Over: over}, High: Edge{N: high}}}, Birefringence: sep,
			Optic: Optic(optic), SG: sg, SGU: sgu, Colour: colour,
			LongWave: Glow{strength, hue}, Weighing: Weighing{Air: air, Water: water}}
		if line != 0 {
			o.Lines = []float64{line}
		}
		if o.Validate().Blocks() {
			return
		}
		v := Stone(shared, &o, &Settings{})
		sum := v.OpenShare
		for _, share := range v.shares {
			sum += share
		}
		if !(math.Abs(sum-1) < 1e-6) {
			t.Fatalf("shares add up to %v: %+v", sum, o)
		}
		if (v.Kind == Established || v.Kind == Likely) != (len(v.Named.Members) > 0) {
			t.Fatalf("%s names %q", v.Kind, v.Named.Name)
		}
		if a := v.Account(nil); a.Headline == "" || len(a.Candidates)+len(a.Excluded) != v.Considered {
			t.Fatalf("account of %+v", o)
		}
		v.Next(&Settings{Kit: []Instrument{{Name: Balance, Minutes: 6}, {Name: Refractometer, Minutes: 2}}})
	})
}
