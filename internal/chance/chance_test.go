package chance

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestNormal_Published(t *testing.T) {
	// Abramowitz and Stegun, Handbook of Mathematical Functions (1964), table 26.1 and 26.5.
	near(t, "Phi(1)", NormalCDF(1), 0.8413447461, 1e-10)
	near(t, "Phi(1.96)", NormalCDF(1.96), 0.9750021049, 1e-10)
	near(t, "z(0.975)", NormalQuantile(0.975), 1.959963985, 1e-9)
	// Three standard deviations on either side hold 99.73 % (GUM 2008, table G.1).
	near(t, "within 3", NormalBetween(0, 1, -3, 3), 0.9973, 5e-5)
	near(t, "no spread", NormalBetween(2, 0, 1, 3), 1, 0)
}

func TestBeta_QuantileInvertsCDF(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := Beta{A: rapid.Float64Range(0.3, 500).Draw(t, "a"), B: rapid.Float64Range(0.3, 500).Draw(t, "b")}
		q := rapid.Float64Range(0.001, 0.999).Draw(t, "q")
		if got := b.CDF(b.Quantile(q)); math.Abs(got-q) > 1e-7 {
			t.Fatalf("CDF(Quantile(%v)) = %v", q, got)
		}
	})
}

func TestBeta_Update(t *testing.T) {
	b := BetaOf(0.04, 50) // 4 % that weighs as much as 50 stones
	near(t, "mean", b.Mean(), 0.04, 1e-12)
	b = b.Update(6, 100)
	near(t, "mean after 6 of 100", b.Mean(), 8.0/150, 1e-12)
	low, high := b.Interval(0.9)
	near(t, "belief inside", b.CDF(high)-b.CDF(low), 0.9, 1e-8)
	// Beta(1,1) is flat: mean 1/2, standard deviation 1/sqrt(12).
	near(t, "sd", Beta{1, 1}.SD(), 1/math.Sqrt(12), 1e-12)
}

func TestCombine_GUM(t *testing.T) {
	// JCGM 100:2008 (GUM), example H.1, end-gauge calibration (values from memory: GUM):
	// u in nm with degrees of freedom; u_c = 32 nm, 16 effective degrees, k(99 %) = 2.92, U = 93 nm.
	c := Combine(Component{25, 18}, Component{9.7, 25.6}, Component{2.9, 50}, Component{16.6, 2})
	near(t, "u_c", c.U, 32, 0.5)
	near(t, "effective degrees", math.Floor(c.DOF), 16, 0)
	near(t, "k", c.Coverage(0.99), 2.92, 0.005)
	near(t, "U", 2.92*math.Round(c.U), 93, 0.5)
	// Uncertainty of simple weighing (University of Tartu): rectangular half-widths join a repeatability.
	w := Combine(Component{U: 0.00017}, Rectangular(0.0002), Rectangular(0.00005))
	near(t, "weighing", w.U, 0.0002075251, 1e-10)
	near(t, "known beforehand", w.Coverage(0.95), 1.959964, 1e-6)
}

func TestStudentQuantile_Published(t *testing.T) {
	// JCGM 100:2008 (GUM), table G.2.
	near(t, "t95(2)", StudentQuantile(0.975, 2), 4.30, 0.005)
	near(t, "t95(10)", StudentQuantile(0.975, 10), 2.23, 0.005)
	near(t, "t99(4)", StudentQuantile(0.995, 4), 4.60, 0.005)
	near(t, "t95(inf)", StudentQuantile(0.975, math.Inf(1)), 1.960, 0.0005)
}

func TestQuantile(t *testing.T) {
	// Type 7 of Hyndman and Fan (1996): the default of R, S and spreadsheets.
	s := []float64{1, 2, 3, 4}
	near(t, "median", Quantile(s, 0.5), 2.5, 0)
	near(t, "first quartile", Quantile(s, 0.25), 1.75, 0)
	near(t, "top", Quantile(s, 1), 4, 0)
	if !math.IsNaN(Quantile(nil, 0.5)) {
		t.Error("an empty sample has a median")
	}
}

func TestStream(t *testing.T) {
	a, b, other := NewStream(7, "price"), NewStream(7, "price"), NewStream(7, "loss")
	same, differs := true, false
	for range 50 {
		x := a.Float64()
		same = same && x == b.Float64()
		differs = differs || x != other.Float64()
	}
	if !same || !differs {
		t.Errorf("same seed and name repeat: %v; another name differs: %v", same, differs)
	}

	const n = 40000
	s := NewStream(1, "moments")
	for _, c := range []struct {
		what     string
		draw     func() float64
		mean, sd float64
	}{
		{"normal", func() float64 { return s.Normal(5, 2) }, 5, 2},
		{"uniform", func() float64 { return s.Uniform(2, 4) }, 3, 2 / math.Sqrt(12)},
		{"beta", func() float64 { return s.Beta(Beta{2, 6}) }, 0.25, Beta{2, 6}.SD()},
		{"triangular", func() float64 { return s.Triangular(0, 1, 5) }, 2, math.Sqrt(21.0 / 18)},
		{"binomial", func() float64 { return float64(s.Binomial(20, 0.3)) }, 6, math.Sqrt(4.2)},
		{"binomial, many trials", func() float64 { return float64(s.Binomial(5000, 0.04)) }, 200, math.Sqrt(192)},
		{"hypergeometric", func() float64 { return float64(s.Hypergeometric(Hypergeometric{50, 10, 5})) }, 1, math.Sqrt(5 * 0.2 * 0.8 * 45 / 49)},
	} {
		var xs []float64
		sum := 0.0
		for range n {
			x := c.draw()
			xs = append(xs, x)
			sum += x
		}
		mean := sum / n
		square := 0.0
		for _, x := range xs {
			square += (x - mean) * (x - mean)
		}
		near(t, c.what+" mean", mean, c.mean, 5*c.sd/math.Sqrt(n))
		near(t, c.what+" spread", math.Sqrt(square/n), c.sd, 0.03*c.sd)
		slices.Sort(xs)
		if c.what == "normal" {
			near(t, "normal median", Quantile(xs, 0.5), c.mean, 6*c.sd/math.Sqrt(n))
		}
	}
}
