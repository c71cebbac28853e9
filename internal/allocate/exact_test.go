package allocate_test

import (
	"fmt"
	"math/bits"
	"math/rand/v2"
	"testing"

	"lotpaper/internal/allocate"
	"lotpaper/internal/allocate/instance"
)

// flowNet is a network for successive shortest paths (Ahuja, Magnanti and
// Orlin, Network Flows, 1993, section 9.7).
type flowNet struct {
	out  [][]int
	arcs []flowArc
}

type flowArc struct {
	to, room int
	cost     int64
}

func (n *flowNet) add(from, to, room int, cost int64) {
	n.out[from] = append(n.out[from], len(n.arcs))
	n.out[to] = append(n.out[to], len(n.arcs)+1)
	n.arcs = append(n.arcs, flowArc{to, room, cost}, flowArc{from, 0, -cost})
}

// least is the least cost of any flow from node 0 to node 1.
func (n *flowNet) least() int64 {
	total := int64(0)
	for {
		dist, by := make([]int64, len(n.out)), make([]int, len(n.out))
		for v := range dist {
			dist[v], by[v] = 1<<60, -1
		}
		dist[0] = 0
		queue, waiting := []int{0}, make([]bool, len(n.out))
		for len(queue) > 0 {
			v := queue[0]
			queue, waiting[v] = queue[1:], false
			for _, a := range n.out[v] {
				if arc := n.arcs[a]; arc.room > 0 && dist[v]+arc.cost < dist[arc.to] {
					dist[arc.to], by[arc.to] = dist[v]+arc.cost, a
					if !waiting[arc.to] {
						waiting[arc.to] = true
						queue = append(queue, arc.to)
					}
				}
			}
		}
		if dist[1] >= 0 {
			return total
		}
		for v := 1; v != 0; v = n.arcs[by[v]^1].to {
			n.arcs[by[v]].room--
			n.arcs[by[v]^1].room++
		}
		total += dist[1]
	}
}

// A line of single stones is a minimum-cost flow.
func TestSinglesAreAFlow(t *testing.T) {
	for seed := range uint64(12) {
		p := instance.New(instance.Options{Stones: 300, Seed: seed, SinglesOnly: true}).Problem()
		n := flowNet{out: make([][]int, 2+len(p.Items)+len(p.Designs))}
		for i, it := range p.Items {
			n.add(0, 2+i, it.Capacity, 0)
		}
		for d, ds := range p.Designs {
			node := 2 + len(p.Items) + d
			n.add(node, 1, ds.Quantity, -ds.Value)
			for _, e := range ds.Positions[0].Entries {
				n.add(2+e.Item, node, 1, e.Cost)
			}
		}
		want := -n.least()
		if got := solve(t, p); got.Value != want || got.Bound != want {
			t.Errorf("seed %d: value %d, bound %d; the flow is worth %d", seed, got.Value, got.Bound, want)
		}
	}
}

// Pairs without a limit on demand are a maximum-weight matching, found here by
// trying every set of 14 stones.
func TestPairsAreAMatching(t *testing.T) {
	for seed := range uint64(40) {
		r := rand.New(rand.NewPCG(seed, 4))
		const stones = 14
		var p allocate.Problem
		for i := range stones {
			p.Items = append(p.Items, allocate.Item{Key: fmt.Sprint(i), Capacity: 1})
		}
		var gain [stones][stones]int64
		for d := range 2 {
			ds := allocate.Design{Key: fmt.Sprint(d), Value: 500, Quantity: stones}
			pos := allocate.Position{Key: "pair", Kind: allocate.Pair}
			for i := range stones {
				for j := i + 1; j < stones; j++ {
					if r.IntN(3) > 0 {
						continue
					}
					e := allocate.Edge{I: i, J: j, Cost: r.Int64N(600)}
					pos.Edges = append(pos.Edges, e)
					gain[i][j] = max(gain[i][j], ds.Value-e.Cost)
				}
			}
			ds.Positions = []allocate.Position{pos}
			p.Designs = append(p.Designs, ds)
		}
		best := make([]int64, 1<<stones)
		for set := 1; set < len(best); set++ {
			i := bits.TrailingZeros(uint(set))
			best[set] = best[set&^(1<<i)]
			for j := i + 1; j < stones; j++ {
				if set>>j&1 == 1 {
					best[set] = max(best[set], gain[i][j]+best[set&^(1<<i)&^(1<<j)])
				}
			}
		}
		want := best[len(best)-1]
		if got := solve(t, p); got.Value != want || got.Bound != want {
			t.Errorf("seed %d: value %d, bound %d; the matching is worth %d", seed, got.Value, got.Bound, want)
		}
	}
}
