package draw

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The mean and spread of each draw are those of its distribution.
func TestDraw_Moments(t *testing.T) {
	const n = 40000
	r := rand.New(rand.NewPCG(1, 2))
	for _, c := range []struct {
		what     string
		draw     func() float64
		mean, sd float64
	}{
		{"normal", func() float64 { return Normal(r, 5, 2) }, 5, 2},
		{"uniform", func() float64 { return Uniform(r, 2, 4) }, 3, 2 / math.Sqrt(12)},
		{"binomial", func() float64 { return float64(Binomial(r, 20, 0.3)) }, 6, math.Sqrt(4.2)},
		{"hypergeometric", func() float64 { return float64(Hypergeometric(r, 50, 10, 5)) }, 1,
			math.Sqrt(5 * 0.2 * 0.8 * 45 / 49)},
	} {
		sum, square := 0.0, 0.0
		for range n {
			x := c.draw() - c.mean
			sum += x
			square += x * x
		}
		if mean := sum / n; math.Abs(mean) > 5*c.sd/math.Sqrt(n) {
			t.Errorf("%s: mean %v, want %v", c.what, c.mean+mean, c.mean)
		}
		if sd := math.Sqrt(square / n); math.Abs(sd-c.sd) > 0.03*c.sd {
			t.Errorf("%s: spread %v, want %v", c.what, sd, c.sd)
		}
	}
}
