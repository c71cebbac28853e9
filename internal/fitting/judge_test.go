package fitting

import (
	"flag"
	"math"
	"slices"
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/chance"
	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
	"lotpaper/internal/identify"
	"lotpaper/internal/testkit/draw"
)

// half says which stones are judged: what is chosen is chosen on "tune", what
// is reported is reported on "report".
var half = flag.String("half", "report", "tune or report")

var table = identify.Compile(facts.Materials())

// clear reports whether most gem goods of the material are transparent.
func clear(m *facts.Material) bool { return m.Typical.Transparency == facts.MostlyTransparent }

// gems are the natural crystals of the trade that have index and gravity.
func gems() []*facts.Material {
	var out []*facts.Material
	for _, m := range facts.Materials() {
		if m.Nature == facts.Natural && m.Frequency == "common" && m.RI.Known && m.SG.Known && m.Birefringence.Known &&
			(m.Optic == facts.Isotropic || m.Optic == facts.Uniaxial || m.Optic == facts.Biaxial) {
			out = append(out, m)
		}
	}
	return out
}

// read is a stone of a material as a bench reads it: "none", "polariscope",
// "pair", "pair + polariscope" or "full".
func read(s *chance.Stream, m *facts.Material, color, bench string) identify.Observations {
	o := identify.Observations{Colour: color}
	if clear(m) {
		o.Look.Transparency = "transparent"
	}
	if bench == "none" {
		return o
	}
	doubly := m.Optic != facts.Isotropic
	if bench != "pair" {
		o.Optic = identify.OpticIsotropic
		if doubly {
			o.Optic = identify.OpticDoubly
		}
	}
	if bench == "polariscope" {
		return o
	}
	sep := 0.0
	if doubly {
		sep = draw.Uniform(s.Rand, m.Birefringence.Min, m.Birefringence.Max)
	}
	low, shift := m.RI.Min, draw.Normal(s.Rand, 0, 0.0015)
	if most := m.RI.Max - sep; most > low {
		low = draw.Uniform(s.Rand, low, most)
	}
	edge := func(n float64) identify.Edge {
		if n += shift + draw.Normal(s.Rand, 0, 0.001); n > 1.79 {
			return identify.Edge{Over: true}
		}
		return identify.Edge{N: math.Round(n*1000) / 1000}
	}
	p := identify.Pair{Low: edge(low)}
	if sep >= 0.0005 {
		if p.High = edge(low + sep); !p.High.Over && p.Low.N > p.High.N {
			p.Low, p.High = p.High, p.Low
		}
	}
	o.Pairs = []identify.Pair{p}
	if bench != "full" {
		return o
	}
	if doubly && p.High.N != 0 {
		o.Birefringence, o.BirefringenceMax, o.Blinked = p.High.N-p.Low.N, true, true
	}
	if doubly {
		o.Optic = identify.Optic(m.Optic)
		if m.Sign == "+" || m.Sign == "-" {
			o.Optic += identify.Optic(m.Sign)
		}
	}
	sg := draw.Uniform(s.Rand, m.SG.Min, m.SG.Max) + draw.Normal(s.Rand, 0, 0.012)
	o.SG, o.SGU = math.Round(1000*sg)/1000, 0.012
	return o
}

// judged is the verdict on a lot of one stone of the material, with the claim
// that it is; state is what the tests make of the claim.
func judged(t *testing.T, m *facts.Material, o identify.Observations,
	s durability.Situation) (c durability.Candidates, own durability.Level, state identify.State) {
	t.Helper()
	lot := book.Lot{Code: "A1", Species: m.Name, Color: o.Colour}
	named, f := facts.Resolve(m.Name)
	if f != nil {
		t.Fatal(f)
	}
	bare := identify.Stone(table, &identify.Observations{Colour: o.Colour, Look: o.Look}, &identify.Settings{})
	l := identify.Lot{Claim: []*facts.Material{m}, Pieces: 1}
	if len(o.Pairs) > 0 || o.Optic != "" || o.SG != 0 {
		l.Tested = []identify.TestedStone{{Drawn: identify.Random,
			Verdict: identify.Stone(table, &o, &identify.Settings{})}}
	}
	v, faults := identify.JudgeLot(l, identify.LotSettings{})
	if faults.Blocks() {
		t.Fatal(faults)
	}
	c = durability.JudgeAll(s, mayBe(lot, named, v.MayBe(&bare, l.Tested)))
	sure := durability.JudgeAll(s, mayBe(lot, named, []identify.Possible{{Material: m, Claim: true, Chance: 1,
		Taken: 1}}))
	return c, sure.Setting, v.State
}

func ring(t *testing.T) (s durability.Situation) {
	t.Helper()
	setting, f := facts.SettingNamed("prong")
	if f != nil {
		t.Fatal(f)
	}
	s.Setting, s.Piece, s.Wear = setting, "ring", "daily"
	return s
}

// A true claim stands where its own material stands: of 2,000 true claims in a
// prong ring worn daily at most one in a hundred comes out harsher.
func TestJudge_TrueClaimsStandAsTheirMaterial(t *testing.T) {
	t.Parallel()
	s, gems := ring(t), gems()
	for _, bench := range []string{"none", "pair", "pair + polariscope", "full"} {
		stream := chance.NewStream(12, *half+" "+bench)
		harsher, milder, n := 0, 0, 2000
		if testing.Short() {
			n = 800
		}
		blame := map[string]int{}
		for range n {
			m := gems[stream.IntN(len(gems))]
			o := read(stream, m, m.ColorShares[stream.IntN(len(m.ColorShares))].Hue, bench)
			c, own, _ := judged(t, m, o, s)
			switch {
			case c.Setting > own:
				harsher++
				blame[m.Name]++
			case c.Setting < own:
				milder++
			}
		}
		t.Logf("%s: harsher %.2f %%, milder %.2f %% of %d; %v", bench, 100*float64(harsher)/float64(n),
			100*float64(milder)/float64(n), n, blame)
		if 100*harsher > n {
			t.Errorf("%s: %d of %d true claims come out harsher than their material", bench, harsher, n)
		}
	}
}

// Testing a stone never makes its headline worse than not testing it, unless
// the tests speak against the claim: then its chance has fallen.
func TestJudge_TestingNeverHurts(t *testing.T) {
	t.Parallel()
	s := ring(t)
	stream := chance.NewStream(12, *half+" never hurts")
	for _, m := range gems() {
		for _, color := range m.Hues() {
			before, _, _ := judged(t, m, read(stream, m, color, "none"), s)
			for _, bench := range []string{"polariscope", "pair", "pair + polariscope", "full"} {
				after, _, state := judged(t, m, read(stream, m, color, bench), s)
				claim := func(c durability.Candidates) (sum float64) {
					for _, e := range c.Each {
						if e.Stone.Material == m {
							sum += e.Stone.Chance
						}
					}
					return sum
				}
				if after.Setting > before.Setting && claim(after) >= claim(before) {
					t.Errorf("%s %s, %s: %s untested, %s (%s) though its chance rose from %.3f to %.3f", color, m.Name,
						bench, before.Setting, after.Setting, state, claim(before), claim(after))
				}
				if bench == "polariscope" && (state != identify.Supported || after.Setting > before.Setting) {
					t.Errorf("%s %s, polariscope alone: %s, %s; untested %s", color, m.Name, state, after.Setting,
						before.Setting)
				}
			}
		}
	}
}

// A stone that is not its claim comes out milder than what it is the less often
// the more is read of it: a bench that tells it apart does not set it blindly.
func TestJudge_FalseClaims(t *testing.T) {
	t.Parallel()
	s, gems := ring(t), gems()
	milder := map[string]int{}
	n := 500
	for _, bench := range []string{"none", "pair", "full"} {
		stream := chance.NewStream(12, *half+" false "+bench)
		for range n {
			claim := gems[stream.IntN(len(gems))]
			m := gems[stream.IntN(len(gems))]
			for !clear(claim) || !clear(m) || m == claim || !shares(claim, m) {
				claim, m = gems[stream.IntN(len(gems))], gems[stream.IntN(len(gems))]
			}
			color := m.ColorShares[stream.IntN(len(m.ColorShares))].Hue
			c, _, _ := judged(t, claim, read(stream, m, color, bench), s)
			if _, own, _ := judged(t, m, read(stream, m, color, "none"), s); c.Setting < own {
				milder[bench]++
			}
		}
	}
	t.Logf("milder than what it is, of %d: %v", n, milder)
	if milder["full"]*20 > n || milder["pair"] > milder["none"] {
		t.Errorf("milder than what it is, of %d: %v", n, milder)
	}
}

// shares reports whether two materials are met in a colour in common.
func shares(a, b *facts.Material) bool {
	return slices.ContainsFunc(a.Hues(), func(hue string) bool { return slices.Contains(b.Hues(), hue) })
}
