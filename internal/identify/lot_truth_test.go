package identify

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"lotpaper/internal/chance"
	"lotpaper/internal/facts"
)

// When all tested stones are plain the model has a closed form: the share of
// strangers is Beta(a, b + n), the mixture's weight falls as 1/(n + 1), and the
// strangers in the rest are beta-binomial.
func closedForm(pieces, plain int, t Trade) (within, expected float64) {
	t = t.filled()
	lbeta := func(a, b float64) float64 {
		x, _ := math.Lgamma(a)
		y, _ := math.Lgamma(b)
		z, _ := math.Lgamma(a + b)
		return x + y - z
	}
	n, rest, most := float64(plain), pieces-plain, pieces/20
	sum := 0.0
	// The third state: phi ~ Beta(9.5, .5), each plain stone (1-phi)/2.
	type state struct{ weight, a, b float64 }
	for _, s := range []state{
		{t.Claim * math.Exp(lbeta(t.Strangers.A, t.Strangers.B+n)-lbeta(t.Strangers.A, t.Strangers.B)), t.Strangers.A,
			t.Strangers.B + n},
		{t.Mixture / (n + 1), 1, 1 + n},
	} {
		sum += s.weight
		expected += s.weight * float64(rest) * s.a / (s.a + s.b)
		for k := 0; k <= min(most, rest); k++ {
			lchoose := -lbeta(float64(k)+1, float64(rest-k)+1) - math.Log(float64(rest)+1)
			within += s.weight * math.Exp(lchoose+lbeta(s.a+float64(k), s.b+float64(rest-k))-lbeta(s.a, s.b))
		}
	}
	other := t.Other * math.Exp(lbeta(9.5, 0.5+n)-lbeta(9.5, 0.5)-n*math.Ln2)
	mean := 9.5 / (10 + n)
	sum += other
	if rest == 0 {
		within += other
	}
	expected += other * float64(rest) * (mean + (1-mean)/2)
	return within / sum, expected / sum
}

// How many plain stones verify a lot, and how many bring the expected strangers
// under one in a hundred: the model beside its closed form.
func TestLot_PlainStonesByTheClosedForm(t *testing.T) {
	var b strings.Builder
	sizes := []int{1, 2, 5, 10, 14, 20, 40, 100, 400, 2000}
	fmt.Fprintf(&b, "pieces %v\n", sizes)
	for _, c := range []struct {
		name  string
		trade Trade
	}{{"usual", Trade{}}, {"new vendor", NewVendor}} {
		var verify, loss []int
		for _, pieces := range sizes {
			v, faults := JudgeLot(Lot{Claim: corundumClaim(), Pieces: pieces}, LotSettings{Trade: c.trade})
			if faults.Blocks() {
				t.Fatal(faults)
			}
			until, ok := v.TestsUntil(0.01)
			if !ok {
				t.Errorf("%d pieces: testing all leaves a loss", pieces)
			}
			verify, loss = append(verify, v.More), append(loss, until)
			m := v.models[0]
			for _, n := range []int{0, pieces / 3, v.More, pieces - 1} {
				within, expected := closedForm(pieces, n, c.trade)
				if n > 0 && math.Abs(m.withinAfter(n, 0.05)-within) > 0.004 {
					t.Errorf("%s, %d pieces, %d plain: within 5 %% with %.4f, closed form %.4f", c.name, pieces, n,
						m.withinAfter(n, 0.05), within)
				}
				if n > 0 && math.Abs(m.expectedAfter(n)-expected) > 0.1*expected+1e-3 {
					t.Errorf("%s, %d pieces, %d plain: expected %.4f, closed form %.4f", c.name, pieces, n,
						m.expectedAfter(n), expected)
				}
			}
		}
		fmt.Fprintf(&b, "%s: plain stones to verify %v; until 1 %% are expected to be strangers %v\n", c.name, verify,
			loss)
	}
	golden(t, "lot_plain.txt", b.String())
}

// lotClaims are the claims of the simulated lots.
var lotClaims = []string{"corundum", "spinel (natural)", "quartz", "beryl", "topaz", "tourmaline (elbaite and general)",
	"zoisite (tanzanite)", "peridot (olivine, forsterite-rich)", "spodumene", "apatite", "diopside", "chrysoberyl"}

// simulated is one lot made by chance, and what was said of it.
type simulated struct {
	v      LotVerdict
	claim  bool // it is the claim with few strangers
	others int
	truth  []bool // of each tested stone: it is the claim
}

// simulate makes lots of 5 to 40 pieces, a third tested at random, and in a
// fifth single stones.
func simulate(t testing.TB, d *dealer, real Trade, believed Trade, b truthBench) simulated {
	s := d.s
	pickOther := func(claim int) int {
		for {
			if i := pick(s, shared.frequency); i != claim && shared.rows[i].whole.Known && shared.rows[i].sg.Known {
				return i
			}
		}
	}
	claim := indexOf(t.(*testing.T), shared, facts.MaterialNamed(lotClaims[s.IntN(len(lotClaims))]))
	pieces := 5 + s.IntN(36)
	if s.Float64() < 0.2 { // single stones are verified by one test
		pieces = 1
	}
	var x simulated
	theta, instead := 0.0, -1
	switch u := s.Float64() * (real.Claim + real.Mixture + real.Other); {
	case u < real.Claim:
		x.claim, theta = true, s.Beta(real.Strangers)
	case u < real.Claim+real.Mixture:
		theta = s.Float64()
	default:
		theta, instead = s.Beta(chance.Beta{A: 9.5, B: 0.5}), pickOther(claim)
	}
	l := Lot{Claim: []*facts.Material{shared.Materials[claim]}, Pieces: pieces}
	tests := max(1, pieces/3)
	for k := range pieces {
		i := claim
		switch {
		case s.Float64() < theta && instead >= 0:
			i = instead
		case instead >= 0:
			if s.Float64() < 0.5 {
				i = pickOther(claim)
			}
		case s.Float64() < theta:
			i = pickOther(claim)
		}
		if i != claim {
			x.others++
		}
		if k >= tests {
			continue
		}
		m, r := shared.Materials[i], &shared.rows[i]
		y, _ := d.deal(t, m, r)
		o := b.observe(s, m, r, y)
		l.Tested = append(l.Tested, TestedStone{Stone: fmt.Sprint(k), Drawn: Random,
			Verdict: Stone(shared, &o, &Settings{})})
		x.truth = append(x.truth, i == claim)
	}
	if tests == pieces {
		x.claim = x.others == 0
	}
	faults := l.validate(LotSettings{}.filled())
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	x.v, _ = JudgeLot(l, LotSettings{Trade: believed})
	return x
}

// What is said of lots is what happens: the expected strangers, the bound, the
// chance of the claim, over lots made by chance as believed, and by a worse and
// a better trade.
func TestLot_Calibration(t *testing.T) {
	lots := 600
	if testing.Short() {
		lots = 150
	}
	usual := Trade{}.filled()
	var b strings.Builder
	for _, c := range []struct {
		name   string
		real   Trade
		b      truthBench
		covers float64 // of the bound, at least
		off    float64 // of the expected share of strangers, at most
	}{
		{"as believed, full + look", usual, lookBench, 0.96, 0.02},
		{"as believed, pair + polariscope", usual, shortBench, 0.95, 0.02},
		{"a worse trade, full + look", Trade{0.6, 0.2, 0.2, chance.Beta{A: 1.7, B: 8.3}}, lookBench, 0.90, 0.06},
		{"a better trade, full + look", Trade{0.98, 0.01, 0.01, chance.Beta{A: 0.1, B: 9.9}}, lookBench, 0.98, 0.04},
	} {
		d := newDealer(t, "gem goods", 21)
		covered, said, is, pieces := 0, 0.0, 0, 0
		sureN, sureSaid, sureTrue := 0, 0.0, 0
		states := map[State]int{}
		verifiedBad, flagTrue, trues, strangers, caught := 0, 0, 0, 0, 0
		for range lots {
			x := simulate(t, d, c.real, Trade{}, c.b)
			states[x.v.State]++
			pieces += x.v.Of
			said += x.v.Expected
			is += x.others
			if x.others <= x.v.UpperCount {
				covered++
			}
			if x.v.Chance > 0.8 {
				sureN++
				sureSaid += x.v.Chance
				if x.claim {
					sureTrue++
				}
			}
			if x.v.State == Verified && float64(x.others) > 0.05*float64(x.v.Of) {
				verifiedBad++
			}
			for i, st := range x.v.Stones {
				if x.truth[i] {
					trues++
					if st.Standing == NotClaim {
						flagTrue++
					}
				} else {
					strangers++
					if st.Standing == NotClaim {
						caught++
					}
				}
			}
		}
		n := float64(lots)
		fmt.Fprintf(&b, "%s\n    strangers said %.3f, true %.3f; bound covers %.1f %%; lot = claim, said over .8: "+
			"said %.3f, true %.3f\n", c.name, said/float64(pieces), float64(is)/float64(pieces), 100*float64(covered)/n,
			sureSaid/float64(sureN), float64(sureTrue)/float64(sureN))
		fmt.Fprintf(&b, "    true stones flagged %.2f %%, strangers flagged %.1f %%; verified with more than 5 %% "+
			"strangers %d of %d; %v\n", 100*float64(flagTrue)/float64(trues), 100*float64(caught)/float64(strangers),
			verifiedBad, states[Verified], states)
		if float64(covered)/n < c.covers || math.Abs(said-float64(is))/float64(pieces) > c.off {
			t.Errorf("%s: the bound covers %.1f %%, strangers said %.3f, true %.3f", c.name, 100*float64(covered)/n,
				said/float64(pieces), float64(is)/float64(pieces))
		}
		if float64(flagTrue) > 0.005*float64(trues) || verifiedBad > states[Verified]/50 {
			t.Errorf("%s: %d of %d true stones are flagged; %d of %d verified lots have more strangers", c.name,
				flagTrue, trues, verifiedBad, states[Verified])
		}
	}
	if !testing.Short() {
		golden(t, "lots.txt", b.String())
	}
}

// A lot of a common material with one honest weak test is never mixed, doubted
// or contradicted: nothing speaks against the claim.
func TestLot_OneWeakTest(t *testing.T) {
	n := 0
	for i, m := range shared.Materials {
		r := &shared.rows[i]
		if m.Frequency != "common" {
			continue
		}
		n++
		color := m.ColorShares[0].Hue
		weak := map[string]Observations{}
		switch m.Optic {
		case facts.Isotropic:
			weak["polariscope"] = Observations{Optic: OpticIsotropic}
		case facts.Uniaxial, facts.Biaxial:
			weak["polariscope"] = Observations{Optic: OpticDoubly}
		case facts.Aggregate:
			weak["polariscope"] = Observations{Optic: OpticAggregate}
		}
		if r.whole.Known && r.wholeNumber.typical < 1.79 {
			weak["spot"] = Observations{Spot: Edge{N: math.Round(100*r.wholeNumber.typical) / 100}}
		}
		if r.sg.Known {
			weak["gravity"] = Observations{SG: r.sgNumber.typical, SGU: 0.02}
		}
		for test, o := range weak {
			for _, colored := range []string{"", color} {
				o.Colour = colored
				for _, drawn := range []Drawn{Random, Picked} {
					l := Lot{Claim: []*facts.Material{m}, Pieces: 10, Tested: []TestedStone{{Stone: "1", Drawn: drawn,
						Verdict: Stone(shared, &o, &Settings{})}}}
					if v, _ := JudgeLot(l, LotSettings{}); v.State != Supported {
						t.Errorf("%s, %s alone, %q: %s; %+v", m.Name, test, colored, v.State, v.Stones[0])
					}
				}
			}
		}
	}
	if n < 40 {
		t.Errorf("%d common materials", n)
	}
}

// The loss is an expectation: chances times what is lost, at what a stranger
// brings; a bound never enters it.
func TestLot_Loss(t *testing.T) {
	v := judge(t, 14, tested(sapphire, Random, 4))
	worth := Worth{Stone: func(string) float64 { return 30 }, Rest: 30}
	if got, want := v.Loss(worth), 30*v.Expected; math.Abs(got-want) > 1e-9 {
		t.Errorf("a lot of equal pieces loses %v, want %v", got, want)
	}
	if share := v.Loss(worth) / (14 * 30); share < 0.015 || share > 0.04 {
		t.Errorf("four plain stones of fourteen lose %.1f %% of the cost", 100*share)
	}
	if v.UpperCount > 3 {
		t.Errorf("at most %d of 14", v.UpperCount)
	}
	mixed := judge(t, 14, tested(sapphire, Random, 3), tested(spinel, Random, 1))
	all, half := mixed.Loss(worth), 0.0
	worth.As = func(*facts.Material) float64 { return 15 }
	if half = mixed.Loss(worth); math.Abs(half-all/2) > 0.01*all {
		t.Errorf("strangers that bring half lose %v, those that bring nothing %v", half, all)
	}
	if mixed.State != Mixed || mixed.Expected < 1.5 || mixed.Expected > 3.5 {
		t.Errorf("one stranger among four of fourteen: %s, %.2f expected", mixed.State, mixed.Expected)
	}
}

// The work of a lot does not grow with the square of its pieces: memory is
// counted, for a lot of 2,000 with 30 tested.
func TestLot_Allocations(t *testing.T) {
	stones := tested(sapphire, Random, 30)
	count := func(pieces int) float64 {
		l := Lot{Claim: corundumClaim(), Pieces: pieces, Tested: stones}
		return testing.AllocsPerRun(5, func() { JudgeLot(l, LotSettings{}) })
	}
	if small, big := count(100), count(2000); big > small+40 {
		t.Errorf("%v allocations for 100 pieces, %v for 2,000", small, big)
	}
}

func BenchmarkJudgeLot(b *testing.B) {
	for _, c := range []struct{ pieces, tested int }{{14, 4}, {40, 13}, {2000, 28}} {
		l := Lot{Claim: corundumClaim(), Pieces: c.pieces, Tested: tested(sapphire, Random, c.tested)}
		b.Run(fmt.Sprintf("%d of %d", c.tested, c.pieces), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				JudgeLot(l, LotSettings{})
			}
		})
	}
}
