package allocate_test

import (
	"context"
	"errors"
	"math/rand/v2"
	"slices"
	"testing"

	"lotpaper/internal/allocate"
)

// brute tries every plan of a small problem. A state is how many pieces of
// each item are left, four bits an item.
type brute struct {
	designs []bruteDesign
	memo    map[bruteKey]int64
}

type bruteDesign struct {
	value    int64
	fixed    int64
	quantity int
	ways     map[uint64]int64 // stones of one piece -> least cost
}

type bruteKey struct {
	design, left int
	state        uint64
}

// solveBrute is the best value of all plans.
func solveBrute(p allocate.Problem) int64 {
	b := brute{memo: map[bruteKey]int64{}}
	start := uint64(0)
	for i, it := range p.Items {
		start |= uint64(it.Capacity) << (4 * i)
	}
	for _, d := range p.Designs {
		ways := map[uint64]int64{0: 0}
		for _, pos := range d.Positions {
			ways = combine(ways, positionWays(pos), start)
		}
		b.designs = append(b.designs, bruteDesign{d.Value, d.Fixed, d.Quantity, ways})
	}
	return b.best(0, b.quantity(0), start)
}

func (b *brute) quantity(d int) int {
	if d < len(b.designs) {
		return b.designs[d].quantity
	}
	return 0
}

func (b *brute) best(d, left int, state uint64) int64 {
	if d == len(b.designs) {
		return 0
	}
	key := bruteKey{d, left, state}
	if v, ok := b.memo[key]; ok {
		return v
	}
	best := b.best(d+1, b.quantity(d+1), state)
	if left > 0 {
		ds := &b.designs[d]
		for stones, cost := range ds.ways {
			gain := ds.value - cost
			if left == ds.quantity {
				gain -= ds.fixed
			}
			if (gain > 0 || left == ds.quantity && gain+ds.fixed > 0) && fits(stones, state) {
				best = max(best, gain+b.best(d, left-1, state-stones))
			}
		}
	}
	b.memo[key] = best
	return best
}

func fits(stones, state uint64) bool {
	for ; stones > 0; stones, state = stones>>4, state>>4 {
		if stones&15 > state&15 {
			return false
		}
	}
	return true
}

// combine is every way of doing one and the other with the stones there are.
func combine(a, b map[uint64]int64, start uint64) map[uint64]int64 {
	out := map[uint64]int64{}
	for x, cx := range a {
		for y, cy := range b {
			if fits(x+y, start) {
				keepLess(out, x+y, cx+cy)
			}
		}
	}
	return out
}

func keepLess(ways map[uint64]int64, stones uint64, cost int64) {
	if old, ok := ways[stones]; !ok || cost < old {
		ways[stones] = cost
	}
}

func positionWays(p allocate.Position) map[uint64]int64 {
	out := map[uint64]int64{}
	switch p.Kind {
	case allocate.Single:
		return slotWays(p.Entries, p.PerPiece())
	case allocate.Pair:
		for _, e := range p.Edges {
			keepLess(out, 1<<(4*e.I)+1<<(4*e.J), e.Cost)
		}
	case allocate.Suite:
		for _, r := range p.References {
			ways := map[uint64]int64{0: 0}
			for _, s := range r.Slots {
				ways = combine(ways, slotWays(s.Entries, s.Count), 0x7777777777777777)
			}
			for stones, cost := range ways {
				keepLess(out, stones, cost)
			}
		}
	}
	return out
}

func slotWays(entries []allocate.Entry, count int) map[uint64]int64 {
	one := map[uint64]int64{}
	for _, e := range entries {
		one[1<<(4*e.Item)] = e.Cost
	}
	ways := map[uint64]int64{0: 0}
	for range count {
		ways = combine(ways, one, 0x7777777777777777)
	}
	return ways
}

// Every plan of 10,000 random problems of up to 9 stones and 4 designs is
// tried: the solver's value is the best, its bound never below it.
func TestBruteForce(t *testing.T) {
	t.Parallel()
	proven := 0
	for seed := range uint64(10_000) {
		p := small(seed)
		want := solveBrute(p)
		got, err := allocate.Solve(context.Background(), p, allocate.Settings{})
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		if got.Value != want || got.Bound < want || got.Stats.Refused > 0 {
			t.Errorf("seed %d: value %d, bound %d (%s), every plan tried: %d", seed, got.Value, got.Bound,
				got.Status, want)
		}
		if got.Status == allocate.Optimal {
			proven++
		}
	}
	if proven < 10_000 {
		t.Errorf("proven best in %d of 10000", proven)
	}
}

// The same with a fixed cost for every design: some are worth opening only for
// several pieces, some not at all.
func TestBruteForceFixed(t *testing.T) {
	t.Parallel()
	proven, bound, otherwise := 0, 0, 0
	for seed := range uint64(4000) {
		p := small(seed)
		without := solveBrute(p)
		r := rand.New(rand.NewPCG(seed, 31))
		for d := range p.Designs {
			p.Designs[d].Fixed = r.Int64N(60)
		}
		want := solveBrute(p)
		got := solveFor(t, t.Context(), p, allocate.Settings{})
		if err := allocate.Check(p, got); err != nil || got.Stats.Refused > 0 {
			t.Errorf("seed %d: %d plans refused, %v", seed, got.Stats.Refused, err)
		}
		if got.Value != want || got.Bound < want {
			t.Errorf("seed %d: value %d, bound %d (%s), every plan tried: %d", seed, got.Value, got.Bound,
				got.Status, want)
		}
		if got.Status == allocate.Optimal {
			proven++
		}
		if want > 0 {
			bound++
		}
		if want < without {
			otherwise++
		}
	}
	if proven < 4000 || bound < 1000 || otherwise < 1000 {
		t.Errorf("%d proven best, %d worth anything, %d changed by the fixed costs", proven, bound, otherwise)
	}
}

// Of random problems every second pair is given as a further edge: the bound
// over all pairs is not below the best plan that uses any of them.
func TestFurtherPairs(t *testing.T) {
	t.Parallel()
	better, apart := 0, 0
	for seed := range uint64(3000) {
		p := small(seed)
		want := solveBrute(p)
		for d := range p.Designs {
			for k := range p.Designs[d].Positions {
				pos := &p.Designs[d].Positions[k]
				var first, rest []allocate.Edge
				for n, e := range pos.Edges {
					if n%2 == 0 {
						first = append(first, e)
					} else {
						rest = append(rest, e)
					}
				}
				if pos.Kind == allocate.Pair {
					pos.Edges, pos.Further = first, slices.Values(rest)
				}
			}
		}
		got, err := allocate.Solve(context.Background(), p, allocate.Settings{})
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		if got.BoundAll < want || got.Value > want {
			t.Errorf("seed %d: value %d, bound over all pairs %d, every plan tried: %d", seed, got.Value,
				got.BoundAll, want)
		}
		if got.Bound < want {
			better++
		}
		if got.BoundAll == want && got.Bound < want {
			apart++
		}
	}
	if better < 100 || apart < 10 {
		t.Errorf("the further pairs made %d problems better, %d proven to the unit: too few to show anything",
			better, apart)
	}
}

func TestFurtherPairIsChecked(t *testing.T) {
	p := allocate.Problem{Items: []allocate.Item{{Key: "a", Capacity: 2}},
		Designs: []allocate.Design{{Key: "d", Value: 9, Quantity: 1, Positions: []allocate.Position{
			{Key: "p", Kind: allocate.Pair, Further: slices.Values([]allocate.Edge{{I: 0, J: 1}})},
		}}}}
	if _, err := allocate.Solve(context.Background(), p, allocate.Settings{}); !errors.Is(err, allocate.ErrProblem) {
		t.Errorf("a further pair with an item that is not there: %v", err)
	}
}
