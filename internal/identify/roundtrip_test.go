package identify

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
	"testing"

	"lotpaper/internal/chance"
	"lotpaper/internal/facts"
	"lotpaper/internal/testkit/draw"
	"lotpaper/internal/testkit/vectors"
)

// Readings as other publications print them: every unmarked row shares values
// with the table's row, within the rounding of what is printed. A row of a
// group ("plastics") is held against all its members together.
func TestTable_OtherSourcesOverlap(t *testing.T) {
	for _, m := range vectors.Read(t, "identify/readings_by_source.csv") {
		if marked(m["printed_note"]) {
			continue
		}
		named, f := facts.Resolve(m["species"])
		if f != nil {
			t.Errorf("%s: %v", m["species"], f)
			continue
		}
		var index, sg, sep facts.Range
		for _, material := range named.Materials {
			r := shared.rows[indexOf(t, shared, material)]
			index, sg, sep = span(index, r.whole), span(sg, material.SG), span(sep, r.sep)
		}
		for _, c := range []struct {
			min, max string
			have     facts.Range
			rounding float64
		}{
			{"ri_min", "ri_max", index, 0.006},
			{"sg_min", "sg_max", sg, 0.05},
			{"birefringence_min", "birefringence_max", sep, 0.0015},
		} {
			if m[c.min] == "" || m[c.max] == "" || !c.have.Known {
				continue
			}
			printed := facts.Span(number(t, m[c.min])-c.rounding, number(t, m[c.max])+c.rounding)
			if !printed.Overlaps(c.have) {
				t.Errorf("%s: %s prints %s %s to %s, the table has %v", m["species"], m["source"], c.min, m[c.min],
					m[c.max], c.have)
			}
		}
	}
}

// marked tells a row of which the printed values are known to be wrong, or to
// stand for a whole mineral series.
func marked(note string) bool {
	for _, w := range []string{"BAD", "SUSPECT", "error", "series", "species range"} {
		if strings.Contains(note, w) {
			return true
		}
	}
	return false
}

// bencher makes readings of known stones by a model of its own, which shares
// nothing with the engine's: crystals by Fresnel's equation on random facets,
// values skewed inside ranges (narrowed to what a second source prints, where
// there is one), weights on a real balance, readings rounded to the scale's
// last digit, one reading in ten with doubled error.
type bencher struct {
	s     *chance.Stream
	other map[string][2]facts.Range // species -> RI and SG of a second source
}

func newBencher(t testing.TB, seed uint64) *bencher {
	b := &bencher{s: chance.NewStream(seed, "bench"), other: map[string][2]facts.Range{}}
	for _, m := range vectors.Read(t, "identify/readings_by_source.csv") {
		if marked(m["printed_note"]) || m["sg_min"] == "" || m["ri_min"] == "" {
			continue
		}
		b.other[m["species"]] = [2]facts.Range{
			facts.Span(number(t, m["ri_min"]), number(t, m["ri_max"])),
			facts.Span(number(t, m["sg_min"]), number(t, m["sg_max"])),
		}
	}
	return b
}

// skewed draws a value inside a range, nearer one end than the other.
func (b *bencher) skewed(r facts.Range) float64 {
	belief := chance.Beta{A: 2, B: 4}
	if b.s.Float64() < 0.5 {
		belief = chance.Beta{A: 4, B: 2}
	}
	return r.Min + (r.Max-r.Min)*b.s.Beta(belief)
}

func within(r, narrower facts.Range) facts.Range {
	lo, hi := math.Max(r.Min, narrower.Min), math.Min(r.Max, narrower.Max)
	if !r.Known || !narrower.Known || lo > hi {
		return r
	}
	return facts.Span(lo, hi)
}

// sloppy is 2 for one reading in ten.
func (b *bencher) sloppy() float64 {
	if b.s.Float64() < 0.1 {
		return 2
	}
	return 1
}

// indices of one crystal of the material; ok is false when the published
// ranges of omega, epsilon, alpha, beta, gamma and birefringence do not go
// together.
func (b *bencher) indices(m *facts.Material, r *row) (crystal, bool) {
	for range 300 {
		var c crystal
		sep := b.skewed(r.sep)
		switch {
		case m.Optic == facts.Uniaxial:
			sign := float64(r.sign)
			if sign == 0 {
				sign = float64(1 - 2*b.s.IntN(2))
			}
			omega := b.skewed(orRange(m.Omega, r.uniaxial))
			epsilon := omega + sign*sep
			if m.Epsilon.Known && m.Epsilon.Distance(epsilon) > 0.0005 || r.whole.Distance(epsilon) > 0.0005 {
				continue
			}
			c = crystal{omega, omega, epsilon}
			if sign < 0 {
				c = crystal{epsilon, omega, omega}
			}
			return c, true
		case m.Optic == facts.Biaxial:
			c.alpha = b.skewed(r.alpha)
			c.gamma = c.alpha + sep
			c.beta = b.skewed(r.beta)
			if r.gamma.Distance(c.gamma) > 0.0005 || c.beta < c.alpha || c.beta > c.gamma {
				continue
			}
			return c, true
		default:
			n := b.skewed(within(r.whole, b.other[m.Name][0]))
			return crystal{n, n, n}, true
		}
	}
	return crystal{}, false
}

// stone makes the bench's readings of one stone of the material, with how many
// of them are numbers.
func (b *bencher) stone(m *facts.Material, r *row) (o Observations, numeric int, ok bool) {
	if !r.whole.Known || !r.sg.Known {
		return o, 0, false
	}
	c, ok := b.indices(m, r)
	if !ok {
		return o, 0, false
	}
	calibration := draw.Normal(b.s.Rand, 0, 0.0015) * b.sloppy()
	edge := func(n float64) Edge {
		if n > 1.79 {
			return Edge{Over: true}
		}
		return Edge{N: math.Round((n+calibration+draw.Normal(b.s.Rand, 0, 0.001)*b.sloppy())*1000) / 1000}
	}
	switch {
	case m.Optic == facts.Aggregate || m.Optic == facts.OpticUnknown:
		if c.beta < 1.79 {
			o.Spot = Edge{N: math.Round((c.beta+draw.Normal(b.s.Rand, 0, 0.005)*b.sloppy())*100) / 100}
			numeric++
		} else {
			o.Spot = Edge{Over: true}
		}
	default:
		directions := 1
		if b.s.Float64() < 0.5 { // turned until the edges are far apart
			directions = 9
		}
		low, high, widest := 0.0, 0.0, -1.0
		facet := randomDirection(b.s)
		u, v := facet.across()
		start := draw.Uniform(b.s.Rand, 0, math.Pi)
		for i := range directions {
			a := start + math.Pi*float64(i)/float64(directions)
			k := vector{u[0]*math.Cos(a) + v[0]*math.Sin(a), u[1]*math.Cos(a) + v[1]*math.Sin(a), u[2]*math.Cos(a) +
				v[2]*math.Sin(a)}
			if l, h := c.edges(k); h-l > widest {
				low, high, widest = l, h, h-l
			}
		}
		p := Pair{Low: edge(low), High: edge(high)}
		if !p.Low.Over && !p.High.Over && p.Low.N > p.High.N {
			p.Low, p.High = p.High, p.Low
		}
		if widest < 0.0005 { // there is one edge to be seen, and it is read once
			p.High = Edge{}
		}
		o.Pairs = []Pair{p}
		for _, e := range []Edge{p.Low, p.High} {
			if e.Read() && !e.Over {
				numeric++
			}
		}
	}
	// The balance: 0.01 ct, a wire, water of the room.
	sg := b.skewed(within(r.sg, b.other[m.Name][1]))
	air := math.Exp(draw.Uniform(b.s.Rand, math.Log(0.4), math.Log(12)))
	celsius := draw.Uniform(b.s.Rand, 17, 27)
	water := air * (1 - WaterDensity(celsius)/densestWater/sg)
	scale := func(ct float64) float64 { return math.Round((ct+draw.Normal(b.s.Rand, 0, 0.003)*b.sloppy())*100) / 100 }
	w := Weighing{Air: scale(air), Water: scale(water + draw.Normal(b.s.Rand, 0, 0.003)), Balance: 0.01}
	if b.s.Float64() < 0.5 {
		w.WaterC, w.TempKnown = math.Round(celsius), true
	}
	if w.Air > w.Water && w.Water >= 0 {
		o.Weighing = w
		numeric++
	}
	if len(o.Pairs) == 1 && o.Pairs[0].High.N != 0 {
		numeric++ // the separation is held against the birefringence as well
	}
	switch figure := b.s.Float64(); m.Optic {
	case facts.Isotropic:
		o.Optic = OpticIsotropic
		if m.AnomalousDR && figure < 0.4 {
			o.Optic = OpticAnomalous
		}
	case facts.Aggregate:
		if figure < 0.7 {
			o.Optic = OpticAggregate
		}
	case facts.Uniaxial, facts.Biaxial:
		o.Optic = OpticDoubly
		if figure < 0.4 {
			o.Optic = Optic(m.Optic)
			if figure < 0.2 && (m.Sign == "+" || m.Sign == "-") {
				o.Optic += Optic(m.Sign)
			}
		}
	}
	if c := m.ColorShares; len(c) > 0 {
		o.Colour = c[b.s.IntN(len(c))].Hue
	}
	return o, numeric, true
}

// Every species comes back: the generator's stones are excluded from their own
// species no oftener than k = 3 promises, and what is established is right.
func TestStone_RoundTripOverEverySpecies(t *testing.T) {
	b := newBencher(t, 20)
	const each = 150
	stones, excluded, allowed, singles, wrong, weight := 0, 0, 0.0, 0.0, 0.0, 0.0
	blame, wrongly := map[string]int{}, map[string]int{}
	var impossible []string
	for i, m := range shared.Materials {
		bad := 0
		for range each {
			o, numeric, ok := b.stone(m, &shared.rows[i])
			if !ok {
				bad++
				continue
			}
			stones++
			weight += shared.frequency[i]
			v := Stone(shared, &o, &Settings{})
			if _, held := v.Holds(m); !held {
				excluded++
				blame[m.Name]++
			}
			allowed += 1 - math.Pow(0.9973, float64(numeric))
			if v.Kind == Established {
				singles += shared.frequency[i]
				if !rightly(v.Named, m) {
					wrong += shared.frequency[i]
					wrongly[m.Name+" as "+v.Named.Name]++
				}
			}
		}
		if bad == each {
			impossible = append(impossible, m.Name)
		}
	}
	rate, limit := float64(excluded)/float64(stones), allowed/float64(stones)
	se := math.Sqrt(limit * (1 - limit) / float64(stones))
	t.Logf("%d stones of %d materials: true species excluded in %.3f %% (promised %.3f %%); by trade frequency "+
		"established in %.1f %%, wrong of these %.3f %%; without readings: %v; most often wrong: %v", stones,
		len(shared.Materials), 100*rate, 100*limit, 100*singles/weight, 100*wrong/singles, impossible, worstOf(wrongly))
	if rate > limit+4*se {
		t.Errorf("the true species is excluded in %.3f %%, promised are %.3f %% + %.3f %%: %v", 100*rate, 100*limit,
			400*se, worstOf(blame))
	}
	if wrong > 0.01*singles {
		t.Errorf("by trade frequency %.2f %% of the established are wrong: %v", 100*wrong/singles, worstOf(wrongly))
	}
	if len(impossible) > len(shared.Materials)/10 {
		t.Errorf("no readings can be made for %v", impossible)
	}
}

func worstOf(blame map[string]int) []string {
	var names []string
	for n := range blame {
		names = append(names, n)
	}
	sort.Slice(names, func(i, j int) bool {
		return blame[names[i]] > blame[names[j]] || blame[names[i]] == blame[names[j]] && names[i] < names[j]
	})
	var out []string
	for _, n := range names[:min(8, len(names))] {
		out = append(out, fmt.Sprintf("%s %d", n, blame[n]))
	}
	return out
}

// without returns the table without a material.
func without(m *facts.Material) *Table {
	rest := slices.Clone(shared.Materials)
	return Compile(slices.DeleteFunc(rest, func(x *facts.Material) bool { return x == m }))
}

// reliability sums up how often the best candidate is right, by its share.
type reliability struct{ n, right, share [10]float64 }

func (r *reliability) add(share float64, right bool) {
	i := min(9, int(share*10))
	r.n[i]++
	r.share[i] += share
	if right {
		r.right[i]++
	}
}

// addBest adds the likeliest material of a verdict.
func (r *reliability) addBest(v *Verdict, truth int) {
	best := 0
	for i, share := range v.shares {
		if share > v.shares[best] {
			best = i
		}
	}
	r.add(v.shares[best], best == truth)
}

// error is the expected calibration error.
func (r *reliability) error() float64 {
	sum, n := 0.0, 0.0
	for i := range r.n {
		sum += math.Abs(r.right[i] - r.share[i])
		n += r.n[i]
	}
	return sum / n
}

func (r *reliability) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%-10s %7s %6s %6s\n", "share", "stones", "said", "right")
	for i := range r.n {
		if r.n[i] > 0 {
			fmt.Fprintf(&b, "%.1f to %.1f %7.0f %6.3f %6.3f\n", float64(i)/10, float64(i+1)/10, r.n[i],
				r.share[i]/r.n[i], r.right[i]/r.n[i])
		}
	}
	return b.String()
}

// pick draws one of some chances that sum to 1.
func pick(s *chance.Stream, chances []float64) int {
	u := s.Float64()
	for i, p := range chances {
		if u -= p; u < 0 {
			return i
		}
	}
	return len(chances) - 1
}

// of draws a value from a quantity: about the typical one, in the range, or a
// little outside.
func (q *quantity) draw(s *chance.Stream) float64 {
	switch u := s.Float64(); {
	case u < peakPart:
		return draw.Normal(s.Rand, q.typical, q.spread)
	case u < peakPart+tailPart:
		return draw.Uniform(s.Rand, q.wide.Min, q.wide.Max)
	}
	return draw.Uniform(s.Rand, q.in.Min, q.in.Max)
}

// own draws a stone from the engine's own model, less its gross errors: colour,
// index and gravity, and the separation of half the benches that turn the stone
// and half that do not.
func own(s *chance.Stream, r *row) (Observations, bool) {
	var o Observations
	if !r.whole.Known || !r.sg.Known || r.whole.Max > 1.75 {
		return o, false
	}
	f := Settings{}.filled()
	switch {
	case r.class == facts.Aggregate:
		o.Spot = Edge{N: r.wholeNumber.draw(s) + draw.Normal(s.Rand, 0, f.USpot)}
	case r.class == facts.Isotropic:
		o.Pairs = []Pair{{Low: Edge{N: r.wholeNumber.draw(s) + draw.Normal(s.Rand, 0, math.Hypot(f.UCal, f.URead))}}}
	default:
		sep := draw.Uniform(s.Rand, 0, r.sep.Max)
		if s.Float64() < 0.5 {
			sep = draw.Uniform(s.Rand, r.sep.Min, r.sep.Max)
		}
		n := r.middleNumber(sep)
		mid := n.draw(s) + draw.Normal(s.Rand, 0, math.Hypot(f.UCal, f.URead/math.Sqrt2))
		read := sep + draw.Normal(s.Rand, 0, math.Sqrt2*f.URead)
		if read <= 0 {
			return o, false
		}
		o.Pairs = pair(mid-read/2, mid+read/2)
	}
	o.SG, o.SGU = r.sgNumber.draw(s)+draw.Normal(s.Rand, 0, 0.02), 0.02
	o.Colour = hue(1 << pick(s, r.hueChances[:])).String()
	return o, true
}

// Shares mean what they say: of stones with the share 0.7 about 70 % are that
// material, on the engine's own model and on the other one.
func TestStone_SharesAreCalibrated(t *testing.T) {
	s := chance.NewStream(5, "calibration")
	var mine, others reliability
	for range 20000 {
		i := pick(s, shared.frequency)
		if o, ok := own(s, &shared.rows[i]); ok {
			v := Stone(shared, &o, &Settings{})
			mine.addBest(&v, i)
		}
	}
	b := newBencher(t, 41)
	for range 20000 {
		i := pick(s, shared.frequency)
		if o, _, ok := b.stone(shared.Materials[i], &shared.rows[i]); ok {
			v := Stone(shared, &o, &Settings{})
			others.addBest(&v, i)
		}
	}
	golden(t, "calibration.txt", fmt.Sprintf("the engine's own model: expected calibration error %.4f\n%s\nthe other "+
		"model: expected calibration error %.4f\n%s", mine.error(), &mine, others.error(), &others))
	if e := mine.error(); e > 0.02 {
		t.Errorf("own model: calibration error %.4f, want at most 0.02\n%s", e, &mine)
	}
	if e := others.error(); e > 0.05 {
		t.Errorf("other model: calibration error %.4f, want at most 0.05\n%s", e, &others)
	}
}

// indexOf is the place of a material in a table.
func indexOf(t *testing.T, table *Table, m *facts.Material) int {
	t.Helper()
	i := slices.IndexFunc(table.Materials, func(have *facts.Material) bool { return have.Name == m.Name })
	if i < 0 {
		t.Fatalf("%s is not in the table", m.Name)
	}
	return i
}
