package lineplan

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lotpaper/internal/allocate"
	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

func mm(f float64) num.Millimetre { return num.MillimetreFromFloat(f, num.HalfUp) }

func eur(n int64) num.Money { return num.FromMinor(100*n, "EUR") }

func sized(lot, species string, length, width float64, value int64) Stone {
	return Stone{
		Lot: lot, Species: species, Shape: "oval", Length: book.Size{Min: mm(length), Max: mm(length)},
		Width: book.Size{Min: mm(width), Max: mm(width)},
		Color: "blue", Owner: book.Own, Free: 1, Carats: 1000, Value: eur(value),
		PerCarat: num.UnitPrice{Money: eur(value)}, Identity: "supported",
	}
}

func sound(Stone, Design, book.Position) Verdict { return Verdict{Loss: num.Zero("EUR")} }

func ring(quantity int64, margin int64, p ...book.Position) Design {
	return Design{Design: book.Design{Line: "L", Name: "R", Piece: "ring", Quantity: quantity, Identity: "stated",
		Positions: p}, Margin: eur(margin)}
}

func solve(t interface{ Fatal(...any) }, in *Input) *Plan {
	m, err := Build(in)
	if err != nil {
		t.Fatal(err)
	}
	p, err := m.Solve(context.Background(), allocate.Settings{}, "EUR")
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestPlan_ReasonsForAShortage(t *testing.T) {
	center := book.Position{Name: "center", Setting: "prong", Shape: "oval", Species: []string{"topaz"},
		LengthMin: mm(6.8), LengthMax: mm(7.2), Count: 1, Accept: "care"}
	held := sized("A-3", "topaz", 7, 5, 20)
	held.Free, held.Away = 0, []Away{{1, "at memo/X"}}
	fenced := sized("A-4", "topaz", 7, 5, 20)
	fenced.Fenced = "its readings: mixed"
	in := &Input{
		Stones: []Stone{sized("A-1", "topaz", 7, 5, 20), sized("A-2", "topaz", 9, 7, 20), held, fenced,
			sized("A-5", "fluorite", 7, 5, 2), sized("A-6", "topaz", 7.1, 5, 20)},
		Designs: []Design{ring(3, 50, center)},
		Judge: func(s Stone, d Design, p book.Position) Verdict {
			if s.Lot == "A-6" {
				return Verdict{Level: 3, Reason: "an open fracture", Loss: num.Zero("EUR")}
			}
			return sound(s, d, p)
		},
	}
	p := solve(t, in)
	if len(p.Pieces) != 1 || p.Pieces[0].Fills[0].Stones[0].Lot != "A-1" || p.Value != eur(30) ||
		p.Status != "optimal" {
		t.Fatalf("plan = %+v", p)
	}
	if len(p.Short) != 1 || p.Short[0].Missing != 2 {
		t.Fatalf("short = %+v", p.Short)
	}
	for _, words := range []string{"4 fit by kind, shape and size", "1 fenced (its readings: mixed)",
		"1 worse than care in a prong setting (an open fracture)", "1 at memo/X", "1 used by this plan", "2 short"} {
		if !strings.Contains(p.Short[0].Why, words) {
			t.Errorf("why = %q, want it to say %q", p.Short[0].Why, words)
		}
	}
	if p.Short[0].Worth.Cmp(eur(50)) > 0 || p.Short[0].Worth.Sign() <= 0 {
		t.Errorf("a further stone may cost %s", p.Short[0].Worth)
	}
}

// Two rings earn 2 x 30: worth a fixed cost of 50, not one of 70, and paid
// once. A locked piece is made whatever it costs, so then it counts in no plan.
func TestPlan_FixedCost(t *testing.T) {
	pos := book.Position{Name: "center", Setting: "bezel", Count: 1}
	for _, c := range []struct {
		fixed, worth int64
		pieces       int
		locks        []Lock
	}{
		{fixed: 0, worth: 60, pieces: 2},
		{fixed: 50, worth: 10, pieces: 2},
		{fixed: 70, worth: 0, pieces: 0},
		{fixed: 70, worth: 60, pieces: 2, locks: []Lock{{"A-1", "R"}}},
	} {
		d := ring(2, 50, pos)
		d.Fixed = eur(c.fixed)
		in := &Input{Stones: []Stone{sized("A-1", "topaz", 7, 5, 20), sized("A-2", "topaz", 7, 5, 20)},
			Designs: []Design{d}, Locks: c.locks, Judge: sound}
		p := solve(t, in)
		if len(p.Pieces) != c.pieces || p.Value != eur(c.worth) || p.Bound != eur(c.worth) || !p.Mismatch.IsZero() {
			t.Errorf("fixed cost %d: %d pieces worth %s of %s, mismatch %s; want %d worth %d", c.fixed, len(p.Pieces),
				p.Value, p.Bound, p.Mismatch, c.pieces, c.worth)
		}
		if c.pieces == 0 && (len(p.Unmade) != 1 || !strings.Contains(p.Unmade[0].Why, "costs 70.00 EUR once")) {
			t.Errorf("unmade: %+v", p.Unmade)
		}
	}
}

func TestPlan_IdentityAndOut(t *testing.T) {
	pos := book.Position{Name: "center", Setting: "bezel", Count: 1}
	d := ring(2, 10, pos)
	d.Identity = "verified"
	a, b := sized("A-1", "topaz", 7, 5, 1), sized("A-2", "topaz", 7, 5, 1)
	a.Identity, b.Identity = "verified", "supported"
	in := &Input{Stones: []Stone{a, b}, Designs: []Design{d}, Judge: sound}
	if p := solve(t, in); len(p.Pieces) != 1 || p.Pieces[0].Fills[0].Stones[0].Lot != "A-1" {
		t.Errorf("identity: %+v", p.Pieces)
	}
	in.Out = map[string]bool{"A-1 in R": true}
	if p := solve(t, in); len(p.Pieces) != 0 {
		t.Errorf("kept out: %+v", p.Pieces)
	}
}

func TestPlan_PairAndCalibratedLot(t *testing.T) {
	pair := book.Position{Name: "pair", Setting: "prong", Shape: "oval", Count: 2, Match: "pair", Tolerance: mm(0.1)}
	far := sized("A-3", "topaz", 7.3, 5, 1)
	lot := sized("B-1", "topaz", 7, 5, 3)
	lot.Free, lot.Calibrated = 5, true
	loose := sized("C-1", "topaz", 7, 5, 1) // many pieces, not calibrated: cannot be paired
	loose.Free = 9
	in := &Input{Stones: []Stone{sized("A-1", "topaz", 7, 5, 5), sized("A-2", "topaz", 7.05, 5, 5), far, lot, loose},
		Designs: []Design{ring(9, 100, pair)}, Judge: sound}
	p := solve(t, in)
	if p.Made["R"] != 3 {
		t.Fatalf("made %d, want A-1 with A-2 or lot stones, and the calibrated lot's pairs: %+v", p.Made["R"], p.Pieces)
	}
	if p.Used["C-1"] != 0 || p.Used["A-3"] != 0 {
		t.Errorf("used = %v", p.Used)
	}
}

func TestPlan_Suites(t *testing.T) {
	identical := book.Position{Name: "row", Setting: "channel", Shape: "oval", Count: 4, Match: "identical",
		Tolerance: mm(0.1)}
	var stones []Stone
	for i := range 9 {
		stones = append(stones, sized(fmt.Sprintf("A-%d", i+1), "topaz", 4+0.05*float64(i%2), 3, 2))
	}
	in := &Input{Stones: stones, Designs: []Design{ring(5, 40, identical)}, Judge: sound}
	if p := solve(t, in); p.Made["R"] != 2 {
		t.Errorf("identical: made %d, want 2 of nine stones", p.Made["R"])
	}
	graduated := book.Position{Name: "row", Setting: "channel", Shape: "oval", LengthMin: mm(4), LengthMax: mm(6),
		Count: 5, Match: "graduated", Tolerance: mm(0.1)}
	stones = nil
	for i, l := range []float64{6, 5, 5, 4, 4, 5.5} {
		stones = append(stones, sized(fmt.Sprintf("G-%d", i+1), "topaz", l, 3, 2))
	}
	in = &Input{Stones: stones, Designs: []Design{ring(2, 40, graduated)}, Judge: sound}
	p := solve(t, in)
	if p.Made["R"] != 1 || p.Used["G-6"] != 0 {
		t.Errorf("graduated: made %d, used %v", p.Made["R"], p.Used)
	}
}

func TestColor(t *testing.T) {
	for _, c := range []struct {
		a, b string
		most float64
		near bool
	}{
		{"blue", "light blue", 0.5, true}, {"greenish blue", "blue", 1.5, true}, {"blue-green", "teal", 0.1, true},
		{"blue", "pink", 1.5, false},
		{"colourless", "blue", 1.5, false}, {"deep blue", "light blue", 1.5, false}, {"bluish green",
			"green", 1.5, true},
	} {
		if got := ParseColor(c.a).Apart(ParseColor(c.b)); (got <= c.most) != c.near {
			t.Errorf("%q and %q are %.2f steps apart", c.a, c.b, got)
		}
	}
	if !acceptsColor("blue;green", "greenish blue") || acceptsColor("blue", "") || acceptsColor("pink", "blue") {
		t.Error("acceptsColor")
	}
}

// A stone is never used twice, a piece has every position filled, the value
// adds up from the pieces, and one more stone never lowers the plan.
func TestPlan_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 10).Draw(t, "stones")
		var stones []Stone
		for i := range n {
			s := sized(fmt.Sprintf("A-%d", i), rapid.SampledFrom([]string{"topaz", "beryl"}).Draw(t, "species"),
				6+float64(rapid.IntRange(0, 6).Draw(t, "l"))/10, 5, int64(rapid.IntRange(1, 30).Draw(t, "v")))
			s.Free = int64(rapid.IntRange(1, 3).Draw(t, "free"))
			s.Calibrated = s.Free > 1
			stones = append(stones, s)
		}
		single := book.Position{Name: "c", Setting: "prong", Shape: "oval", Species: []string{"topaz"},
			Count: int64(rapid.IntRange(1, 2).Draw(t, "count"))}
		pair := book.Position{Name: "p", Setting: "prong", Shape: "oval", Count: 2, Match: "pair"}
		d := ring(int64(rapid.IntRange(1, 4).Draw(t, "q")), int64(rapid.IntRange(10, 120).Draw(t, "m")), single, pair)
		if rapid.Bool().Draw(t, "one") {
			d.Positions = d.Positions[:1]
		}
		planOf := func(stones []Stone) *Plan {
			return solve(t, &Input{Stones: stones, Designs: []Design{d}, Judge: sound})
		}
		p := planOf(stones)
		sum := num.Zero("EUR")
		for _, piece := range p.Pieces {
			sum = sum.Add(piece.Earns)
			if len(piece.Fills) != len(d.Positions) {
				t.Fatalf("piece %+v lacks a position", piece)
			}
			for i, f := range piece.Fills {
				var k int64
				for _, s := range f.Stones {
					k += s.Pieces
				}
				if k != d.Positions[i].Count {
					t.Fatalf("position %s takes %d stones, want %d", f.Position, k, d.Positions[i].Count)
				}
			}
		}
		// the mismatch of a pair steers the plan but is no money
		if sum.Cmp(p.Value) < 0 {
			t.Fatalf("pieces earn %s, the plan says %s", sum, p.Value)
		}
		for _, s := range stones {
			if p.Used[s.Lot] > s.Free {
				t.Fatalf("%s is used %d times of %d", s.Lot, p.Used[s.Lot], s.Free)
			}
		}
		if p.Bound.Cmp(p.Value) < 0 {
			t.Fatalf("bound %s below value %s", p.Bound, p.Value)
		}
		more := planOf(append(append([]Stone{}, stones...), sized("Z", "topaz", 6.3, 5, 5)))
		if more.Bound.Cmp(p.Value) < 0 {
			t.Fatalf("one more stone lowers the plan from %s to at most %s", p.Value, more.Bound)
		}
	})
}
