package lineplan

import (
	"fmt"
	"math"
	"sort"

	"lotpaper/internal/allocate"
	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

// Limits of the candidate model: pairs of each stone with its nearest
// neighbours, suites around so many reference stones.
const (
	neighbours = 5
	references = 12
)

// Model is a problem of the solver with the way back.
type Model struct {
	Problem allocate.Problem
	input   *Input
	tally   map[[2]int]*tally // by design and position
}

// tally counts, for one position, the pieces that reached each stage.
type tally struct {
	pieces  map[Stage]int64
	avoided map[string]int64 // verdict reason -> pieces
	fenced  map[string]int64
}

// Build makes the problem. Only one-piece lots and lots marked calibrated may
// fill matched positions.
func Build(in *Input) (*Model, error) {
	m := &Model{input: in, tally: map[[2]int]*tally{}}
	for _, s := range in.Stones {
		m.Problem.Items = append(m.Problem.Items, allocate.Item{Key: s.Lot, Capacity: int(max(0, s.Free))})
	}
	for di, d := range in.Designs {
		design := allocate.Design{Key: d.Name, Value: d.Margin.Minor(num.HalfUp), Quantity: int(d.Quantity)}
		for pi, p := range d.Positions {
			design.Positions = append(design.Positions, m.position(di, pi, d, p))
		}
		m.Problem.Designs = append(m.Problem.Designs, design)
	}
	if err := m.Problem.Validate(); err != nil {
		return nil, fmt.Errorf("plan: %w", err)
	}
	return m, nil
}

// candidate is a stone that fits a position, with what it costs there.
type candidate struct {
	item int
	cost int64
	s    *Stone
}

func (m *Model) position(di, pi int, d Design, p book.Position) allocate.Position {
	t := &tally{pieces: map[Stage]int64{}, avoided: map[string]int64{}, fenced: map[string]int64{}}
	m.tally[[2]int{di, pi}] = t
	var fits []candidate
	for i := range m.input.Stones {
		s := &m.input.Stones[i]
		fit, v := m.input.fit(*s, d, p)
		pieces := max(s.Free, 1)
		t.pieces[fit.Stage] += pieces
		switch fit.Stage {
		case ByVerdict:
			t.avoided[fit.Reason] += pieces
		case ByFence, ByIdentity:
			t.fenced[fit.Reason] += pieces
		case Fits:
			fits = append(fits, candidate{i, s.Value.Add(v.Loss).Minor(num.HalfUp), s})
		}
	}
	key := p.Name
	if key == "" {
		key = fmt.Sprintf("position %d", pi+1)
	}
	out := allocate.Position{Key: key}
	switch p.Match {
	case "pair":
		if p.Count == 2 {
			out.Kind = allocate.Pair
			out.Edges = pairs(fits, p)
			return out
		}
		out.Kind = allocate.Suite
		out.References = identical(fits, p)
	case "identical":
		out.Kind = allocate.Suite
		out.References = identical(fits, p)
	case "graduated":
		out.Kind = allocate.Suite
		out.References = graduated(fits, p)
	default:
		out.Kind = allocate.Single
		out.Count = int(p.Count)
		for _, c := range fits {
			out.Entries = append(out.Entries, allocate.Entry{Item: c.item, Cost: c.cost})
		}
	}
	return out
}

// matchable tells whether each piece of a lot has the size that the lot says.
func matchable(s *Stone) bool { return s.Calibrated || s.Free == 1 && s.Length.Min == s.Length.Max }

// tolerance of a matched position; the published trade default is 0.2 mm
// overall: under 1 ct 0.1 mm each way (standard gem sizes, International Gem
// Society).
func tolerance(p book.Position) num.Millimetre {
	if p.Tolerance > 0 {
		return p.Tolerance
	}
	return 10
}

// mismatch is how far two stones are apart: ok when they may go together, and
// a penalty in thousandths of their cost that grows with the distance.
func mismatch(a, b *Stone, tol num.Millimetre) (permille int64, ok bool) {
	if a.Species != b.Species || a.Variety != b.Variety || a.Treatment != b.Treatment {
		return 0, false
	}
	worst := 0.0
	for _, d := range [][2]book.Size{{a.Length, b.Length}, {a.Width, b.Width}, {a.Depth, b.Depth}} {
		if d[0].IsZero() && d[1].IsZero() {
			continue
		}
		limit := tol
		diff := d[0].Max - d[1].Min
		if other := d[1].Max - d[0].Min; other > diff {
			diff = other
		}
		if diff > limit {
			return 0, false
		}
		worst = math.Max(worst, float64(diff)/float64(limit))
	}
	apart := ParseColor(a.Color).Apart(ParseColor(b.Color))
	if apart > 1.5 {
		return 0, false
	}
	return int64(math.Round(100*worst + 60*apart)), true
}

// pairs makes the edges of a pair position: each stone with its nearest
// neighbours, and a calibrated lot with itself.
func pairs(fits []candidate, p book.Position) []allocate.Edge {
	tol := tolerance(p)
	var list []candidate
	for _, c := range fits {
		if matchable(c.s) {
			list = append(list, c)
		}
	}
	sort.SliceStable(list, func(i, j int) bool {
		a, b := list[i].s, list[j].s
		if a.Species != b.Species {
			return a.Species < b.Species
		}
		if a.Shape != b.Shape {
			return a.Shape < b.Shape
		}
		if a.Length.Min != b.Length.Min {
			return a.Length.Min < b.Length.Min
		}
		return a.Lot < b.Lot
	})
	type edge struct {
		i, j int
		cost int64
	}
	seen := map[[2]int]bool{}
	var out []allocate.Edge
	for i, a := range list {
		if a.s.Free >= 2 {
			out = append(out, allocate.Edge{I: a.item, J: a.item, Cost: 2 * a.cost})
		}
		var near []edge
		for j := i + 1; j < len(list) && list[j].s.Species == a.s.Species && list[j].s.Length.Min-a.s.Length.Min <= tol; j++ {
			if permille, ok := mismatch(a.s, list[j].s, tol); ok {
				sum := a.cost + list[j].cost
				near = append(near, edge{a.item, list[j].item, sum + sum*permille/1000})
			}
		}
		sort.SliceStable(near, func(x, y int) bool { return near[x].cost < near[y].cost })
		for _, e := range near[:min(len(near), neighbours)] {
			if k := [2]int{e.i, e.j}; !seen[k] {
				seen[k] = true
				out = append(out, allocate.Edge{I: e.i, J: e.j, Cost: e.cost})
			}
		}
	}
	return out
}

// identical makes the references of a suite of equal stones: one slot of all
// of them around each of the cheapest reference stones.
func identical(fits []candidate, p book.Position) []allocate.Reference {
	tol := tolerance(p)
	list := spread(fits)
	var out []allocate.Reference
	for _, ref := range list {
		slot := allocate.Slot{Count: int(p.Count)}
		pieces := int64(0)
		for _, c := range fits {
			if !matchable(c.s) {
				continue
			}
			if permille, ok := mismatch(ref.s, c.s, tol); ok {
				slot.Entries = append(slot.Entries, allocate.Entry{Item: c.item, Cost: c.cost + c.cost*permille/2000})
				pieces += c.s.Free
			}
		}
		if pieces >= p.Count {
			out = append(out, allocate.Reference{Key: ref.s.Lot, Slots: []allocate.Slot{slot}})
		}
	}
	return out
}

// spread picks at most `references` stones, evenly over the sorted sizes.
func spread(fits []candidate) []candidate {
	var list []candidate
	for _, c := range fits {
		if matchable(c.s) {
			list = append(list, c)
		}
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].s.Length.Min < list[j].s.Length.Min })
	if len(list) <= references {
		return list
	}
	out := make([]candidate, references)
	for i := range out {
		out[i] = list[i*len(list)/references]
	}
	return out
}

// graduated makes one reference: from the largest size in the middle down to
// the smallest at both ends, two stones a step.
func graduated(fits []candidate, p book.Position) []allocate.Reference {
	steps := int(p.Count+1) / 2
	tol := tolerance(p)
	high, low := p.LengthMax, p.LengthMin
	if high == 0 || low == 0 || steps == 0 {
		return nil
	}
	ref := allocate.Reference{Key: "graduated"}
	for t := range steps {
		target := high
		if steps > 1 {
			target = high - (high-low)*num.Millimetre(t)/num.Millimetre(steps-1)
		}
		slot := allocate.Slot{Count: 2}
		if t == 0 && p.Count%2 == 1 {
			slot.Count = 1
		}
		pieces := int64(0)
		for _, c := range fits {
			if !matchable(c.s) {
				continue
			}
			off := c.s.Length.Max - target
			if off < 0 {
				off = target - c.s.Length.Min
			}
			if off <= tol {
				slot.Entries = append(slot.Entries, allocate.Entry{Item: c.item, Cost: c.cost + c.cost*int64(off)/int64(10*tol)})
				pieces += c.s.Free
			}
		}
		if pieces < int64(slot.Count) {
			return nil
		}
		ref.Slots = append(ref.Slots, slot)
	}
	return []allocate.Reference{ref}
}
