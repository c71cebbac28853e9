package allocate

import (
	"cmp"
	"fmt"
	"slices"
)

// eachFurther calls visit for the further edges of every pair position, in the
// model's items; edges of items without capacity are left out. The first error
// of an edge or of visit ends it.
func (m *model) eachFurther(visit func(k, a, b int32, cost int64) error) error {
	for k := range m.pos {
		row := &m.pos[k]
		ds := &m.problem.Designs[m.designs[row.design].orig]
		further := ds.Positions[row.orig].Further
		if further == nil {
			continue
		}
		for e := range further {
			if e.I < 0 || e.J < 0 || e.I >= len(m.rank) || e.J >= len(m.rank) || !amountOK(e.Cost) {
				return fmt.Errorf("%w: design %q position %q: further pair %d, %d of cost %d", ErrProblem, ds.Key,
					ds.Positions[row.orig].Key, e.I, e.J, e.Cost)
			}
			a, b := m.rank[e.I], m.rank[e.J]
			if m.edgeCap(a, b) == 0 {
				continue
			}
			if err := visit(int32(k), min(a, b), max(a, b), e.Cost); err != nil {
				return err
			}
		}
	}
	return nil
}

// wanting is a further edge that would gain at the prices of the bound.
type wanting struct {
	a, b int32
	gain float64
	uses int32
}

// furtherBound is what no plan exceeds that may use the further edges, too: the
// bound of doc.go at the prices p with the term of every such edge, after rents
// were raised where several of them want one stone.
func (m *model) furtherBound(p prices, c *clock) (int64, error) {
	p = p.clone(m)
	odd := newOddPrices(m, p.cut)
	rent := make([]float64, len(m.cap))
	m.rents(p, rent)
	var list []wanting
	err := m.eachFurther(func(k, a, b int32, cost int64) error {
		c.spend(4)
		if gain := p.pos[k] - float64(cost) - rent[a] - rent[b]; gain > 0 {
			if gain -= odd.of(a, b); gain > 0 {
				list = append(list, wanting{a, b, gain, m.furtherUses(k, a, b)})
			}
		}
		return nil
	})
	if err != nil {
		return 0, err
	}
	m.raiseRents(list, rent)
	copy(p.item, rent) // no less than what entries pay, so the rents are these
	l := m.rootLimits()
	_, largest := m.estimate(p, l, rent)
	for _, w := range list {
		largest += float64(float64(w.uses) * w.gain)
	}
	scale := scaleFor(largest)
	if scale == 0 {
		return int64(1) << 62, nil
	}
	x := newExact(m, p, scale)
	ub, exactOdd := x.total(l), newOddPrices(m, x.cutPrice)
	err = m.eachFurther(func(k, a, b int32, cost int64) error {
		if gain := x.whole(p.pos[k]) - cost*scale - x.rent[a] - x.rent[b]; gain > 0 {
			if gain -= exactOdd.of(a, b); gain > 0 {
				ub += int64(m.furtherUses(k, a, b)) * gain
			}
		}
		return nil
	})
	return x.floor(ub), err
}

// furtherUses is how often a further edge of position k can be used.
func (m *model) furtherUses(k, a, b int32) int32 {
	return min(m.edgeCap(a, b), m.designs[m.pos[k].design].most)
}

// raiseRents raises the rent of an item to where no more of its edges want it
// than it has pieces: that costs less than the edges' gains, which it takes.
// The items with the largest sums come first; every gain in the list is lowered.
func (m *model) raiseRents(list []wanting, rent []float64) {
	at := map[int32][]int32{}
	sum := map[int32]float64{}
	var items []int32
	for n, w := range list {
		if w.a == w.b {
			continue // one raise counts twice there: left as it is
		}
		for _, i := range [2]int32{w.a, w.b} {
			if at[i] == nil {
				items = append(items, i)
			}
			at[i] = append(at[i], int32(n))
			sum[i] += w.gain
		}
	}
	slices.SortFunc(items, func(a, b int32) int {
		return cmp.Or(cmp.Compare(sum[b], sum[a]), cmp.Compare(a, b))
	})
	for range 3 {
		for _, i := range items {
			edges := at[i]
			slices.SortFunc(edges, func(x, y int32) int {
				return cmp.Or(cmp.Compare(list[y].gain, list[x].gain), cmp.Compare(x, y))
			})
			uses := int32(0)
			for _, n := range edges {
				if uses += list[n].uses; uses > m.cap[i] {
					if raise := list[n].gain; raise > 0 {
						rent[i] += raise
						for _, o := range edges {
							list[o].gain -= raise
						}
					}
					break
				}
			}
		}
	}
	for n := range list {
		list[n].gain = max(0, list[n].gain)
	}
}

// oddPrices are the prices of the odd-set cuts by item. A further edge inside
// such a set pays its price as the others do: the cut holds for all of them.
type oddPrices[T int64 | float64] struct {
	price []T // by cut
	cuts  [][]int32
}

func newOddPrices[T int64 | float64](m *model, price []T) oddPrices[T] {
	o := oddPrices[T]{price, make([][]int32, len(m.cap))}
	for n, p := range price {
		if p <= 0 {
			continue
		}
		for _, i := range m.cuts[n].items {
			o.cuts[i] = append(o.cuts[i], int32(n))
		}
	}
	return o
}

func (o oddPrices[T]) of(a, b int32) T {
	var sum T
	for _, n := range o.cuts[a] {
		if _, both := slices.BinarySearch(o.cuts[b], n); both {
			sum += o.price[n]
		}
	}
	return sum
}

// furtherItems lists, by position, the items of further edges.
func (m *model) furtherItems() [][]int32 {
	out := make([][]int32, len(m.pos))
	seen := make([]int32, len(m.cap))
	m.fault = m.eachFurther(func(k, a, b int32, _ int64) error {
		m.further = true
		for _, i := range [2]int32{a, b} {
			if seen[i] != k+1 {
				seen[i] = k + 1
				out[k] = append(out[k], i)
			}
		}
		return nil
	})
	return out
}
