package durability

import (
	"cmp"
	"slices"
	"strings"

	"lotpaper/internal/facts"
)

// Mend is a change that was judged again and makes a part of the verdict better.
type Mend struct {
	Change string // "bezel setting and occasional wear", "pendant, brooch or earrings instead"
	To     Level
	// Situations are the changed ones, one for each choice that Change leaves.
	Situations []Situation
}

// Words say what to change and what the verdict then is: "bezel setting: care".
func (m Mend) Words() string { return m.Change + ": " + m.To.String() }

// Mender finds what mends the verdicts on a stone, or on one that may be
// several, in one situation or many.
type Mender struct {
	at       *manyPlaces
	likely   []Stone
	known    map[Position]move
	settings []*facts.Setting
	pieces   []string
}

// NewMender returns what mends verdicts on the stones. Settings and pieces are
// those that are offered, the first ones first.
func NewMender(stones []Stone, settings []*facts.Setting, pieces []string) *Mender {
	return &Mender{judgeAt(stones), Likely(stones), map[Position]move{}, settings, pieces}
}

// Mends are the smallest change that brings a part of the verdict under the
// level that it has and, when that asks for another piece, the smallest one that
// keeps the piece. It is empty when nothing tried here helps.
func (m *Mender) Mends(s Situation, part Part) []Mend {
	from := m.level(s, part)
	if from == Sound {
		return nil
	}
	if part == PartSetting {
		if out := m.moves(s, from); len(out) > 0 {
			return out
		}
	}
	return m.other(s, part, from)
}

// level judges a part in a situation. A treatment that it states is of every
// stone that it may be.
func (m *Mender) level(s Situation, part Part) Level {
	return Weigh(m.at.stones, func(i int) Level {
		one := s
		one.Stone = m.at.stones[i]
		if s.Treatment != "" {
			one.Treatment = s.Treatment
		}
		return LevelsOf(one).Of(part)
	})
}

// move is the setting part of the stones in another position.
func (m *Mender) move(pos Position) move {
	x, ok := m.known[pos]
	if !ok {
		x.Position = pos
		if x.usual = suits(pos.Setting, pos.Piece) && holds(tables(), pos.Setting, m.likely); x.usual {
			x.level, x.weight = m.at.setting(pos)
		}
		m.known[pos] = x
	}
	return x
}

// move is another position for the stones of a situation.
type move struct {
	Position
	level   Level
	weight  int  // how many findings stand behind the level
	changes int  // from the present position
	usual   bool // the setting is made for the piece and holds the stones
}

// compare orders moves: few changes, a good level and few findings come first.
func (x move) compare(y move) int {
	return cmp.Or(cmp.Compare(x.changes, y.changes), cmp.Compare(x.level, y.level), cmp.Compare(x.weight, y.weight))
}

// moves are the positions that mend the setting part.
func (m *Mender) moves(s Situation, from Level) []Mend {
	settings := m.settings
	if s.Setting != nil { // first its own, then those on offer
		settings = append([]*facts.Setting{s.Setting}, settings...)
	}
	wears := []string{s.Wear}
	for i := len(Wears) - 1; i >= 0; i-- {
		if Wears[i] != s.Wear {
			wears = append(wears, Wears[i])
		}
	}
	pieces := append([]string{s.Piece}, m.pieces...)
	var best, kept []move // every smallest change, and every smallest one of the same piece
	smaller := func(list []move, x move) []move {
		switch {
		case len(list) == 0 || x.compare(list[0]) < 0:
			return []move{x}
		case x.compare(list[0]) == 0:
			return append(list, x)
		}
		return list
	}
	for size := 1; size <= 3; size++ { // few changes first: most mends are one
		for i, piece := range pieces {
			own := i == 0
			if !own && (strings.EqualFold(piece, s.Piece) || len(best) > 0 && best[0].changes < size) {
				continue
			}
			for j, set := range settings {
				if j > 0 && s.Setting != nil && set.Name == s.Setting.Name {
					continue
				}
				for _, w := range wears {
					pos := Position{set, piece, w}
					if differs(s.Position, pos) != size {
						continue
					}
					x := m.move(pos)
					if x.changes = size; !x.usual || x.level >= from {
						continue
					}
					if best = smaller(best, x); own {
						kept = smaller(kept, x)
					}
				}
			}
		}
		if len(kept) > 0 {
			break
		}
	}
	if len(best) == 0 {
		return nil
	}
	out := []Mend{mendOf(s, best)}
	if !strings.EqualFold(best[0].Piece, s.Piece) && len(kept) > 0 {
		out = append(out, mendOf(s, kept))
	}
	return out
}

// choices is how many pieces a mend offers in place of the present one.
const choices = 3

// mendOf words the first of the moves and those that differ from it in the
// piece alone.
func mendOf(s Situation, list []move) Mend {
	first := list[0]
	m := Mend{To: first.level}
	var pieces []string
	for _, x := range list {
		if x.Setting != first.Setting || x.Wear != first.Wear || len(pieces) == choices {
			continue
		}
		pieces = append(pieces, x.Piece)
		moved := s
		moved.Position = x.Position
		m.Situations = append(m.Situations, moved)
	}
	var words []string
	if s.Setting == nil || first.Setting.Name != s.Setting.Name {
		words = append(words, first.Setting.Name+" setting")
	}
	if first.Wear != s.Wear {
		words = append(words, first.Wear+" wear")
	}
	if !strings.EqualFold(first.Piece, s.Piece) {
		last := len(pieces) - 1
		if last > 0 {
			pieces = []string{strings.Join(pieces[:last], ", ") + " or " + pieces[last]}
		}
		words = append(words, pieces[0]+" instead")
	}
	m.Change = strings.Join(words, " and ")
	return m
}

// other mends a part by what is neither setting nor piece: the light, the wear,
// a stone stated as untreated, the bench steps that are left out.
func (m *Mender) other(s Situation, part Part, from Level) []Mend {
	if part == PartBench {
		var left, out []string
		for _, step := range s.Bench {
			x := s
			x.Bench = []string{step}
			if m.level(x, part) >= from {
				out = append(out, "no "+step)
			} else {
				left = append(left, step)
			}
		}
		x := s
		x.Bench = left
		if to := m.level(x, part); to < from {
			return []Mend{{strings.Join(out, " and ") + " with the stone in place", to, []Situation{x}}}
		}
		return nil
	}
	var best, shown []Mend // the best, and what leaves the stone on show
	for _, c := range changes(tables(), s, m.at.stones, part, nil, nil, Wears[:]) {
		x := s
		c.do(&x)
		to := m.level(x, part)
		if to >= from {
			continue
		}
		if len(best) == 0 || to < best[0].To {
			best = []Mend{{c.words, to, []Situation{x}}}
		}
		lit := s.Display
		if lit.Lamp = x.Lamp; x.Lamp != s.Lamp && lit == x.Display {
			shown = append(shown, Mend{c.words, to, []Situation{x}})
		}
	}
	if len(shown) > 0 && shown[0].To > best[0].To {
		best = append(shown[:1], best...)
	}
	return best
}

// manyPlaces judges the setting part of the same stones in many positions.
type manyPlaces struct {
	stones []Stone
	left   []set // the rules that a stone leaves standing
}

func judgeAt(stones []Stone) *manyPlaces {
	b, t := book(), tables()
	m := &manyPlaces{stones, make([]set, len(stones))}
	for i := range stones {
		var p profile
		t.stone(&p, &stones[i], nil)
		m.left[i] = b.fired(&p, 0, pieceScore)
	}
	return m
}

// setting is the level of the setting part in a position, and how many findings
// of all likely stones stand behind it.
func (m *manyPlaces) setting(pos Position) (level Level, weight int) {
	b, t := book(), tables()
	var p profile
	t.position(&p, &pos, m.stones[0].Shape, nil)
	benchSteps(&p, nil, nil)
	here := b.fired(&p, pieceScore, dose)
	level = Weigh(m.stones, func(i int) Level {
		fired := m.left[i].and(here)
		if now, _ := m.stones[i].chances(); now >= told {
			fired.each(func(i int) {
				if b.rules[i].part == PartSetting {
					weight++
				}
			})
		}
		return b.worst(&fired, &b.of[0])
	})
	return level, weight
}

// Words say what brings a part of the verdict to a better level, "pendant
// instead: care; or bezel setting and evening wear: care". They are empty when
// nothing tried here does.
func (m *Mender) Words(s Situation, part Part) string {
	var words []string
	for _, x := range m.Mends(s, part) {
		words = append(words, x.Words())
	}
	return strings.Join(words, "; or ")
}

// Mend writes what mends a verdict to the findings that decide a part, for every
// part at caution or worse.
func (m *Mender) Mend(s Situation, v *Verdict) {
	v.Findings = slices.Clone(v.Findings)
	for _, part := range parts {
		words := ""
		if v.Of(part) >= Caution {
			words = m.Words(s, part)
		}
		for i := range v.Findings {
			if f := &v.Findings[i]; f.Part == part && f.Level == v.Of(part) {
				f.Mend = words
			}
		}
	}
}
