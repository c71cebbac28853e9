package lineplan

import (
	"cmp"
	"fmt"
	"iter"
	"math"
	"slices"
	"strings"

	"lotpaper/internal/allocate"
	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

// pairLimits are those of the candidate model: all pairs of a position while
// they are at most all, else each stone with its cheapest few. The others are
// further edges: the plan does not use them, but the bound over all pairs holds
// for them.
type pairLimits struct{ all, each int }

var standard = pairLimits{all: 3000, each: 6}

// matchable reports whether each piece of a lot has the size that the lot says:
// one stone, or a lot marked calibrated.
func matchable(s *Stone) bool { return s.Calibrated || s.total() == 1 }

// tolerance is how far two stones of a matched position may differ; 0.1 mm
// where the design says nothing (common practice for calibrated stones under
// 1 ct).
func tolerance(p book.Position) num.Millimetre {
	if p.Tolerance > 0 {
		return p.Tolerance
	}
	return 10
}

// kind is what must be equal in matched stones.
func kind(s *Stone) string {
	return strings.ToLower(strings.Join([]string{s.Species, s.Variety, s.Treatment, s.Shape}, "\x00"))
}

// measures are the directions in which matched stones are compared.
func measures(s *Stone) [3]book.Size { return [3]book.Size{s.Length, s.Width, s.Depth} }

// spread is how far apart two ranges may be at worst.
func spread(a, b book.Size) num.Millimetre { return max(a.Max, b.Max) - min(a.Min, b.Min) }

// mismatch is how far two stones are apart: ok when they may go together, and
// a penalty in thousandths of their cost: 100 at the whole tolerance in the
// worst direction, and 60 for each step of colour. A measure that only one of
// them has does not match. The penalty steers the plan and is no money spent.
func (m *Model) mismatch(a, b candidate, tol num.Millimetre) (permille int64, ok bool) {
	if kind(a.s) != kind(b.s) {
		return 0, false
	}
	worst := 0.0
	ma, mb := measures(a.s), measures(b.s)
	for i := range ma {
		if ma[i].IsZero() && mb[i].IsZero() {
			continue
		}
		off := spread(ma[i], mb[i])
		if off > tol {
			return 0, false
		}
		worst = math.Max(worst, float64(off)/float64(tol))
	}
	apart := m.shades[a.item].color.Apart(m.shades[b.item].color)
	if apart > alike {
		return 0, false
	}
	return int64(math.Round(100*worst + 60*apart)), true
}

// ownPair reports whether two stones of one calibrated lot go together: always
// when its range is within the tolerance; else when it holds twice as many
// stones as classes of that width, so that two of one class are sure to be
// found (with n stones in b classes there are at least (n-b)/2 pairs).
func ownPair(s *Stone, tol num.Millimetre) bool {
	if s.Free < 2 {
		return false
	}
	classes := int64(1)
	for _, d := range measures(s) {
		if tol > 0 {
			classes *= int64((d.Max - d.Min + tol) / tol)
		}
	}
	if classes > 1 && !within(s, tol) {
		return s.Free >= 2*classes
	}
	return true
}

func within(s *Stone, tol num.Millimetre) bool {
	for _, d := range measures(s) {
		if d.Max-d.Min > tol {
			return false
		}
	}
	return true
}

// matchables are the candidates that may be matched, in a stable order: by
// kind, length, lot.
func matchables(fits []candidate) []candidate {
	var list []candidate
	for _, c := range fits {
		if matchable(c.s) {
			list = append(list, c)
		}
	}
	slices.SortStableFunc(list, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(kind(a.s), kind(b.s)), cmp.Compare(a.s.Length.Min, b.s.Length.Min),
			cmp.Compare(a.s.Lot, b.s.Lot))
	})
	return list
}

// pairs makes the edges of a pair position, and the further ones.
func (m *Model) pairs(p *place) (edges []allocate.Edge, further iter.Seq[allocate.Edge]) {
	tol := tolerance(p.Position)
	list := matchables(p.fits)
	near := make([][]allocate.Edge, len(list))
	total := 0
	for i, a := range list {
		if ownPair(a.s, tol) {
			edges = append(edges, allocate.Edge{I: a.item, J: a.item, Cost: 2 * a.cost})
		}
		near[i] = m.near(list, i, tol)
		total += len(near[i])
	}
	p.capped = total > m.limits.all
	for i := range near {
		if p.capped {
			near[i] = near[i][:min(len(near[i]), m.limits.each)]
		}
		edges = append(edges, near[i]...)
	}
	if !p.capped {
		return edges, nil
	}
	return edges, func(yield func(allocate.Edge) bool) {
		for i := range list {
			all := m.near(list, i, tol)
			for _, e := range all[min(len(all), m.limits.each):] {
				if !yield(e) {
					return
				}
			}
		}
	}
}

// near are the pairs of stone i of a list with later ones, the cheapest first.
func (m *Model) near(list []candidate, i int, tol num.Millimetre) []allocate.Edge {
	a := list[i]
	var out []allocate.Edge
	for _, b := range list[i+1:] {
		if kind(b.s) != kind(a.s) || b.s.Length.Min-a.s.Length.Min > tol {
			break
		}
		if permille, ok := m.mismatch(a, b, tol); ok {
			sum := a.cost + b.cost
			out = append(out, allocate.Edge{I: a.item, J: b.item, Cost: sum + sum*permille/1000})
		}
	}
	slices.SortStableFunc(out, func(x, y allocate.Edge) int { return cmp.Compare(x.Cost, y.Cost) })
	return out
}

// matchWords says how far apart the stones of a matched position are.
func (m *Model) matchWords(p *place, items []int) string {
	var stones []*Stone
	var shades []shade
	seen := map[int]bool{}
	for _, item := range items {
		if !seen[item] {
			seen[item] = true
			stones = append(stones, &m.input.Stones[item])
			shades = append(shades, m.shades[item])
		}
	}
	if p.Match == "graduated" {
		var steps []string
		for _, item := range items {
			if l := m.input.Stones[item].Length.String(); len(steps) == 0 || steps[len(steps)-1] != l {
				steps = append(steps, l)
			}
		}
		return "graduated " + strings.Join(steps, ", ") + " mm from the middle to the ends" + colorWords(shades)
	}
	if len(stones) == 1 {
		s := stones[0]
		if s.total() > 1 && !within(s, tolerance(p.Position)) {
			return fmt.Sprintf("all from lot %s, %s: choose stones within %s mm of each other", s.Lot, sizeWords(s),
				tolerance(p.Position))
		}
		return "all from one calibrated lot"
	}
	var words []string
	for i, name := range []string{"length", "width", "depth"} {
		all := measures(stones[0])[i]
		for _, s := range stones[1:] {
			d := measures(s)[i]
			all.Min, all.Max = min(all.Min, d.Min), max(all.Max, d.Max)
		}
		if !all.IsZero() {
			words = append(words, fmt.Sprintf("%s within %s mm", name, all.Max-all.Min))
		}
	}
	return strings.Join(words, ", ") + colorWords(shades)
}

// colorWords says how alike colours are.
func colorWords(shades []shade) string {
	worst := 0.0
	var a, b string
	for i := range shades {
		for j := i + 1; j < len(shades); j++ {
			if d := shades[i].color.Apart(shades[j].color); d > worst {
				worst, a, b = d, shades[i].word, shades[j].word
			}
		}
	}
	for _, s := range shades {
		if s.word == "" {
			return ", colour not stated: compare them by eye"
		}
	}
	if worst == 0 {
		return ", colour alike"
	}
	return fmt.Sprintf(", colour %s beside %s (%.1f steps apart): compare them by eye", a, b, worst)
}
