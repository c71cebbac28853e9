package chance

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"lotpaper/internal/testkit/vectors"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s = %.10g, want %.10g", what, got, want)
	}
}

func TestHypergeometric_Published(t *testing.T) {
	// Hogg and Tanis, Probability and Statistical Inference, exercise 2.1-10.
	h := Hypergeometric{Lot: 50, Bad: 3, Drawn: 10}
	near(t, "P(1)", h.PMF(1), 0.398, 0.0005)
	near(t, "P(<=1)", h.CDF(1), 0.9021, 0.0001)
	// A shipment of 50 with 10 bad, five drawn, two allowed (AssignmentExpert, question 72628).
	near(t, "Pa", Hypergeometric{Lot: 50, Bad: 10, Drawn: 5}.CDF(2), 0.9517, 0.0001)
	// Lot of 10, one bad, four drawn, none allowed (homeworksource).
	near(t, "Pa", Hypergeometric{Lot: 10, Bad: 1, Drawn: 4}.CDF(0), 0.6, 1e-12)
}

func TestBinomial_Published(t *testing.T) {
	// Kiermeier, Visualising and Assessing Acceptance Sampling Plans, J. Stat. Software 26(6), 2008.
	near(t, "n=10 c=3 p=0.10", Binomial{N: 10, P: 0.10}.CDF(3), 0.9872048, 1e-7)
	near(t, "n=20 c=0 p=0.05", Binomial{N: 20, P: 0.05}.CDF(0), 0.35848592, 1e-8)
	near(t, "n=20 c=0 p=0.15", Binomial{N: 20, P: 0.15}.CDF(0), 0.03875953, 1e-8)
	// The same paper: n=80, c=7 is the smallest plan for (0.05, 0.95) and (0.15, 0.075).
	smallest := func() (n, c int) {
		for n = 1; ; n++ {
			for c = 0; c < n; c++ {
				if (Binomial{N: n, P: 0.05}).CDF(c) >= 0.95 && (Binomial{N: n, P: 0.15}).CDF(c) <= 0.075 {
					return n, c
				}
			}
		}
	}
	if n, c := smallest(); n != 80 || c != 7 {
		t.Errorf("smallest plan n=%d c=%d, want 80, 7", n, c)
	}
}

// The published single sampling plans accept a lot at the acceptable quality
// level with about 0.87 to above 0.99 (MIL-STD-105E, 1989, operating characteristic
// curves of table X): a wrong n, number or formula falls out of that band.
func TestBinomial_PublishedPlans(t *testing.T) {
	for _, v := range vectors.Read(t, "chance/aql_plans.csv") {
		n, c, aql := integer(t, v["n"]), integer(t, v["accept"]), float(t, v["aql"])/100
		if pa := (Binomial{N: n, P: aql}).CDF(c); pa < 0.86 || pa > 0.998 {
			t.Errorf("AQL %s letter %s: n=%d c=%d accepts with %.4f", v["aql"], v["letter"], n, c, pa)
		}
		if integer(t, v["reject"]) != c+1 {
			t.Errorf("AQL %s letter %s: reject %s does not follow accept %d", v["aql"], v["letter"], v["reject"], c)
		}
	}
}

func TestHypergeometric_AddsUpAndIsSymmetric(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lot := rapid.IntRange(1, 3000).Draw(t, "lot")
		bad := rapid.IntRange(0, lot).Draw(t, "bad")
		drawn := rapid.IntRange(0, lot).Draw(t, "drawn")
		h, swapped := Hypergeometric{lot, bad, drawn}, Hypergeometric{lot, drawn, bad}
		total, mean := 0.0, 0.0
		for k := 0; k <= drawn; k++ {
			p := h.PMF(k)
			total += p
			mean += float64(k) * p
		}
		if math.Abs(total-1) > 1e-8 {
			t.Fatalf("chances add up to %v", total)
		}
		if want := float64(drawn) * float64(bad) / float64(lot); math.Abs(mean-want) > 1e-6*math.Max(1, want) {
			t.Fatalf("mean %v, want %v", mean, want)
		}
		k := rapid.IntRange(0, drawn).Draw(t, "k")
		if a, b := h.CDF(k), swapped.CDF(k); math.Abs(a-b) > 1e-8 {
			t.Fatalf("CDF(%d) = %v, swapped %v", k, a, b)
		}
	})
}

func TestBinomial_CDFAddsPMF(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := Binomial{N: rapid.IntRange(0, 300).Draw(t, "n"), P: rapid.Float64Range(0, 1).Draw(t, "p")}
		total := 0.0
		for k := 0; k <= b.N; k++ {
			total += binomialPMF(b, k)
			if math.Abs(total-b.CDF(k)) > 1e-9 {
				t.Fatalf("CDF(%d) = %v, summed %v", k, b.CDF(k), total)
			}
		}
	})
}

// binomialPMF is the chance of exactly k events.
func binomialPMF(b Binomial, k int) float64 {
	switch {
	case b.N < 0 || !(b.P >= 0 && b.P <= 1):
		return math.NaN()
	case k < 0 || k > b.N:
		return 0
	case b.P == 0:
		return indicator(k == 0)
	case b.P == 1:
		return indicator(k == b.N)
	}
	return math.Exp(logChoose(b.N, k) + float64(k)*math.Log(b.P) + float64(b.N-k)*math.Log1p(-b.P))
}

func indicator(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}
