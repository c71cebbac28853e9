package allocate_test

import (
	"fmt"
	"math/rand/v2"

	"lotpaper/internal/allocate"
)

// small makes a random problem small enough to try every plan: at most 9
// stones and 4 designs of every kind of position.
func small(seed uint64) allocate.Problem {
	r := rand.New(rand.NewPCG(seed, 9))
	var p allocate.Problem
	for left := 1 + r.IntN(9); left > 0; {
		c := 1
		if r.IntN(5) == 0 {
			c = 1 + r.IntN(3)
		}
		c = min(c, left)
		left -= c
		p.Items = append(p.Items, allocate.Item{Key: fmt.Sprintf("i%d", len(p.Items)), Capacity: c})
	}
	for d := range 1 + r.IntN(4) {
		ds := allocate.Design{Key: fmt.Sprintf("d%d", d), Quantity: 1 + r.IntN(3)}
		ds.Value = 5 + r.Int64N(60)
		for k := range 1 + r.IntN(2) {
			ds.Positions = append(ds.Positions, smallPosition(r, fmt.Sprintf("p%d", k), p.Items))
		}
		p.Designs = append(p.Designs, ds)
	}
	return p
}

func smallPosition(r *rand.Rand, key string, items []allocate.Item) allocate.Position {
	pos := allocate.Position{Key: key}
	switch r.IntN(4) {
	case 0, 1:
		pos.Kind, pos.Count = allocate.Single, 1
		if r.IntN(4) == 0 {
			pos.Count = 2
		}
		pos.Entries = smallEntries(r, items)
	case 2:
		pos.Kind = allocate.Pair
		for i := range items {
			for j := i; j < len(items); j++ {
				if r.IntN(2) == 0 && (i != j || items[i].Capacity > 1) {
					pos.Edges = append(pos.Edges, allocate.Edge{I: i, J: j, Cost: 1 + r.Int64N(30)})
				}
			}
		}
	case 3:
		pos.Kind = allocate.Suite
		for n := range 1 + r.IntN(2) {
			ref := allocate.Reference{Key: fmt.Sprintf("r%d", n)}
			for range 1 + r.IntN(2) {
				ref.Slots = append(ref.Slots, allocate.Slot{Count: 1 + r.IntN(2), Entries: smallEntries(r, items)})
			}
			pos.References = append(pos.References, ref)
		}
	}
	return pos
}

func smallEntries(r *rand.Rand, items []allocate.Item) []allocate.Entry {
	var out []allocate.Entry
	for i := range items {
		if r.IntN(3) > 0 {
			out = append(out, allocate.Entry{Item: i, Cost: 1 + r.Int64N(20)})
		}
	}
	return out
}
