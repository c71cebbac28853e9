package lineplan

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"lotpaper/internal/allocate"
	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

// Limits of the candidate model of suites.
const (
	references  = 24 // ways of filling one suite position
	mostAnchors = 40 // sizes tried as the smallest of a suite
	slotFactor  = 12 // candidates of a slot for each stone that it takes
	slotLeast   = 60
)

// suites makes the references of a suite position.
func (m *Model) suites(p *place) []allocate.Reference {
	list := matchables(p.fits)
	var out []allocate.Reference
	for from := 0; from < len(list); {
		to := from
		for to < len(list) && kind(list[to].s) == kind(list[from].s) {
			to++
		}
		for _, group := range m.cliques(list[from:to]) {
			if p.Match == "graduated" {
				out = append(out, m.graduated(p, group)...)
			} else {
				out = append(out, m.identical(p, group)...)
			}
		}
		from = to
	}
	return best(out)
}

// cliques splits stones of one kind into the largest groups whose colours all
// go together. There are few colour words in one kind; beyond sixteen the
// rarer ones stand only with themselves.
func (m *Model) cliques(list []candidate) [][]candidate {
	words := map[string]int64{}
	for _, c := range list {
		words[fold(m.shades[c.item].word)] += c.s.Free
	}
	names := slices.Sorted(maps.Keys(words))
	slices.SortStableFunc(names, func(a, b string) int { return cmp.Compare(words[b], words[a]) })
	n := min(len(names), 16)
	colors := make([]Color, len(names))
	for i, w := range names {
		colors[i] = ParseColor(w)
	}
	var sets [][]int
	var grow func(set, open, shut []int)
	grow = func(set, open, shut []int) { // Bron and Kerbosch, without a pivot
		if len(open) == 0 && len(shut) == 0 {
			sets = append(sets, slices.Clone(set))
			return
		}
		for len(open) > 0 {
			v := open[0]
			near := func(l []int) (out []int) {
				for _, o := range l {
					if o != v && colors[v].Apart(colors[o]) <= alike {
						out = append(out, o)
					}
				}
				return out
			}
			grow(append(set, v), near(open), near(shut))
			open, shut = open[1:], append(shut, v)
		}
	}
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	grow(nil, all, nil)
	for i := n; i < len(names); i++ {
		sets = append(sets, []int{i})
	}
	var out [][]candidate
	for _, set := range sets {
		in := map[string]bool{}
		for _, i := range set {
			in[names[i]] = true
		}
		var group []candidate
		for _, c := range list {
			if in[fold(m.shades[c.item].word)] {
				group = append(group, c)
			}
		}
		out = append(out, group)
	}
	return out
}

// anchors are the distinct smallest sizes in a direction, at most most of them,
// evenly over the range.
func anchors(list []candidate, direction, most int) []num.Millimetre {
	seen := map[num.Millimetre]bool{}
	var out []num.Millimetre
	for _, c := range list {
		if low := measures(c.s)[direction].Min; !seen[low] {
			seen[low] = true
			out = append(out, low)
		}
	}
	slices.Sort(out)
	if len(out) <= most {
		return out
	}
	picked := make([]num.Millimetre, most)
	for i := range picked {
		picked[i] = out[i*len(out)/most]
	}
	return picked
}

// windowed are the candidates whose range lies in [low, low+tol].
func windowed(list []candidate, direction int, low, tol num.Millimetre) []candidate {
	var out []candidate
	for _, c := range list {
		if d := measures(c.s)[direction]; d.Min >= low && d.Max <= low+tol {
			out = append(out, c)
		}
	}
	return out
}

func freeOf(list []candidate) int64 {
	var n int64
	for _, c := range list {
		n += c.s.Free
	}
	return n
}

// identical makes the references of a suite of equal stones: every window of
// the tolerance's width in length, width and depth that holds enough of them,
// so that any two of a fill are within the tolerance.
func (m *Model) identical(p *place, group []candidate) []allocate.Reference {
	tol := tolerance(p.Position)
	var out []allocate.Reference
	for _, l := range anchors(group, 0, mostAnchors) {
		byLength := windowed(group, 0, l, tol)
		if freeOf(byLength) < p.Count {
			continue
		}
		for _, w := range anchors(byLength, 1, mostAnchors/3) {
			byWidth := windowed(byLength, 1, w, tol)
			if freeOf(byWidth) < p.Count {
				continue
			}
			for _, d := range anchors(byWidth, 2, mostAnchors/6) {
				set := windowed(byWidth, 2, d, tol)
				if freeOf(set) >= p.Count {
					key := fmt.Sprintf("%s from %s x %s x %s mm", kindWords(set[0].s), l, w, d)
					out = append(out, allocate.Reference{Key: key,
						Slots: []allocate.Slot{m.slot(p, set, int(p.Count), tol)}})
				}
			}
		}
	}
	return out
}

func kindWords(s *Stone) string {
	return strings.TrimSpace(cmp.Or(s.Variety, s.Species) + " " + s.Shape + " " + s.Treatment)
}

// slot takes count of a set; a stone off the set's middle size, or off its
// commonest colour, costs up to 5 % and 3 % a step more. Beyond a limit only
// the cheapest are candidates.
func (m *Model) slot(p *place, set []candidate, count int, tol num.Millimetre) allocate.Slot {
	var all [3]book.Size
	for i, c := range set {
		for k, d := range measures(c.s) {
			if i == 0 {
				all[k] = d
			}
			all[k].Min, all[k].Max = min(all[k].Min, d.Min), max(all[k].Max, d.Max)
		}
	}
	words := map[string]int64{}
	for _, c := range set {
		words[m.shades[c.item].word] += c.s.Free
	}
	common, n := "", int64(-1)
	for _, w := range slices.Sorted(maps.Keys(words)) {
		if words[w] > n {
			common, n = w, words[w]
		}
	}
	aim := ParseColor(common)
	slot := allocate.Slot{Count: count}
	for _, c := range set {
		off := 0.0
		for k, d := range measures(c.s) {
			off = math.Max(off, math.Abs(float64(d.Min+d.Max-all[k].Min-all[k].Max))/float64(2*max(tol, 1)))
		}
		permille := int64(math.Round(50*math.Min(1, 2*off) + 30*aim.Apart(m.shades[c.item].color)))
		slot.Entries = append(slot.Entries, allocate.Entry{Item: c.item, Cost: c.cost + c.cost*permille/1000})
	}
	slices.SortStableFunc(slot.Entries, func(a, b allocate.Entry) int { return cmp.Compare(a.Cost, b.Cost) })
	if most := max(slotLeast, slotFactor*count); len(slot.Entries) > most {
		slot.Entries = slot.Entries[:most]
		p.capped = true
	}
	return slot
}

// graduated makes the references of a suite that falls in even steps from the
// largest stone in the middle to the smallest at both ends, two stones a step:
// from length_max to length_min, and flatter ones that start or end one or two
// tolerances inside. The stones of a step are within the tolerance of each
// other.
func (m *Model) graduated(p *place, group []candidate) []allocate.Reference {
	tol := tolerance(p.Position)
	if p.LengthMax == 0 || p.LengthMin == 0 || p.LengthMin > p.LengthMax {
		return nil
	}
	var out []allocate.Reference
	for _, width := range widths(group) {
		for top := num.Millimetre(0); top <= 2; top++ {
			for end := num.Millimetre(0); end <= 2; end++ {
				high, low := p.LengthMax-top*tol, p.LengthMin+end*tol
				if 2*(high-low) < p.LengthMax-p.LengthMin || (top > 0 || end > 0) && high <= low {
					continue
				}
				if slots := m.steps(p, group, high, low, width); slots != nil {
					out = append(out, allocate.Reference{Key: fmt.Sprintf("%s %s to %s mm, %s", kindWords(group[0].s),
						high, low, width.words), Slots: slots})
				}
			}
		}
	}
	return out
}

// steps are the slots from the middle to the ends; nil when one has too few
// stones.
func (m *Model) steps(p *place, group []candidate, high, low num.Millimetre, width profile) []allocate.Slot {
	tol := tolerance(p.Position)
	n := int(p.Count+1) / 2
	var out []allocate.Slot
	for t := range n {
		target := high
		if n > 1 {
			target = high - (high-low)*num.Millimetre(t)/num.Millimetre(n-1)
		}
		var set []candidate
		for _, c := range group {
			if near(c.s.Length, target, tol) && (c.s.Width.IsZero() || near(c.s.Width, width.at(target), tol)) {
				set = append(set, c)
			}
		}
		count := 2
		if t == 0 && p.Count%2 == 1 {
			count = 1
		}
		if freeOf(set) < int64(count) {
			return nil
		}
		out = append(out, m.slot(p, set, count, tol))
	}
	return out
}

// near reports whether a range lies within half the tolerance of a target.
func near(s book.Size, target, tol num.Millimetre) bool {
	return 2*(s.Max-target) <= tol && 2*(target-s.Min) <= tol
}

// profile is how wide the stones of a graduated suite are at each length.
type profile struct {
	words string
	at    func(length num.Millimetre) num.Millimetre
}

// widths are the commonest profiles, at most three in proportion to the length
// and three of one width.
func widths(group []candidate) []profile {
	byRatio, byWidth := map[int]int64{}, map[int]int64{}
	for _, c := range group {
		r := 100
		if c.s.Length.Min > 0 && c.s.Width.Min > 0 {
			r = int(math.Round(100 * float64(c.s.Width.Min+c.s.Width.Max) / float64(c.s.Length.Min+c.s.Length.Max)))
			byWidth[int(c.s.Width.Min+c.s.Width.Max)/2] += c.s.Free
		}
		byRatio[r] += c.s.Free
	}
	var out []profile
	for _, r := range commonest(byRatio) {
		out = append(out, profile{fmt.Sprintf("width %d %% of the length", r), func(l num.Millimetre) num.Millimetre {
			return (l*num.Millimetre(r) + 50) / 100
		}})
	}
	for _, w := range commonest(byWidth) {
		out = append(out, profile{fmt.Sprintf("%s mm wide", num.Millimetre(w)), func(num.Millimetre) num.Millimetre {
			return num.Millimetre(w)
		}})
	}
	return out
}

// commonest are the three keys with the most pieces.
func commonest(pieces map[int]int64) []int {
	var keys []int
	for r := range pieces {
		keys = append(keys, r)
	}
	slices.SortFunc(keys, func(a, b int) int {
		return cmp.Or(cmp.Compare(pieces[b], pieces[a]), cmp.Compare(a, b))
	})
	return keys[:min(3, len(keys))]
}

// best keeps the references that can fill most cheaply, without those whose
// stones are all in another with the same slots.
func best(refs []allocate.Reference) []allocate.Reference {
	least := func(r allocate.Reference) int64 {
		var sum int64
		for _, s := range r.Slots {
			for i := range min(s.Count, len(s.Entries)) {
				sum += s.Entries[i].Cost
			}
		}
		return sum
	}
	slices.SortStableFunc(refs, func(a, b allocate.Reference) int {
		return cmp.Or(cmp.Compare(least(a), least(b)), cmp.Compare(a.Key, b.Key))
	})
	var out []allocate.Reference
	var held []map[[2]int]int64 // of each kept reference: slot and item -> cost
	seen := map[string]bool{}
	for _, r := range refs {
		if seen[r.Key] || slices.ContainsFunc(held, func(h map[[2]int]int64) bool { return covered(r, h) }) {
			continue
		}
		seen[r.Key] = true
		h := map[[2]int]int64{}
		for t, s := range r.Slots {
			for _, e := range s.Entries {
				h[[2]int{t, e.Item}] = e.Cost
			}
		}
		out, held = append(out, r), append(held, h)
		if len(out) == references {
			break
		}
	}
	return out
}

// covered reports whether another reference holds all entries of r at no higher
// cost.
func covered(r allocate.Reference, h map[[2]int]int64) bool {
	for t, s := range r.Slots {
		for _, e := range s.Entries {
			if cost, ok := h[[2]int{t, e.Item}]; !ok || cost > e.Cost {
				return false
			}
		}
	}
	return true
}
