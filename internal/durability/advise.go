package durability

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/facts"
)

// Option is one way to set and wear a stone.
type Option struct {
	Setting string `json:"setting"`
	Piece   string `json:"piece"`
	Wear    string `json:"wear"`
	Level   Level  `json:"level"`
	// Changes counts how many of setting, piece and wear differ from what was asked.
	Changes int `json:"changes"`
	weight  int // of the levels behind the headline: fewer and milder findings first
}

// Lift is a change that lifts a part of the verdict out of avoid.
type Lift struct {
	Part   Part   `json:"part"`
	Change string `json:"change"`
	To     Level  `json:"to"`
	Size   int    `json:"size"` // how many facts change
}

// Advice is where a stone may go.
type Advice struct {
	Asked Verdict  `json:"asked"`
	Fits  []Option `json:"fits"`  // at care or better, best first
	Lifts []Lift   `json:"lifts"` // per part at avoid: the smallest change first
	Stuck []Part   `json:"stuck"` // parts at avoid that nothing tried here lifts
}

// AdviseAll advises for every stone that a lot may be, weighed as in JudgeAll:
// of a group without chances, what fits, fits all of them, and what lifts an
// avoid lifts it for each.
func AdviseAll(s Situation, stones []Stone, settings []*facts.Setting, pieces, wears []string) Advice {
	if len(wears) == 0 {
		wears = Wears[:]
	}
	if len(stones) == 0 {
		stones = []Stone{s.Stone}
	}
	asked, likely := JudgeAll(s, stones), Likely(stones)
	a := Advice{Asked: asked.Verdict()}
	t, at := tables(), judgeAt(stones)
	for _, set := range settings {
		for _, piece := range pieces {
			if !suits(set, piece) || !holds(t, set, likely) {
				continue
			}
			for _, w := range wears {
				pos := Position{set, piece, w}
				if level, weight := at.setting(pos); level <= Care {
					a.Fits = append(a.Fits, Option{set.Name, piece, w, level, differs(s.Position, pos), weight})
				}
			}
		}
	}
	slices.SortStableFunc(a.Fits, func(x, y Option) int {
		return cmp.Or(cmp.Compare(x.Level, y.Level), cmp.Compare(x.Changes, y.Changes), cmp.Compare(x.weight, y.weight))
	})
	for _, part := range parts {
		if a.Asked.Of(part) < Avoid {
			continue
		}
		lifts := liftsOf(t, s, stones, part, settings, pieces, wears)
		if len(lifts) == 0 {
			a.Stuck = append(a.Stuck, part)
		}
		a.Lifts = append(a.Lifts, lifts...)
	}
	return a
}

// suits reports whether a setting is made for a piece, as far as its row says.
func suits(set *facts.Setting, piece string) bool {
	row, f := facts.PieceNamed(piece)
	return f != nil || len(set.Pieces) == 0 || slices.Contains(set.Pieces, row.Name)
}

// holds reports whether a setting can hold each of the stones: one that puts no
// force on it holds it by glue or thread in a drill hole, and so takes beads and
// the organic materials only; one for domes takes cabochons only.
func holds(t *ruleTables, set *facts.Setting, stones []Stone) bool {
	domes := slices.ContainsFunc(facts.Settings(), func(s *facts.Setting) bool { return s.Domed == set.Name })
	if domes && slices.ContainsFunc(stones, func(s Stone) bool {
		shape, _ := t.shape(s.Shape)
		return !shape.dome
	}) {
		return false
	}
	if set.Force > 0 {
		return true
	}
	return !slices.ContainsFunc(stones, func(s Stone) bool {
		shape, _ := t.shape(s.Shape)
		return !shape.bead && (s.Material == nil || s.Material.Nature != facts.Organic)
	})
}

func differs(a, b Position) int {
	n := 0
	if a.Setting == nil || a.Setting.Name != b.Setting.Name {
		n++
	}
	if !strings.EqualFold(a.Piece, b.Piece) {
		n++
	}
	if a.Wear != b.Wear {
		n++
	}
	return n
}

// change is one way to alter a situation.
type change struct {
	words string
	axis  int // two changes of one axis do not go together
	do    func(*Situation)
}

// changes lists what could be changed for a part, the least trouble first.
func changes(t *ruleTables, s Situation, stones []Stone, part Part, settings []*facts.Setting, pieces,
	wears []string) []change {
	var out []change
	switch part {
	case PartBench:
		for i, step := range s.Bench {
			out = append(out, change{"no " + step + " with the stone in place", i, func(x *Situation) {
				x.Bench = slices.DeleteFunc(slices.Clone(x.Bench), func(w string) bool { return w == step })
			}})
		}
		return out
	case PartDisplay:
		now := t.assume(s.Display, nil)
		for _, place := range t.places {
			if light := place.Lux * place.HoursPerDay * place.DaysPerYear; light < now.LuxHours() &&
				!strings.HasSuffix(place.Name, " wear") {
				out = append(out, change{"keep it as in a " + place.Name, 0, func(x *Situation) {
					x.Display = Display{Lux: place.Lux, HoursPerDay: place.HoursPerDay, DaysPerYear: place.DaysPerYear,
						Lamp: place.Lamp, LimitMlxh: x.LimitMlxh, Dark: place.Lux == 0}
				}})
			}
		}
		slices.Reverse(out) // the place most like the present one first
		for _, lamp := range t.lamps {
			if lamp.heat == 0 {
				out = append(out, change{"light it with a cool lamp (" + lamp.name + ")", 0,
					func(x *Situation) { x.Lamp = lamp.name }})
			}
		}
	}
	for i := len(wears) - 1; i >= 0; i-- {
		if w := wears[i]; w != s.Wear {
			out = append(out, change{w + " wear", 1, func(x *Situation) { x.Wear = w }})
		}
	}
	if part == PartDisplay {
		return out
	}
	for _, set := range settings {
		if (s.Setting == nil || set.Name != s.Setting.Name) && suits(set, s.Piece) && holds(t, set, Likely(stones)) {
			out = append(out, change{set.Name + " setting", 2, func(x *Situation) { x.Setting = set }})
		}
	}
	for _, piece := range pieces {
		if !strings.EqualFold(piece, s.Piece) && (s.Setting == nil || suits(s.Setting, piece)) {
			out = append(out, change{piece + " instead", 3, func(x *Situation) { x.Piece = piece }})
		}
	}
	if s.Treatment == "" {
		out = append(out, change{"an untreated stone, stated so", 4, func(x *Situation) { x.Treatment = "none" }})
	}
	return out
}

// liftsOf finds the smallest changes that bring a part out of avoid: all single
// changes that do, or else all pairs; at the bench, where every step may have
// to go, the steps together.
func liftsOf(t *ruleTables, s Situation, stones []Stone, part Part, settings []*facts.Setting, pieces,
	wears []string) []Lift {
	list := changes(t, s, stones, part, settings, pieces, wears)
	var out []Lift
	try := func(words string, size int, x Situation) {
		to := Weigh(stones, func(i int) Level {
			one := x
			one.Stone = stones[i]
			if x.Treatment != s.Treatment {
				one.Treatment = x.Treatment
			}
			return LevelsOf(one).Of(part)
		})
		if to < Avoid {
			out = append(out, Lift{part, words, to, size})
		}
	}
	for _, c := range list {
		x := s
		c.do(&x)
		try(c.words, 1, x)
	}
	if len(out) == 0 {
		for i, c := range list {
			for _, d := range list[i+1:] {
				if c.axis != d.axis {
					x := s
					c.do(&x)
					d.do(&x)
					try(c.words+" and "+d.words, 2, x)
				}
			}
		}
	}
	if len(out) == 0 && part == PartBench && len(list) > 2 {
		x := s
		x.Bench = nil
		try(fmt.Sprintf("none of the %d steps with the stone in place", len(s.Bench)), len(s.Bench), x)
	}
	slices.SortStableFunc(out, func(a, b Lift) int {
		return cmp.Or(cmp.Compare(a.Size, b.Size),
			cmp.Compare(a.To, b.To))
	})
	return out
}
