package lineplan

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lotpaper/internal/allocate"
	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

// brute is the best plan of a tiny line, found by trying every way of filling
// every piece from lots and designs: no model of the solver has a part in it.
type brute struct {
	t       *rapid.T
	stones  []Stone
	designs []Design
	known   map[string]int64
}

func (b *brute) best(di int, made int64, left []int64) int64 {
	if di == len(b.designs) {
		return 0
	}
	key := fmt.Sprint(di, made, left)
	if v, ok := b.known[key]; ok {
		return v
	}
	value := b.best(di+1, 0, left)
	d := b.designs[di]
	if made < d.Quantity {
		b.piece(d, 0, left, d.Margin.Minor(num.HalfUp), func(earns int64) {
			value = max(value, earns+b.best(di, made+1, left))
		})
	}
	b.known[key] = value
	return value
}

// piece calls then for every way of filling the positions from pi on.
func (b *brute) piece(d Design, pi int, left []int64, earns int64, then func(int64)) {
	if pi == len(d.Positions) {
		then(earns)
		return
	}
	p := d.Positions[pi]
	if p.Match == "pair" {
		for i := range b.stones {
			for j := i; j < len(b.stones); j++ {
				cost, ok := b.pair(i, j, p)
				if !ok || left[i] < 1 || left[j] < 1 || i == j && left[i] < 2 {
					continue
				}
				left[i]--
				left[j]--
				b.piece(d, pi+1, left, earns-cost, then)
				left[i]++
				left[j]++
			}
		}
		return
	}
	var pick func(from int, need int64, earns int64, taken []int)
	pick = func(from int, need int64, earns int64, taken []int) {
		if need == 0 {
			if p.Match != "identical" || b.alike(taken, p) {
				b.piece(d, pi+1, left, earns, then)
			}
			return
		}
		for i := from; i < len(b.stones); i++ {
			if left[i] > 0 && b.fits(b.stones[i], p) && (p.Match != "identical" || b.stones[i].Calibrated ||
				b.stones[i].Free == 1) {
				left[i]--
				pick(i, need-1, earns-b.stones[i].Value.Minor(num.HalfUp), append(taken[:len(taken):len(taken)], i))
				left[i]++
			}
		}
	}
	pick(0, p.Count, earns, nil)
}

func (b *brute) fits(s Stone, p book.Position) bool {
	kind := len(p.Species) == 0
	for _, want := range p.Species {
		kind = kind || want == s.Species
	}
	return kind && s.Shape == p.Shape && s.Length.Min >= p.LengthMin && (p.LengthMax == 0 ||
		s.Length.Max <= p.LengthMax)
}

// gap is how far two stones are apart in length and width at worst, in
// hundredths of a millimetre.
func gap(a, b Stone) float64 {
	worst := 0.0
	for _, d := range [][2]book.Size{{a.Length, b.Length}, {a.Width, b.Width}} {
		worst = math.Max(worst, float64(max(d[0].Max, d[1].Max)-min(d[0].Min, d[1].Min)))
	}
	return worst
}

// pair: 10 % of the two stones' cost at the whole tolerance, and nothing for
// colour, which is one word here.
func (b *brute) pair(i, j int, p book.Position) (int64, bool) {
	s, o := b.stones[i], b.stones[j]
	if !b.fits(s, p) || !b.fits(o, p) || s.Species != o.Species || !(s.Calibrated || s.Free == 1) ||
		!(o.Calibrated || o.Free == 1) {
		return 0, false
	}
	sum := s.Value.Minor(num.HalfUp) + o.Value.Minor(num.HalfUp)
	if i == j {
		return sum, true
	}
	off := gap(s, o)
	if off > float64(p.Tolerance) {
		return 0, false
	}
	return sum + sum*int64(math.Round(100*off/float64(p.Tolerance)))/1000, true
}

func (b *brute) alike(taken []int, p book.Position) bool {
	for _, i := range taken {
		for _, j := range taken {
			if b.stones[i].Species != b.stones[j].Species || gap(b.stones[i], b.stones[j]) > float64(p.Tolerance) {
				return false
			}
		}
	}
	return true
}

// tiny draws up to seven lots and one or two designs of singles, pairs and
// suites.
func tiny(t *rapid.T) ([]Stone, []Design, bool) {
	var stones []Stone
	for i := range rapid.IntRange(1, 7).Draw(t, "lots") {
		s := sized(fmt.Sprintf("A-%d", i), rapid.SampledFrom([]string{"topaz", "beryl"}).Draw(t, "species"),
			6+float64(rapid.IntRange(0, 4).Draw(t, "length"))/20, 5, int64(rapid.IntRange(1, 30).Draw(t, "value")))
		s.Free = int64(rapid.SampledFrom([]int{1, 1, 1, 2, 3}).Draw(t, "free"))
		s.Calibrated = s.Free > 1 && rapid.Bool().Draw(t, "calibrated")
		stones = append(stones, s)
	}
	suites := false
	var designs []Design
	for d := range rapid.IntRange(1, 2).Draw(t, "designs") {
		var positions []book.Position
		for k := range rapid.IntRange(1, 2).Draw(t, "positions") {
			p := book.Position{Name: fmt.Sprint("p", k), Setting: "prong", Shape: "oval",
				Count: int64(rapid.IntRange(1, 2).Draw(t, "count")), Match: "none", Tolerance: mm(0.1)}
			if rapid.Bool().Draw(t, "one species") {
				p.Species = []string{"topaz"}
			}
			if rapid.Bool().Draw(t, "window") {
				p.LengthMin, p.LengthMax = mm(6), mm(6.1)
			}
			switch rapid.IntRange(0, 3).Draw(t, "match") {
			case 1:
				p.Match, p.Count = "pair", 2
			case 2:
				p.Match, p.Count = "identical", 3
				suites = true
			}
			positions = append(positions, p)
		}
		x := ring(int64(rapid.IntRange(1, 2).Draw(t, "quantity")), int64(rapid.IntRange(5, 90).Draw(t, "margin")),
			positions...)
		x.Name = fmt.Sprint("R", d)
		designs = append(designs, x)
	}
	return stones, designs, suites
}

// The plan is the best there is, and its bound is never below it. Suites have
// a penalty for stones off the middle, up to 5 % of their cost, that brute
// force does not know: there the money that pieces earn must lie within it.
func TestPlan_BestByBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stones, designs, suites := tiny(t)
		left := make([]int64, len(stones))
		var worth int64
		for i, s := range stones {
			left[i] = s.Free
			worth += s.Free * s.Value.Minor(num.HalfUp)
		}
		want := (&brute{t, stones, designs, map[string]int64{}}).best(0, 0, left)
		p := solve(t, &Input{Stones: stones, Designs: designs, Judge: sound})
		got, bound := p.Value.Minor(num.HalfUp), p.Bound.Minor(num.HalfUp)
		slack := int64(0)
		if suites {
			slack = worth/20 + 1
		}
		if bound < want-slack || got > want || got < want-slack-(bound-got) {
			t.Fatalf("plan %d, bound %d (%s), by brute force %d", got, bound, p.Status, want)
		}
		if p.Status == "optimal" && !suites && got != want {
			t.Fatalf("optimal at %d, by brute force %d", got, want)
		}
	})
}

// A model with only the cheapest pair of each stone proves a bound over all
// pairs that the best plan by brute force, which knows every pair, never
// exceeds.
func TestPlan_BoundOverAllPairs(t *testing.T) {
	above := 0
	rapid.Check(t, func(t *rapid.T) {
		var stones []Stone
		var left []int64
		for i := range rapid.IntRange(4, 7).Draw(t, "lots") {
			s := sized(fmt.Sprintf("A-%d", i), "topaz", 6+float64(rapid.IntRange(0, 4).Draw(t, "length"))/20, 5,
				int64(rapid.IntRange(1, 30).Draw(t, "value")))
			s.Free = 1
			stones, left = append(stones, s), append(left, 1)
		}
		var designs []Design
		for d := range rapid.IntRange(1, 2).Draw(t, "designs") {
			p := book.Position{Name: "p", Setting: "prong", Shape: "oval", Count: 2, Match: "pair", Tolerance: mm(0.1)}
			x := ring(int64(rapid.IntRange(1, 3).Draw(t, "quantity")), int64(rapid.IntRange(30, 90).Draw(t, "margin")),
				p)
			x.Name = fmt.Sprint("R", d)
			designs = append(designs, x)
		}
		want := (&brute{t, stones, designs, map[string]int64{}}).best(0, 0, left)
		m, err := build(&Input{Stones: stones, Designs: designs, Judge: sound}, pairLimits{all: 0, each: 1})
		if err != nil {
			t.Fatal(err)
		}
		p, err := m.Solve(context.Background(), allocate.Settings{}, "EUR")
		if err != nil {
			t.Fatal(err)
		}
		if all := p.BoundAll.Minor(num.HalfUp); all < want || p.Value.Minor(num.HalfUp) > want {
			t.Fatalf("value %s, bound over all pairs %s, by brute force %d", p.Value, p.BoundAll, want)
		}
		if p.Bound.Minor(num.HalfUp) < want {
			above++
		}
	})
	if above == 0 {
		t.Error("no best plan was above the bound of the candidate pairs: the lines show nothing")
	}
}

// weighed is a plan with the worth of further stones and wider rules: from
// small problems solved again, or from the plan's prices.
func weighed(t *rapid.T, in *Input, again bool) (*Model, *Plan) {
	m, err := Build(in)
	if err != nil {
		t.Fatal(err)
	}
	p, err := m.Solve(context.Background(), allocate.Settings{}, "EUR")
	if err != nil {
		t.Fatal(err)
	}
	if again {
		err = m.Weigh(context.Background(), p)
	} else {
		p.Short, p.Unmade, m.answer.weighing = nil, nil, true
		err = m.answer.shortages(p)
	}
	if err != nil {
		t.Fatal(err)
	}
	return m, p
}

// with is the line with one position changed.
func with(designs []Design, pl *place, change func(p *book.Position)) []Design {
	out := append([]Design{}, designs...)
	out[pl.di].Positions = append([]book.Position{}, out[pl.di].Positions...)
	change(&out[pl.di].Positions[pl.pi])
	return out
}

// A further stone never adds more than its shortage says, and a wider rule
// never more than it says, whether solved again or read from prices.
func TestWorth_IsAnUpperBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stones, designs, _ := tiny(t)
		for _, d := range designs {
			for k := range d.Positions {
				if len(d.Positions[k].Species) == 0 {
					d.Positions[k].Species = []string{"topaz", "beryl"}
				}
			}
		}
		again := rapid.Bool().Draw(t, "solved again")
		m, p := weighed(t, &Input{Stones: stones, Designs: designs, Judge: sound}, again)
		if p.Status != "optimal" {
			return
		}
		for _, s := range p.Short {
			pl := m.place(s.Design, s.Position)
			if again && pl.Count == 1 && len(s.Together) == 0 {
				cost := int64(rapid.IntRange(0, 30).Draw(t, "cost"))
				further := sized("Z", "zircon", 6.05, 5, cost)
				more := solve(t, &Input{Stones: append(append([]Stone{}, stones...), further), Judge: sound,
					Designs: with(designs, pl, func(p *book.Position) {
						p.Species = append([]string{"zircon"},
							p.Species...)
					})})
				most := s.Worth.Sub(eur(cost))
				if most.Sign() < 0 {
					most = eur(0)
				}
				if gain := more.Value.Sub(p.Value); gain.Cmp(most) > 0 {
					t.Fatalf("a stone of %d adds %s to %s %s, which may pay %s", cost, gain, s.Design,
						s.Position, s.Worth)
				}
			}
			for _, w := range widenings(pl) {
				wide := m.widened(pl, w.change)
				gain := solve(t, &Input{Stones: stones, Judge: sound, Designs: with(designs, pl,
					func(p *book.Position) { *p = wide.Position })}).Value.Sub(p.Value)
				said := eur(0) // what is not told is worth nothing, by prices up to their own gap
				if !again {
					said = num.FromMinor(m.answer.upper()-m.answer.value, "EUR")
				}
				widest := false // a size that admits no more than a smaller one is told once
				for _, r := range s.Relaxed {
					if r.Rule == w.rule {
						said = r.AtMost
					}
					widest = widest || strings.HasPrefix(r.Rule, "sizes") && strings.HasPrefix(w.rule, "sizes") &&
						r.AtMost.Cmp(gain) >= 0
				}
				if gain.Cmp(said) > 0 && !widest {
					t.Fatalf("%s for %s %s adds %s, said at most %s", w.rule, s.Design, s.Position, gain, said)
				}
			}
		}
	})
}
