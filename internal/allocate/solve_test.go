package allocate_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"lotpaper/internal/allocate"
	"lotpaper/internal/allocate/instance"
)

// Two pairs and a single compete for four stones: worked by hand. The pair of
// 0 and 1 (earring) earns 100 - 20, ring 50 - 5 with stone 2; the better pair
// of 2 and 3 would earn 100 - 30 and leave the ring with stone 0 at 50 - 12.
func TestWorkedExample(t *testing.T) {
	p := allocate.Problem{
		Items: []allocate.Item{{Key: "a", Capacity: 1}, {Key: "b", Capacity: 1}, {Key: "c", Capacity: 1},
			{Key: "d", Capacity: 1}},
		Designs: []allocate.Design{
			{Key: "earrings", Value: 100, Quantity: 1, Positions: []allocate.Position{{
				Key: "drops", Kind: allocate.Pair, Edges: []allocate.Edge{{I: 0, J: 1, Cost: 20},
					{I: 2, J: 3, Cost: 30}},
			}}},
			{Key: "ring", Value: 50, Quantity: 1, Positions: []allocate.Position{{
				Key: "centre", Kind: allocate.Single, Entries: []allocate.Entry{{Item: 0, Cost: 12},
					{Item: 2, Cost: 5}},
			}}},
		},
	}
	r := solve(t, p)
	if r.Value != 125 || r.Bound != 125 || r.Status != allocate.Optimal || len(r.Pieces) != 2 {
		t.Fatalf("value %d, bound %d, %s, %d pieces; want 125, 125, optimal, 2", r.Value, r.Bound, r.Status,
			len(r.Pieces))
	}
	if got := r.Pieces[0].Fills[0].Items; got[0]+got[1] != 1 {
		t.Errorf("earrings got items %v, want 0 and 1", got)
	}
}

// A position that nobody can fill limits its design: the price of the missing
// stone is what the design would earn without it.
func TestPriceOfAMissingStone(t *testing.T) {
	p := allocate.Problem{
		Items: []allocate.Item{{Key: "a", Capacity: 5}},
		Designs: []allocate.Design{{Key: "ring", Value: 90, Quantity: 3, Positions: []allocate.Position{
			{Key: "centre", Entries: []allocate.Entry{{Item: 0, Cost: 30}}},
			{Key: "side"},
		}}},
	}
	r := solve(t, p)
	if r.Value != 0 || r.Status != allocate.Optimal {
		t.Fatalf("value %d, %s", r.Value, r.Status)
	}
	if got := r.Prices.Designs[0][1].Fill; got < 60 || got > 90 {
		t.Errorf("a stone for the side is worth %d, want 60 (what is left of 90 after the centre) to 90", got)
	}
}

func TestEmptyProblems(t *testing.T) {
	for name, p := range map[string]allocate.Problem{
		"nothing":      {},
		"no designs":   {Items: []allocate.Item{{Key: "a", Capacity: 1}}},
		"no positions": {Designs: []allocate.Design{{Key: "d", Value: 7, Quantity: 3}}},
		"losing":       {Designs: []allocate.Design{{Key: "d", Value: -7, Quantity: 3}}},
		"none asked":   {Designs: []allocate.Design{{Key: "d", Value: 7}}},
	} {
		want := int64(0)
		if name == "no positions" {
			want = 21
		}
		if r := solve(t, p); r.Value != want || r.Status != allocate.Optimal {
			t.Errorf("%s: value %d, %s; want %d, optimal", name, r.Value, r.Status, want)
		}
	}
}

func TestValidate(t *testing.T) {
	item := []allocate.Item{{Key: "a", Capacity: 1}, {Key: "b", Capacity: 1}}
	with := func(pos ...allocate.Position) allocate.Problem {
		return allocate.Problem{Items: item, Designs: []allocate.Design{{Key: "d", Value: 1, Quantity: 1,
			Positions: pos}}}
	}
	for want, p := range map[string]allocate.Problem{
		`items 0 and 1 have the same key "x"`: {Items: []allocate.Item{{Key: "x"}, {Key: "x"}}},
		`capacity -1`:                         {Items: []allocate.Item{{Key: "x", Capacity: -1}}},
		`quantity -2`:                         {Designs: []allocate.Design{{Key: "d", Quantity: -2}}},
		`designs 0 and 1`:                     {Designs: []allocate.Design{{Key: "d"}, {Key: "d"}}},
		`value 9000000000000000000 is too`:    {Designs: []allocate.Design{{Key: "d", Value: 9e18}}},
		`no item has index 2`:                 with(allocate.Position{Key: "p", Entries: []allocate.Entry{{Item: 2}}}),
		`item "a" occurs twice`:               with(allocate.Position{Key: "p", Entries: []allocate.Entry{{}, {}}}),
		`the pair "a", "b" occurs twice`: with(allocate.Position{Key: "p", Kind: allocate.Pair,
			Edges: []allocate.Edge{{I: 0, J: 1}, {I: 1, J: 0}}}),
		`fields of another kind`: with(allocate.Position{Key: "p", Kind: allocate.Pair,
			Entries: []allocate.Entry{{}}}),
		`no such kind`:         with(allocate.Position{Key: "p", Kind: 7}),
		`the key occurs twice`: with(allocate.Position{Key: "p"}, allocate.Position{Key: "p"}),
		`reference "r" has no slots`: with(allocate.Position{Key: "p", Kind: allocate.Suite,
			References: []allocate.Reference{{Key: "r"}}}),
		`slot 0: count 0`: with(allocate.Position{Key: "p", Kind: allocate.Suite,
			References: []allocate.Reference{{Key: "r", Slots: []allocate.Slot{{}}}}}),
		`cost -9000000000000000000 is too`: with(allocate.Position{Key: "p", Entries: []allocate.Entry{{Cost: -9e18}}}),
	} {
		_, err := allocate.Solve(context.Background(), p, allocate.Settings{})
		if !errors.Is(err, allocate.ErrProblem) || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %q", err, want)
		}
	}
}

// However little work is allowed, whatever ends the search, there is a plan.
func TestAlwaysAPlan(t *testing.T) {
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	for _, family := range instance.Families() {
		p := instance.New(instance.Options{Stones: 1000, Seed: 2, Family: family}).Problem()
		for name, r := range map[string]allocate.Result{
			"one step of work": solveFor(t, t.Context(), p, allocate.Settings{Work: 1}),
			"cancelled":        solveFor(t, ended, p, allocate.Settings{}),
		} {
			if r.Value == 0 || len(r.Pieces) == 0 || !r.Status.Early() {
				t.Errorf("%s, %s: value %d of %d pieces, %s", family, name, r.Value, len(r.Pieces), r.Status)
			}
		}
	}
}

func solveFor(t *testing.T, ctx context.Context, p allocate.Problem, s allocate.Settings) allocate.Result {
	t.Helper()
	r, err := allocate.Solve(ctx, p, s)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Progress tells values that rise and bounds that fall, up to the result's.
func TestProgress(t *testing.T) {
	t.Parallel()
	p := instance.New(instance.Options{Stones: 200, Seed: 7, Family: instance.Calibrated}).Problem()
	var told []allocate.Progress
	r := solveFor(t, t.Context(), p, allocate.Settings{Work: 120, Progress: func(x allocate.Progress) {
		told = append(told, x)
	}})
	if len(told) < 3 {
		t.Fatalf("told %d times", len(told))
	}
	for n, x := range told {
		if n > 0 && (x.Value < told[n-1].Value || x.Bound > told[n-1].Bound || x.Work < told[n-1].Work) {
			t.Errorf("%+v after %+v", x, told[n-1])
		}
	}
	if last := told[len(told)-1]; last.Value > r.Value || last.Bound < r.Bound {
		t.Errorf("at last told %+v, the result is %d of %d", last, r.Value, r.Bound)
	}
}

func TestLimits(t *testing.T) {
	p := instance.New(instance.Options{Stones: 2000, Seed: 5}).Problem()
	ended, cancel := context.WithCancel(context.Background())
	cancel()
	for want, run := range map[allocate.Status]struct {
		ctx context.Context
		s   allocate.Settings
	}{
		allocate.Cancelled:  {ended, allocate.Settings{}},
		allocate.WallLimit:  {context.Background(), allocate.Settings{WallLimit: time.Millisecond}},
		allocate.WorkLimit:  {context.Background(), allocate.Settings{Work: 1}},
		allocate.GapReached: {context.Background(), allocate.Settings{Gap: 5}},
	} {
		r, err := allocate.Solve(run.ctx, p, run.s)
		if err != nil {
			t.Fatalf("%s: %v", want, err)
		}
		if r.Status != want || r.Status.Early() != (want != allocate.GapReached) {
			t.Errorf("status %s, want %s", r.Status, want)
		}
	}
}

// A wide gap makes the search for the prices start again; here that proves more
// than the first search, which a wanted gap of 5 % ends with.
func TestRestart(t *testing.T) {
	t.Parallel()
	p := instance.New(instance.Options{Stones: 2000, Seed: 1, Family: instance.Weak}).Problem()
	first, err := allocate.Solve(t.Context(), p, allocate.Settings{Gap: 5})
	if err != nil {
		t.Fatal(err)
	}
	again, err := allocate.Solve(t.Context(), p, allocate.Settings{Work: 150})
	if err != nil {
		t.Fatal(err)
	}
	if first.Stats.Restarts != 0 || again.Stats.Restarts != 2 ||
		again.Stats.DualIterations <= first.Stats.DualIterations {
		t.Errorf("%d restarts with the wanted gap reached, then %d; want 0, then 2", first.Stats.Restarts,
			again.Stats.Restarts)
	}
	if again.Bound >= first.Bound || again.Value < first.Value {
		t.Errorf("value %d, bound %d after the restarts; %d, %d before", again.Value, again.Bound,
			first.Value, first.Bound)
	}
}

// Check must catch what a wrong search could return.
func TestCheckCatches(t *testing.T) {
	p := instance.New(instance.Options{Stones: 60, Seed: 3}).Problem()
	good := solve(t, p)
	for name, spoil := range map[string]func(*allocate.Result){
		"value":          func(r *allocate.Result) { r.Value++ },
		"bound":          func(r *allocate.Result) { r.Bound = r.Value - 1 },
		"stone twice":    func(r *allocate.Result) { r.Pieces = append(r.Pieces, r.Pieces[0]) },
		"no such stone":  func(r *allocate.Result) { r.Pieces[0].Fills = []allocate.Fill{{Items: []int{-1}}} },
		"no such design": func(r *allocate.Result) { r.Pieces[0].Design = 99 },
		"status":         func(r *allocate.Result) { r.Status = allocate.WorkLimit },
	} {
		bad := good
		bad.Pieces = append([]allocate.Piece(nil), good.Pieces...)
		spoil(&bad)
		if allocate.Check(p, bad) == nil {
			t.Errorf("%s: not caught", name)
		}
	}
}
