package chance

import (
	"math"
	"math/big"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"lotpaper/internal/testkit/vectors"
)

func integer(t *testing.T, s string) int {
	t.Helper()
	n, err := strconv.Atoi(s)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func float(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func TestSampleToFind_Tables(t *testing.T) {
	for _, file := range []string{"detection.csv", "ispm31.csv"} {
		for _, v := range vectors.Read(t, "chance/"+file) {
			want, c := integer(t, v["n"]), float(t, v["confidence"])
			if v["lot"] == "" {
				if n, ok := SampleToFindShare(float(t, v["share"]), c, 1); !ok || n != want {
					t.Errorf("endless lot, share %s at %v: n = %d, want %d (%s)", v["share"], c, n, want, v["source"])
				}
				continue
			}
			n, ok := SampleToFind(integer(t, v["lot"]), integer(t, v["bad"]), c, 1)
			if !ok || n != want {
				t.Errorf("lot %s with %s bad at %v: n = %d, want %d (%s)", v["lot"], v["bad"], c, n, want, v["source"])
			}
		}
	}
}

// missExactly is C(N-D, n)/C(N, n) in whole numbers: an oracle that shares
// nothing with the code under test.
func missExactly(lot, bad, n int) *big.Rat {
	return new(big.Rat).SetFrac(
		new(big.Int).Binomial(int64(lot-bad), int64(n)),
		new(big.Int).Binomial(int64(lot), int64(n)))
}

func TestSampleToFind_ExactIntegers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lot := rapid.IntRange(1, 400).Draw(t, "lot")
		bad := rapid.IntRange(1, lot).Draw(t, "bad")
		permille := rapid.Int64Range(1, 999).Draw(t, "confidence")
		n, ok := SampleToFind(lot, bad, float64(permille)/1000, 1)
		if !ok {
			t.Fatal("testing all always finds a bad piece")
		}
		allowed := big.NewRat(1000-permille, 1000)
		if missExactly(lot, bad, n).Cmp(allowed) > 0 {
			t.Fatalf("n = %d is not enough", n)
		}
		if n > 0 && missExactly(lot, bad, n-1).Cmp(allowed) <= 0 {
			t.Fatalf("n = %d is not the smallest", n)
		}
	})
}

func TestSampleToFind_Efficacy(t *testing.T) {
	// One bad piece in ten, recognised four times in five: testing all ten
	// finds it with 0.8, so 0.8 needs ten and 0.81 cannot be had.
	if n, ok := SampleToFind(10, 1, 0.8, 0.8); !ok || n != 10 {
		t.Errorf("n, ok = %d, %v; want 10, true", n, ok)
	}
	if n, ok := SampleToFind(10, 1, 0.81, 0.8); ok {
		t.Errorf("n = %d, want none: the test itself misses one in five", n)
	}
	// ISPM 31 (FAO, 2008): in a large lot efficacy multiplies the level.
	few, _ := SampleToFindShare(0.05, 0.95, 0.5)
	same, _ := SampleToFindShare(0.025, 0.95, 1)
	if few != same {
		t.Errorf("share 5 %% at efficacy 0.5 needs %d, share 2.5 %% needs %d", few, same)
	}
}

func TestUpperShare_Published(t *testing.T) {
	for _, v := range []struct {
		bad, tested      int
		confidence, want float64
		within           float64
		source           string
	}{
		{0, 14, 0.95, 0.1926, 5e-5, "closed form 1 - 0.05^(1/14), Wilmott forum, 2013"},
		{0, 20, 0.975, 1 - 0.83157, 5e-5, "0 failures of 20: lower limit of reliability about 83.2 %, unverified: " +
			"Clopper and Pearson, 1934"},
		{682, 925, 0.975, 0.7654066, 5e-8, "unverified: Conover, Practical Nonparametric Statistics (1971), the " +
			"example of R's binom.test"},
		{4, 20, 0.975, 0.4366, 5e-5, "unverified: Clopper and Pearson interval of 4 in 20, 0.0573 to 0.4366"},
	} {
		if got := upperShare(v.bad, v.tested, v.confidence); math.Abs(got-v.want) > v.within {
			t.Errorf("upperShare(%d, %d, %v) = %.7f, want %.7f (%s)", v.bad, v.tested, v.confidence, got,
				v.want, v.source)
		}
	}
	if got := lowerShare(682, 925, 0.975); math.Abs(got-0.7076683) > 5e-8 {
		t.Errorf("lowerShare(682, 925) = %.7f, want 0.7076683", got)
	}
	// Seven units without a failure support "at least 70 % good" at 90 %, six
	// do not quite (88.2 %): success-run theorem, common practice.
	if upperShare(0, 7, 0.90) > 0.30 || upperShare(0, 6, 0.90) <= 0.30 {
		t.Errorf("upper shares of 7 and 6 clean units: %v, %v", upperShare(0, 7, 0.9), upperShare(0, 6, 0.9))
	}
}

func TestUpperShare_IsTheEdge(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tested := rapid.IntRange(1, 3000).Draw(t, "tested")
		bad := rapid.IntRange(0, tested-1).Draw(t, "bad")
		c := rapid.Float64Range(0.5, 0.999).Draw(t, "confidence")
		p := upperShare(bad, tested, c)
		if got := (Binomial{N: tested, P: p}).CDF(bad); math.Abs(got-(1-c)) > 1e-7 {
			t.Fatalf("chance to see at most %d of %d at the bound %v is %v, want %v", bad, tested, p, got, 1-c)
		}
		if more := upperShare(bad+1, tested, c); more < p {
			t.Fatalf("one bad piece more lowers the bound from %v to %v", p, more)
		}
	})
}

func TestUpperCount_IsTheEdge(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lot := rapid.IntRange(1, 300).Draw(t, "lot")
		tested := rapid.IntRange(0, lot).Draw(t, "tested")
		bad := rapid.IntRange(0, tested).Draw(t, "bad")
		c := rapid.Float64Range(0.5, 0.999).Draw(t, "confidence")
		e := rapid.SampledFrom([]float64{1, 0.9, 0.5}).Draw(t, "efficacy")
		d, ok := UpperCount(lot, tested, bad, c, e)
		if !ok {
			t.Fatal("refused")
		}
		// By simple summation over the distribution of bad pieces drawn.
		seen := func(d int) float64 {
			total := 0.0
			for k := 0; k <= tested; k++ {
				total += (Hypergeometric{Lot: lot, Bad: d, Drawn: tested}).PMF(k) * (Binomial{N: k, P: e}).CDF(bad)
			}
			return total
		}
		if d > bad && seen(d) <= 1-c-1e-9 {
			t.Fatalf("%d bad pieces are already refuted: %v", d, seen(d))
		}
		most := lot
		if e == 1 {
			most = lot - tested + bad
		}
		if d < most && seen(d+1) > 1-c+1e-9 {
			t.Fatalf("%d bad pieces are not refuted: %v", d+1, seen(d+1))
		}
		if e == 1 && tested == lot && d != bad {
			t.Fatalf("all tested: bound %d, want %d", d, bad)
		}
	})
}

func TestUpperCount_NeverAboveTheEndlessLot(t *testing.T) {
	// Drawing without putting back tells more than drawing from an endless lot.
	rapid.Check(t, func(t *rapid.T) {
		lot := rapid.IntRange(1, 2000).Draw(t, "lot")
		tested := rapid.IntRange(1, lot).Draw(t, "tested")
		bad := rapid.IntRange(0, min(tested, 5)).Draw(t, "bad")
		d, _ := UpperCount(lot, tested, bad, 0.95, 1)
		if limit := upperShare(bad, tested, 0.95) * float64(lot); float64(d) > limit+1 {
			t.Fatalf("%d bad of %d, endless lot allows %v", d, lot, limit)
		}
	})
}

func TestBounds_Refuse(t *testing.T) {
	if _, ok := UpperCount(10, 11, 0, 0.95, 1); ok {
		t.Error("more tested than there are was accepted")
	}
	if _, ok := UpperCount(10, 5, 0, 1, 1); ok {
		t.Error("confidence 1 was accepted")
	}
	if _, ok := SampleToFind(10, 0, 0.95, 1); ok {
		t.Error("nothing to find was accepted")
	}
	if _, ok := SampleToFindShare(0, 0.95, 1); ok {
		t.Error("share 0 was accepted")
	}
	if !math.IsNaN(upperShare(3, 2, 0.95)) {
		t.Error("3 bad of 2 was accepted")
	}
}

// upperShare is the exact one-sided upper bound (Clopper and Pearson,
// Biometrika 1934) on the share of bad pieces in an endless lot, when `bad` of
// `tested` randomly drawn pieces were bad: a share above it would have shown
// more bad pieces with at least the given confidence. No piece tested gives 1.
func upperShare(bad, tested int, confidence float64) float64 {
	switch {
	case bad < 0 || tested < bad || !(confidence > 0 && confidence < 1):
		return math.NaN()
	case bad == tested:
		return 1
	}
	return Beta{A: float64(bad + 1), B: float64(tested - bad)}.Quantile(confidence)
}

// lowerShare is the exact one-sided lower bound to upperShare.
func lowerShare(bad, tested int, confidence float64) float64 {
	if bad < 0 || tested < bad || !(confidence > 0 && confidence < 1) {
		return math.NaN()
	}
	return 1 - upperShare(tested-bad, tested, confidence)
}
