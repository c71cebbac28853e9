package allocate_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"lotpaper/internal/allocate"
)

// sharedLots is a line of calibrated lots: each lot is used in several places,
// as the stones of halos, of pave and of centres.
func sharedLots(seed uint64) allocate.Problem {
	r := rand.New(rand.NewPCG(seed, 21))
	var p allocate.Problem
	for i := range 12 + r.IntN(30) {
		p.Items = append(p.Items, allocate.Item{Key: fmt.Sprintf("lot%02d", i), Capacity: 1 + r.IntN(60)})
	}
	some := func() []allocate.Entry {
		var out []allocate.Entry
		from, n := r.IntN(len(p.Items)), 4+r.IntN(8)
		for k := range min(n, len(p.Items)) {
			out = append(out, allocate.Entry{Item: (from + k) % len(p.Items), Cost: 100 + r.Int64N(200)})
		}
		return out
	}
	for d := range 6 + r.IntN(12) {
		ds := allocate.Design{Key: fmt.Sprintf("d%02d", d), Quantity: 2 + r.IntN(9)}
		stones := 1 + r.IntN(12)
		switch r.IntN(3) {
		case 0:
			ds.Positions = []allocate.Position{{Key: "pave", Count: stones, Entries: some()}}
		case 1:
			ds.Positions = []allocate.Position{{Key: "centre", Entries: some()}, {Key: "halo", Kind: allocate.Suite}}
			for n := range 3 {
				ref := allocate.Reference{Key: fmt.Sprint(n), Slots: []allocate.Slot{{Count: stones, Entries: some()}}}
				ds.Positions[1].References = append(ds.Positions[1].References, ref)
			}
			stones++
		case 2:
			ds.Positions = []allocate.Position{{Key: "stone", Entries: some()}}
			stones = 1
		}
		ds.Value = int64(stones) * (150 + r.Int64N(200))
		p.Designs = append(p.Designs, ds)
	}
	return p
}

// Lots used in several places once ended the search with an error on every
// second line: every line gets a plan, and none of the plans is refused.
func TestLotsInSeveralPlaces(t *testing.T) {
	for seed := range uint64(60) {
		p := sharedLots(seed)
		r, err := allocate.Solve(t.Context(), p, allocate.Settings{Work: 40})
		if err != nil {
			t.Errorf("seed %d: %v", seed, err)
			continue
		}
		if err := allocate.Check(p, r); err != nil || r.Stats.Refused > 0 {
			t.Errorf("seed %d: %d plans refused, %v", seed, r.Stats.Refused, err)
		}
	}
}
