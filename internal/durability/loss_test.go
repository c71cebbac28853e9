package durability

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lotpaper/internal/chance"
	"lotpaper/internal/testkit/draw"
)

func TestEnough_Published(t *testing.T) {
	near := func(what string, got, want, tol float64) {
		t.Helper()
		if math.Abs(got-want) > tol {
			t.Errorf("%s = %.5f, want %.5f", what, got, want)
		}
	}
	// A rate that is known for sure leaves the plain binomial. Kiermeier,
	// Visualizing and Assessing Acceptance Sampling Plans, Journal of
	// Statistical Software, 2008: n = 10, c = 3, p = 0.10 -> 0.9872;
	// n = 20, c = 0 -> 0.358 at 5 % and 0.0388 at 15 %.
	sure := func(rate float64) chance.Beta { return chance.BetaOf(rate, 1e9) }
	if s, p, ok := Enough(sure(0.10), 7, 0.98); !ok || s != 3 {
		t.Errorf("7 stones at 10 %%: %d spares", s)
	} else {
		near("P(at most 3 of 10 break)", p, 0.9872, 5e-5)
	}
	_, p, _ := Enough(sure(0.05), 20, 0.30)
	near("P(none of 20 breaks) at 5 %", p, 0.358, 5e-4)
	_, p, _ = Enough(sure(0.15), 20, 0.03)
	near("P(none of 20 breaks) at 15 %", p, 0.0388, 5e-5)
	// Laplace's rule of succession (1774): from a flat belief, the chance that
	// all of m trials fail is 1/(m+1); one stone needed with s spares is had
	// with 1 - 1/(s+2), so 95 % asks for 18 spares.
	s, p, ok := Enough(chance.Beta{A: 1, B: 1}, 1, 0.95)
	if !ok || s != 18 {
		t.Errorf("one stone from a flat belief: %d spares, %v", s, ok)
	}
	near("flat belief", p, 0.95, 1e-9)
}

// The chance of a simulation is the chance that is told.
func TestEnough_Simulated(t *testing.T) {
	rng := chance.NewStream(1, "spares")
	rate := chance.BetaOf(0.04, 50)
	const needed = 25
	spares, told, ok := Enough(rate, needed, 0.95)
	if !ok {
		t.Fatal("no answer")
	}
	const runs = 40000
	enough := 0
	for range runs {
		p := rng.Beta(rate)
		if draw.Binomial(rng.Rand, needed+spares, p) <= spares {
			enough++
		}
	}
	if got := float64(enough) / runs; math.Abs(got-told) > 4*math.Sqrt(told*(1-told)/runs) {
		t.Errorf("told %.4f, simulated %.4f", told, got)
	}
}

func TestLaw_Spares(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mean := rapid.Float64Range(0.001, 0.3).Draw(t, "mean")
		weight := rapid.Float64Range(1, 500).Draw(t, "stones")
		needed := rapid.IntRange(1, 200).Draw(t, "needed")
		s, p, ok := Enough(chance.BetaOf(mean, weight), needed, 0.9)
		if !ok {
			return
		}
		if p < 0.9 || p > 1 {
			t.Fatalf("chance %v", p)
		}
		if worse, _, ok := Enough(chance.BetaOf(math.Min(0.9, mean*2), weight), needed, 0.9); ok && worse < s {
			t.Fatalf("twice the rate needs %d spares, not %d", worse, s)
		}
		if surer, _, ok := Enough(chance.BetaOf(mean, weight), needed, 0.95); ok && surer < s {
			t.Fatalf("more certainty needs %d spares, not %d", surer, s)
		}
	})
}

func TestRateOf(t *testing.T) {
	list := Priors()
	if len(list) != 8 {
		t.Fatalf("%d priors", len(list))
	}
	before := 0.0
	for _, kind := range lossKinds {
		before = 0
		for level := Sound; level <= Avoid; level++ {
			r, f := RateOf(list, kind, level, Record{})
			if f != nil {
				t.Fatal(f)
			}
			if r.Mean < before || !(r.Low < r.Mean && r.Mean < r.High) || !strings.HasPrefix(r.Words, "estimate") ||
				r.Source == "" {
				t.Errorf("%s %s: %+v", kind, level, r)
			}
			before = r.Mean
		}
	}
	few, _ := RateOf(list, LossSetting, Caution, Record{N: 10, Lost: 1})
	many, _ := RateOf(list, LossSetting, Caution, Record{N: 1000, Lost: 20})
	if !strings.Contains(few.Words, "record of 10") || !strings.HasPrefix(few.Words, "estimate") ||
		!strings.HasPrefix(many.Words, "record of 1000") {
		t.Errorf("%q, %q", few.Words, many.Words)
	}
	// (0.04*50 + 1) / (50 + 10) and (2 + 20) / (50 + 1000): the conjugate rule.
	if math.Abs(few.Mean-0.05) > 1e-12 || math.Abs(many.Mean-22.0/1050) > 1e-12 {
		t.Errorf("means %v, %v", few.Mean, many.Mean)
	}
	if many.High-many.Low >= few.High-few.Low {
		t.Error("a longer record does not narrow the interval")
	}
	for _, own := range []Record{{-1, 0}, {3, 4}, {3, -1}} {
		if _, f := RateOf(list, LossSetting, Care, own); f == nil {
			t.Errorf("%+v passes", own)
		}
	}
	if _, f := RateOf(list[:1], LossReturn, Care, Record{}); f == nil {
		t.Error("a missing prior passes")
	}
	if _, f := RateOf([]Prior{{LossSetting, Care, 1.5, 50, "x"}}, LossSetting, Care, Record{}); f == nil {
		t.Error("a rate of 150 % passes")
	}
}

// The two losses follow their own hazards: a hammered setting breaks stones on
// the bench, an open one brings them back.
func TestLossProfile(t *testing.T) {
	s := stones(t, "kunzite")[0]
	flush := Judge(Situation{Stone: s, Position: Position{setting(t, "flush"), "pendant", "evening"}})
	prong := Judge(Situation{Stone: s, Position: Position{setting(t, "prong"), "ring", "daily"}})
	if flush.BreakLevel != Avoid || flush.ReturnLevel >= Avoid || prong.ReturnLevel != Avoid ||
		prong.BreakLevel >= Caution {
		t.Errorf("flush %s/%s, prong %s/%s", flush.BreakLevel, flush.ReturnLevel, prong.BreakLevel, prong.ReturnLevel)
	}
	spares := func(v Verdict) int {
		rate, f := RateOf(Priors(), LossSetting, v.BreakLevel, Record{})
		n, _, ok := Enough(rate.Belief, 20, 0.95)
		if f != nil || !ok {
			t.Fatalf("level %s: %v", v.BreakLevel, f)
		}
		return n
	}
	if few, many := spares(prong), spares(flush); many <= few || few < 1 {
		t.Errorf("spares %d and %d", few, many)
	}
}
