package instance

import (
	"cmp"
	"fmt"
	"runtime"
	"slices"
	"sort"
	"sync"
	"sync/atomic"

	"lotpaper/internal/allocate"
)

// Problem finds out which stone may go where.
func (l *Line) Problem() allocate.Problem {
	p := allocate.Problem{Items: make([]allocate.Item, len(l.stones))}
	for i, s := range l.stones {
		p.Items[i] = allocate.Item{Key: fmt.Sprintf("s%06d", i), Capacity: s.capacity}
	}
	shared := newEnumerator(l.stones)
	p.Designs = make([]allocate.Design, len(l.designs))
	var next atomic.Int64
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			e := *shared // with room of its own
			for {
				d := int(next.Add(1)) - 1
				if d >= len(l.designs) {
					return
				}
				ds := l.designs[d]
				out := allocate.Design{Key: fmt.Sprintf("d%0*d", l.digits(), d), Value: ds.value, Fixed: ds.fixed,
					Quantity: ds.quantity}
				for k, pos := range ds.positions {
					out.Positions = append(out.Positions, e.position(fmt.Sprintf("p%d", k), pos))
				}
				p.Designs[d] = out
			}
		})
	}
	wait.Wait()
	return p
}

// digits is how long the numbers of the designs are.
func (l *Line) digits() int { return max(3, len(fmt.Sprint(len(l.designs)-1))) }

// enumerator keeps the stones of each species and shape by length.
type enumerator struct {
	stones []stone
	byKind map[[2]int][]int
	side   []stone    // room for the stones of a window
	pairs  [][2]int32 // and for its pairs
}

func newEnumerator(stones []stone) *enumerator {
	e := &enumerator{stones: stones, byKind: map[[2]int][]int{}}
	for i, s := range stones {
		k := [2]int{s.species, s.shape}
		e.byKind[k] = append(e.byKind[k], i)
	}
	for _, list := range e.byKind {
		slices.SortFunc(list, func(a, b int) int {
			return cmp.Or(cmp.Compare(stones[a].length, stones[b].length), cmp.Compare(a, b))
		})
	}
	return e
}

// between lists the stones of a species and shape from one length to another.
func (e *enumerator) between(species, shape, from, to int) []int {
	list := e.byKind[[2]int{species, shape}]
	lo := sort.Search(len(list), func(k int) bool { return e.stones[list[k]].length >= from })
	hi := sort.Search(len(list), func(k int) bool { return e.stones[list[k]].length > to })
	return list[lo:hi]
}

// window lists the stones that a position accepts.
func (e *enumerator) window(p position) []int {
	from, to := p.aim.length-p.aim.length*p.size/1000, p.aim.length+p.aim.length*p.size/1000
	if p.kind == allocate.Suite {
		from = from * p.slots[len(p.slots)-1].ratio / 1000
	}
	var out []int
	for _, species := range []int{p.aim.species, p.other} {
		if species < 0 || species == p.aim.species && len(out) > 0 {
			continue
		}
		for _, i := range e.between(species, p.aim.shape, from, to) {
			if abs(e.stones[i].colour-p.aim.colour) <= p.colour {
				out = append(out, i)
			}
		}
	}
	return out
}

// cost of stone i where the colour aimed at is colour: its own, and up to a
// fifth of it for being off.
func (e *enumerator) cost(i, colour int) int64 {
	s := e.stones[i]
	return s.cost + s.cost*int64(min(400, abs(s.colour-colour)))/2000
}

func (e *enumerator) position(key string, p position) allocate.Position {
	out := allocate.Position{Key: key, Kind: p.kind}
	window := e.window(p)
	switch p.kind {
	case allocate.Single:
		out.Count = p.count
		out.Entries = make([]allocate.Entry, 0, len(window))
		for _, i := range window {
			out.Entries = append(out.Entries, allocate.Entry{Item: i, Cost: e.cost(i, p.aim.colour)})
		}
	case allocate.Pair:
		out.Edges = e.edges(p, window)
	case allocate.Suite:
		out.References = e.references(p, window)
	}
	return out
}

// near is a stone and how badly it matches.
type near struct{ i, far int }

// keep puts a stone into a list of the best few, best first.
func keep(list []near, n near, most int) []near {
	at, _ := slices.BinarySearchFunc(list, n, func(a, b near) int {
		return cmp.Or(cmp.Compare(a.far, b.far), cmp.Compare(a.i, b.i))
	})
	if at >= most {
		return list
	}
	list = slices.Insert(list, at, n)
	return list[:min(len(list), most)]
}

// edges pairs every stone with the five that match it best.
func (e *enumerator) edges(p position, window []int) []allocate.Edge {
	const most = 5
	stones := e.side[:0] // side by side, as the scan meets them
	for _, i := range window {
		stones = append(stones, e.stones[i])
	}
	pairs := e.pairs[:0]
	nearest := make([]near, 0, most+1)
	for at, i := range window {
		a := &stones[at]
		if a.capacity > 1 {
			pairs = append(pairs, [2]int32{int32(i), int32(i)})
		}
		nearest = nearest[:0]
		for step := -1; step <= 1; step += 2 {
			for k := at + step; k >= 0 && k < len(window); k += step {
				b := &stones[k]
				if b.species != a.species || abs(a.length-b.length)*1000 > p.match*a.length {
					break
				}
				if len(nearest) == most && abs(a.length-b.length)*2000/a.length > nearest[most-1].far {
					break // and those beyond are no nearer
				}
				if abs(a.width-b.width)*1000 <= 2*p.match*a.width && abs(a.colour-b.colour) <= 60 {
					nearest = keep(nearest, near{window[k], distance(a, b)}, most)
				}
			}
		}
		for _, n := range nearest {
			pairs = append(pairs, [2]int32{int32(i), int32(n.i)})
		}
	}
	order := func(a, b [2]int32) int {
		return cmp.Or(cmp.Compare(min(a[0], a[1]), min(b[0], b[1])), cmp.Compare(max(a[0], a[1]), max(b[0], b[1])))
	}
	e.side, e.pairs = stones, pairs
	slices.SortStableFunc(pairs, order) // of the same two, the first seen comes first
	pairs = slices.CompactFunc(pairs, func(a, b [2]int32) bool { return order(a, b) == 0 })
	out := make([]allocate.Edge, 0, len(pairs))
	for _, ij := range pairs {
		i, j := int(ij[0]), int(ij[1])
		cost := e.cost(i, p.aim.colour) + e.cost(j, p.aim.colour)
		out = append(out, allocate.Edge{I: i, J: j, Cost: cost + cost*int64(e.distance(i, j))/4000})
	}
	return out
}

// distance is how badly two stones match: per mille of size, and colour points.
func (e *enumerator) distance(i, j int) int { return distance(&e.stones[i], &e.stones[j]) }

func distance(a, b *stone) int {
	return abs(a.length-b.length)*2000/a.length + abs(a.width-b.width)*1000/a.width + abs(a.colour-b.colour)
}

// references takes a dozen stones of the window as the first of a suite each.
func (e *enumerator) references(p position, window []int) []allocate.Reference {
	var heads []int
	for _, i := range window {
		if abs(e.stones[i].length-p.aim.length)*1000 <= p.size*p.aim.length {
			heads = append(heads, i)
		}
	}
	count := min(12, len(heads))
	var out []allocate.Reference
	for n := range count {
		head := heads[n*len(heads)/count]
		ref := allocate.Reference{Key: fmt.Sprintf("r%02d", n)}
		for _, s := range p.slots {
			ref.Slots = append(ref.Slots, allocate.Slot{Count: s.count, Entries: e.slot(p, s, head)})
		}
		out = append(out, ref)
	}
	return out
}

func (e *enumerator) slot(p position, s slot, head int) []allocate.Entry {
	h := e.stones[head]
	length := h.length * s.ratio / 1000
	most := max(60, 12*s.count)
	var fit []near
	for _, i := range e.between(h.species, h.shape, length-length*p.match/1000, length+length*p.match/1000) {
		b := e.stones[i]
		if off := abs(b.colour - h.colour); off <= 80 {
			fit = keep(fit, near{i, off + abs(b.length-length)*2000/length}, most)
		}
	}
	var out []allocate.Entry
	for _, n := range fit {
		cost := e.cost(n.i, p.aim.colour)
		out = append(out, allocate.Entry{Item: n.i, Cost: cost + cost*int64(n.far)/4000})
	}
	return out
}

func abs(x int) int { return max(x, -x) }
