package allocate_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"lotpaper/internal/allocate"
	"lotpaper/internal/allocate/instance"

	"pgregory.net/rapid"
)

// lines draws a problem: small of every kind, or a line of some dozens of
// stones.
func drawProblem(t *rapid.T) allocate.Problem {
	seed := rapid.Uint64().Draw(t, "seed")
	if rapid.Bool().Draw(t, "small") {
		return small(seed)
	}
	return instance.New(instance.Options{
		Stones: rapid.IntRange(10, 80).Draw(t, "stones"), Seed: seed,
		Fixed: rapid.Bool().Draw(t, "fixed"),
		Dear:  rapid.Bool().Draw(t, "dear"), Lots: rapid.Bool().Draw(t, "lots"),
	}).Problem()
}

func solve(t interface{ Fatalf(string, ...any) }, p allocate.Problem) allocate.Result {
	r, err := allocate.Solve(context.Background(), p, allocate.Settings{Work: 100})
	if err != nil {
		t.Fatalf("solve: %v", err)
	}
	if err := allocate.Check(p, r); err != nil {
		t.Fatalf("check: %v", err)
	}
	if r.Stats.Refused > 0 {
		t.Fatalf("%d plans failed their check", r.Stats.Refused)
	}
	return r
}

func TestSolveTwiceIsTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		a, b := solve(t, p), solve(t, p)
		a.Stats.Elapsed, b.Stats.Elapsed = 0, 0
		if fmt.Sprint(a) != fmt.Sprint(b) {
			t.Fatalf("the same problem gave two answers:\n%v\n%v", a, b)
		}
	})
}

// More stones, more pieces asked for, or one more entry never make the best
// plan worse: value after >= value before less the gap before.
func TestWideningNeverHurts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		before := solve(t, p)
		wider := clone(p)
		switch rapid.IntRange(0, 2).Draw(t, "what") {
		case 0:
			wider.Items[rapid.IntRange(0, len(p.Items)-1).Draw(t, "item")].Capacity++
		case 1:
			wider.Designs[rapid.IntRange(0, len(p.Designs)-1).Draw(t, "design")].Quantity++
		case 2:
			wider.Items = append(wider.Items, allocate.Item{Key: "new", Capacity: 1})
			for d := range wider.Designs {
				for k := range wider.Designs[d].Positions {
					if pos := &wider.Designs[d].Positions[k]; pos.Kind == allocate.Single {
						pos.Entries = append(pos.Entries, allocate.Entry{Item: len(p.Items), Cost: 3})
					}
				}
			}
		}
		after := solve(t, wider)
		if after.Bound < before.Value || before.Status == allocate.Optimal && after.Status == allocate.Optimal &&
			after.Value < before.Value {
			t.Fatalf("before %d to %d, after widening %d to %d", before.Value, before.Bound, after.Value, after.Bound)
		}
	})
}

func TestScaling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		by := rapid.Int64Range(2, 50).Draw(t, "by")
		scaled := clone(p)
		each(&scaled, func(cost *int64) { *cost *= by })
		a, b := solve(t, p), solve(t, scaled)
		agree(t, "scaled", a.Value*by, a.Bound*by, b.Value, b.Bound)
	})
}

// agree compares two answers to the same question: equal when both are proven,
// otherwise neither value above the other's bound.
func agree(t *rapid.T, what string, value, bound, otherValue, otherBound int64) {
	proven := value == bound && otherValue == otherBound
	if proven && value != otherValue || value > otherBound || otherValue > bound {
		t.Fatalf("%s: %d to %d, and %d to %d", what, value, bound, otherValue, otherBound)
	}
}

// Shuffling the input changes nothing but the order of the output.
func TestPermuting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "shuffle"), 1))
		q := shuffle(p, r)
		a, b := solve(t, p), solve(t, q)
		if a.Value != b.Value || a.Bound != b.Bound || a.Status != b.Status {
			t.Fatalf("%d to %d %s, shuffled %d to %d %s", a.Value, a.Bound, a.Status, b.Value, b.Bound, b.Status)
		}
		if x, y := named(p, a), named(q, b); !slices.Equal(x, y) {
			t.Fatalf("pieces differ:\n%v\n%v", x, y)
		}
	})
}

// named lists the pieces by keys, in an order of their own.
func named(p allocate.Problem, r allocate.Result) []string {
	var out []string
	for _, piece := range r.Pieces {
		d := p.Designs[piece.Design]
		var fills []string
		for k, f := range piece.Fills {
			var items []string
			for _, i := range f.Items {
				items = append(items, p.Items[i].Key)
			}
			slices.Sort(items)
			fills = append(fills, fmt.Sprint(d.Positions[k].Key, items))
		}
		slices.Sort(fills)
		out = append(out, fmt.Sprint(d.Key, fills))
	}
	slices.Sort(out)
	return out
}

// An item of capacity c is c items of capacity 1.
func TestCapacityIsCopies(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		a, b := solve(t, p), solve(t, split(p))
		agree(t, "split", a.Value, a.Bound, b.Value, b.Bound)
	})
}

// split replaces each item of capacity c by c items.
func split(p allocate.Problem) allocate.Problem {
	var out allocate.Problem
	copies := make([][]int, len(p.Items))
	for i, it := range p.Items {
		for n := range it.Capacity {
			copies[i] = append(copies[i], len(out.Items))
			out.Items = append(out.Items, allocate.Item{Key: fmt.Sprintf("%s/%d", it.Key, n), Capacity: 1})
		}
	}
	entries := func(in []allocate.Entry) []allocate.Entry {
		var list []allocate.Entry
		for _, e := range in {
			for _, i := range copies[e.Item] {
				list = append(list, allocate.Entry{Item: i, Cost: e.Cost})
			}
		}
		return list
	}
	for _, d := range clone(p).Designs {
		for k := range d.Positions {
			pos := &d.Positions[k]
			pos.Entries = entries(pos.Entries)
			var edges []allocate.Edge
			for _, e := range pos.Edges {
				for _, i := range copies[e.I] {
					for _, j := range copies[e.J] {
						if e.I != e.J || i < j {
							edges = append(edges, allocate.Edge{I: i, J: j, Cost: e.Cost})
						}
					}
				}
			}
			pos.Edges = edges
			for r := range pos.References {
				for s := range pos.References[r].Slots {
					pos.References[r].Slots[s].Entries = entries(pos.References[r].Slots[s].Entries)
				}
			}
		}
		out.Designs = append(out.Designs, d)
	}
	return out
}

func clone(p allocate.Problem) allocate.Problem {
	out := allocate.Problem{Items: slices.Clone(p.Items), Designs: slices.Clone(p.Designs)}
	for d := range out.Designs {
		ds := &out.Designs[d]
		ds.Positions = slices.Clone(ds.Positions)
		for k := range ds.Positions {
			pos := &ds.Positions[k]
			pos.Entries, pos.Edges = slices.Clone(pos.Entries), slices.Clone(pos.Edges)
			pos.References = slices.Clone(pos.References)
			for r := range pos.References {
				ref := &pos.References[r]
				ref.Slots = slices.Clone(ref.Slots)
				for s := range ref.Slots {
					ref.Slots[s].Entries = slices.Clone(ref.Slots[s].Entries)
				}
			}
		}
	}
	return out
}

// each visits every amount.
func each(p *allocate.Problem, visit func(*int64)) {
	for d := range p.Designs {
		visit(&p.Designs[d].Value)
		visit(&p.Designs[d].Fixed)
		for k := range p.Designs[d].Positions {
			pos := &p.Designs[d].Positions[k]
			for e := range pos.Entries {
				visit(&pos.Entries[e].Cost)
			}
			for e := range pos.Edges {
				visit(&pos.Edges[e].Cost)
			}
			for r := range pos.References {
				for s := range pos.References[r].Slots {
					for e := range pos.References[r].Slots[s].Entries {
						visit(&pos.References[r].Slots[s].Entries[e].Cost)
					}
				}
			}
		}
	}
}

func shuffle(p allocate.Problem, r *rand.Rand) allocate.Problem {
	q := clone(p)
	to := r.Perm(len(p.Items))
	for i, it := range p.Items {
		q.Items[to[i]] = it
	}
	entries := func(list []allocate.Entry) {
		for e := range list {
			list[e].Item = to[list[e].Item]
		}
		r.Shuffle(len(list), func(a, b int) { list[a], list[b] = list[b], list[a] })
	}
	for d := range q.Designs {
		for k := range q.Designs[d].Positions {
			pos := &q.Designs[d].Positions[k]
			entries(pos.Entries)
			for e := range pos.Edges {
				edge := &pos.Edges[e]
				if edge.I, edge.J = to[edge.I], to[edge.J]; r.IntN(2) == 0 {
					edge.I, edge.J = edge.J, edge.I
				}
			}
			r.Shuffle(len(pos.Edges), func(a, b int) { pos.Edges[a], pos.Edges[b] = pos.Edges[b], pos.Edges[a] })
			for n := range pos.References {
				for s := range pos.References[n].Slots {
					entries(pos.References[n].Slots[s].Entries)
				}
			}
			r.Shuffle(len(pos.References), func(a, b int) {
				pos.References[a], pos.References[b] = pos.References[b], pos.References[a]
			})
		}
		list := q.Designs[d].Positions
		r.Shuffle(len(list), func(a, b int) { list[a], list[b] = list[b], list[a] })
	}
	r.Shuffle(len(q.Designs), func(a, b int) { q.Designs[a], q.Designs[b] = q.Designs[b], q.Designs[a] })
	return q
}
