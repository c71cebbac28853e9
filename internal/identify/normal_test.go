package identify

import (
	"math"
	"testing"

	"lotpaper/internal/chance"
)

// The table agrees with the distribution to one part in a thousand wherever it
// is used.
func TestStandardNormal(t *testing.T) {
	for z := -6.5; z < 6.9; z += 0.00317 {
		below, density := standardNormal(z)
		wantBelow, want := chance.NormalCDF(z), math.Exp(-z*z/2)/math.Sqrt(2*math.Pi)
		if math.Abs(below/wantBelow-1) > 1e-3 || math.Abs(density/want-1) > 1e-3 {
			t.Fatalf("at %v: %v, %v; want %v, %v", z, below, density, wantBelow, want)
		}
	}
	for z, want := range map[float64]float64{-8: 0, 8: 1, math.Inf(-1): 0, math.Inf(1): 1} {
		if below, density := standardNormal(z); below != want || density != 0 {
			t.Errorf("at %v: %v, %v", z, below, density)
		}
	}
}
