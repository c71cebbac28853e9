package identify

import (
	"fmt"
	"math"
	"strings"
)

// edges are the edges of the pair, a single one in low alone.
func (p Pair) edges(liquid float64) (low, high edge) {
	low, high = makeEdge(p.Low, liquid), makeEdge(p.High, liquid)
	if !low.read {
		low, high = high, edge{}
	}
	if low.read && high.read && !low.over && !high.over && low.n == high.n {
		high = edge{}
	}
	return low, high
}

// clashing returns the places of two pairs that no stone shows both. However a
// stone is turned, its low edge never rises above its middle index and its high
// edge never falls below it (for uniaxial stones the index of the edge that
// stands), so the greatest low edge lies at most at the least high one. A single
// edge lies anywhere between the two and clashes with nothing, unless it is over
// the limit.
func clashing(read []Pair, liquid, uRead float64) (lowest, highest int, ok bool) {
	greatestLow, leastHigh, n := math.Inf(-1), math.Inf(1), 0
	for i, p := range read {
		low, high := p.edges(liquid)
		if !low.read || !low.over && !high.read {
			continue
		}
		n++
		if low.n > greatestLow {
			greatestLow, highest = low.n, i
		}
		if !low.over && !high.over && high.n < leastHigh {
			leastHigh, lowest = high.n, i
		}
	}
	return lowest, highest, greatestLow-leastHigh > 2*span95(n)*uRead
}

// readEnds are the places of the pairs with the least and the greatest edge.
func readEnds(read []Pair, liquid float64) (least, greatest int) {
	low, high := math.Inf(1), math.Inf(-1)
	for i, p := range read {
		l, h := p.edges(liquid)
		if l.read && l.n < low {
			low, least = l.n, i
		}
		if n := max(l.n, h.n); n > high {
			high, greatest = n, i
		}
	}
	return least, greatest
}

// dropStretched discounts the indices when a single edge lies beyond the others
// and no material of the table has them together.
func (b *bench) dropStretched(t *Table) {
	if !b.stretched {
		return
	}
	if alone := b.only(partIndex); alone.fitsAny(t) {
		return
	}
	*b = b.without(partIndex)
	b.clash = true
	b.reach()
}

// clashQuarrel names the two pairs that clash, with what each would be alone.
func (v *Verdict) clashQuarrel() Quarrel {
	b := &v.bench
	scale := b.uEdge / math.Hypot(v.settings.UCal, v.settings.URead)
	lowest, highest, ok := clashing(b.pairs, v.settings.Liquid, scale*v.settings.URead)
	if !ok {
		lowest, highest = readEnds(b.pairs, v.settings.Liquid)
	}
	says := func(i int) string {
		alone := *b
		alone.refractometer(&Observations{Pairs: b.pairs[i : i+1]}, &v.settings, scale*v.settings.UCal,
			scale*v.settings.URead)
		alone.reach()
		return v.saysBy(alone)
	}
	first, second := min(lowest, highest), max(lowest, highest)
	x, y := says(first), says(second)
	return Quarrel{Tests: []Test{TestLow, TestLow}, Without: []string{y, x},
		Text: fmt.Sprintf("the indices %s and %s cannot be of one stone, and neither counts until one is declared "+
			"void: "+
			"by the first alone it is %s, by the second alone %s", b.pairs[first].words(), b.pairs[second].words(), x,
			y)}
}

func (v *Verdict) clashWords() string { return "its readings quarrel: " + v.clashQuarrel().Text }

// words are the edges as they were read.
func (p Pair) words() string {
	var out []string
	for _, e := range []Edge{p.Low, p.High} {
		switch {
		case e.Over:
			out = append(out, "over the limit")
		case e.N != 0:
			out = append(out, fmt.Sprintf("%.3f", e.N))
		}
	}
	return strings.Join(out, " to ")
}
