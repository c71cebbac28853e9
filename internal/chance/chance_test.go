package chance

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestNormal_Published(t *testing.T) {
	// Abramowitz and Stegun, Handbook of Mathematical Functions (1964), table 26.1 and 26.5.
	near(t, "Phi(1)", NormalCDF(1), 0.8413447461, 1e-10)
	near(t, "Phi(1.96)", NormalCDF(1.96), 0.9750021049, 1e-10)
	near(t, "z(0.975)", NormalQuantile(0.975), 1.959963985, 1e-9)
	// Three standard deviations on either side hold 99.73 % (GUM 2008, table G.1).
	near(t, "within 3", NormalCDF(3)-NormalCDF(-3), 0.9973, 5e-5)
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
	// JCGM 100:2008 (GUM), example H.1, end-gauge calibration (values unverified: GUM):
	// u in nm with degrees of freedom; u_c = 32 nm, 16 effective degrees.
	c := Combine(Component{25, 18}, Component{9.7, 25.6}, Component{2.9, 50}, Component{16.6, 2})
	near(t, "u_c", c.U, 32, 0.5)
	near(t, "effective degrees", math.Floor(c.DOF), 16, 0)
	// Uncertainty of simple weighing (University of Tartu): rectangular half-widths join a repeatability.
	w := Combine(Component{U: 0.00017}, Component{U: 0.0002 / math.Sqrt(3)}, Component{U: 0.00005 / math.Sqrt(3)})
	near(t, "weighing", w.U, 0.0002075251, 1e-10)
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
	s, belief := NewStream(1, "moments"), Beta{2, 6}
	sum, square := 0.0, 0.0
	for range n {
		x := s.Beta(belief) - belief.Mean()
		sum += x
		square += x * x
	}
	near(t, "mean", sum/n, 0, 5*belief.SD()/math.Sqrt(n))
	near(t, "spread", math.Sqrt(square/n), belief.SD(), 0.03*belief.SD())
}
