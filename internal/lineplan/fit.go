package lineplan

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

// Stage is the first test that a stone fails, in the order of testing.
type Stage int

// The stages.
const (
	Fits Stage = iota
	BySpecies
	ByShape
	BySize
	ByTreatment
	ByColor
	ByClarity
	ByPrice
	ByFence
	ByIdentity
	ByVerdict
	ByOut // kept out by the user
	ByFree
)

// Fit says why a stone cannot go into a position; the zero Fit can.
type Fit struct {
	Stage  Stage
	Reason string
}

// sentence words a failed test of one stone.
func (f Fit) sentence(p *place) string {
	switch f.Stage {
	case Fits:
		return "it fits"
	case BySpecies:
		return "it is " + f.Reason + ", not " + strings.Join(p.Species, " or ")
	case ByShape:
		return "its shape is " + f.Reason + ", not " + p.Shape
	case BySize:
		window := book.Position{LengthMin: p.LengthMin, LengthMax: p.LengthMax, WidthMin: p.WidthMin,
			WidthMax: p.WidthMax}
		return "its size " + f.Reason + " lies outside " + strings.TrimSuffix(window.Wanted(), " stones")
	case ByTreatment:
		return "its treatment is " + cmp.Or(f.Reason, "not stated") + ", not " + p.Treatment
	case ByColor:
		return "its colour is " + f.Reason + ", not " + p.Color
	case ByClarity:
		return "its clarity is " + cmp.Or(f.Reason, "not stated") + ", not " + p.Clarity
	case ByPrice:
		return "it costs " + f.Reason + ", over the ceiling of " + p.PriceMax.Words() + " per ct"
	case ByFence:
		return "it is fenced: " + f.Reason
	case ByIdentity:
		return "its identity is " + f.Reason + ", and the design asks for " + cmp.Or(p.identity, "stated")
	case ByVerdict:
		return fmt.Sprintf("it is worse than %s in a %s setting: %s", cmp.Or(p.Accept, "care"), p.Setting, f.Reason)
	case ByOut:
		return "it is kept out"
	}
	return "no piece of it is free: " + cmp.Or(f.Reason, "used up")
}

// place is a position of a design, read once: what it accepts, and who fits.
type place struct {
	book.Position
	design   *Design
	di, pi   int
	name     string
	identity string
	accept   int
	window   colorWindow
	fits     []candidate
	cost     map[int]int64 // item -> cost of one stone here, minor units
	tally    tally
	capped   bool // not every pair of its stones is in the model
}

// candidate is a stone that fits a position, with what it costs there.
type candidate struct {
	item int
	cost int64
	s    *Stone
}

func newPlace(in *Input, di, pi int, p book.Position) *place {
	d := &in.Designs[di]
	return &place{Position: p, design: d, di: di, pi: pi, name: book.PositionName(p, pi), identity: d.Identity,
		accept: levelOf(p.Accept), window: readWindow(p.Color)}
}

// fill finds every stone that fits; with counts it also counts where the
// others failed.
func (m *Model) fill(p *place, count bool) {
	p.cost = map[int]int64{}
	for i := range m.input.Stones {
		s := &m.input.Stones[i]
		fit, v := m.fit(i, p)
		if count {
			p.tally.add(s, fit)
		}
		if fit.Stage == Fits {
			cost := s.Value.Add(v.Loss).Minor(num.HalfUp)
			p.fits = append(p.fits, candidate{i, cost, s})
			p.cost[i] = cost
		}
	}
}

// fit tests a stone against a place.
func (m *Model) fit(i int, p *place) (Fit, Verdict) {
	s := &m.input.Stones[i]
	no := func(stage Stage, reason string) (Fit, Verdict) { return Fit{stage, reason}, Verdict{} }
	switch {
	case len(p.Species) > 0 && !acceptsSpecies(p.Species, s):
		return no(BySpecies, cmp.Or(s.Variety, s.Species))
	case p.Shape != "" && !strings.EqualFold(p.Shape, s.Shape):
		return no(ByShape, s.Shape)
	case !inside(s.Length, p.LengthMin, p.LengthMax) || !inside(s.Width, p.WidthMin, p.WidthMax) ||
		!inside(s.Depth, p.DepthMin, p.DepthMax):
		return no(BySize, sizeWords(s))
	case p.Treatment != "" && !acceptsWord(p.Treatment, s.Treatment):
		return no(ByTreatment, s.Treatment)
	}
	if p.Color != "" {
		if ok, why := p.window.accepts(m.shades[i]); !ok {
			return no(ByColor, why)
		}
	}
	switch {
	case p.Clarity != "" && !acceptsWord(p.Clarity, s.Clarity):
		return no(ByClarity, s.Clarity)
	case !p.PriceMax.IsZero() && s.PerCarat.Cmp(p.PriceMax.Money) > 0:
		return no(ByPrice, s.PerCarat.Words()+" per ct")
	case s.Fenced != "":
		return no(ByFence, s.Fenced)
	case identityRank(s.Identity) < max(0, identityRank(p.identity)):
		return no(ByIdentity, s.Identity)
	}
	v := m.input.Judge(*s, *p.design, p.Position)
	switch {
	case v.Level > p.accept:
		return Fit{ByVerdict, v.Reason}, v
	case m.out[fold(s.Lot)] || m.out[fold(s.Lot+" in "+p.design.Name)]:
		return no(ByOut, "kept out")
	case s.Free <= 0:
		var why []string
		for _, a := range s.Away {
			why = append(why, a.Why)
		}
		return no(ByFree, strings.Join(why, ", "))
	}
	return Fit{}, v
}

func fold(s string) string { return strings.ToLower(strings.TrimSpace(s)) }

func sizeWords(s *Stone) string {
	words := cmp.Or(s.Length.String(), "not stated")
	if !s.Width.IsZero() {
		words += " x " + s.Width.String()
	}
	return words + " mm"
}

func acceptsSpecies(accepted []string, s *Stone) bool {
	for _, a := range accepted {
		if strings.EqualFold(a, s.Species) || s.Variety != "" && strings.EqualFold(a, s.Variety) {
			return true
		}
	}
	return false
}

// inside reports whether a lot's whole size range lies in the window; 0 is open.
// A lot without that size does not fit a window that asks for it.
func inside(s book.Size, low, high num.Millimetre) bool {
	if low == 0 && high == 0 {
		return true
	}
	return !s.IsZero() && s.Min >= low && (high == 0 || s.Max <= high)
}

// acceptsWord: the wanted words are separated by ; or | and one must be met.
func acceptsWord(wanted, have string) bool {
	for _, w := range splitWords(wanted) {
		if strings.EqualFold(w, strings.TrimSpace(have)) {
			return true
		}
	}
	return false
}

// tally counts, for one position, the pieces that reached each stage, by
// reason.
type tally struct {
	pieces map[Stage]int64
	why    map[Stage]map[string]int64
}

func (t *tally) add(s *Stone, f Fit) {
	if t.pieces == nil {
		t.pieces, t.why = map[Stage]int64{}, map[Stage]map[string]int64{}
	}
	note := func(stage Stage, n int64, reason string) {
		t.pieces[stage] += n
		if t.why[stage] == nil {
			t.why[stage] = map[string]int64{}
		}
		t.why[stage][reason] += n
	}
	if f.Stage != Fits && f.Stage != ByFree {
		if f.Stage > BySize { // the sentence tells no reason before
			note(f.Stage, max(s.total(), 1), f.Reason)
		}
		return
	}
	t.pieces[Fits] += s.Free
	for _, a := range s.Away {
		note(ByFree, a.Pieces, a.Why)
	}
}

// bySize is how many pieces fit by kind, shape and size.
func (t *tally) bySize() int64 {
	var n int64
	for stage, k := range t.pieces {
		if stage == Fits || stage > BySize {
			n += k
		}
	}
	return n
}

// reasons words the stages between the size and the stones that can be used.
func (t *tally) reasons(p *place) []string {
	var out []string
	say := func(n int64, words string, why map[string]int64) {
		if most := mostOf(why); most != "" {
			words += " (" + most + ")"
		}
		out = append(out, fmt.Sprintf("%d %s", n, words))
	}
	for stage := ByTreatment; stage <= ByFree; stage++ {
		n, why := t.pieces[stage], t.why[stage]
		if n == 0 {
			continue
		}
		switch stage {
		case ByTreatment:
			say(n, "of another treatment than "+p.Treatment, nil)
		case ByColor:
			say(n, "of another colour than "+p.Color, nil)
		case ByClarity:
			say(n, "of another clarity than "+p.Clarity, nil)
		case ByPrice:
			say(n, "over the ceiling of "+p.PriceMax.Words()+" per ct", nil)
		case ByFence:
			say(n, "fenced", why)
		case ByIdentity:
			say(n, "fenced by identity", identityWhy(why, p.identity))
		case ByVerdict:
			say(n, fmt.Sprintf("worse than %s in a %s setting", cmp.Or(p.Accept, "care"), p.Setting), why)
		case ByOut:
			say(n, "kept out", nil)
		case ByFree:
			for _, reason := range slices.Sorted(maps.Keys(why)) {
				out = append(out, fmt.Sprintf("%d %s", why[reason], reason))
			}
		}
	}
	return out
}

func identityWhy(why map[string]int64, asked string) map[string]int64 {
	out := map[string]int64{}
	for state, n := range why {
		out[state+", "+cmp.Or(asked, "stated")+" asked for"] += n
	}
	return out
}

// mostOf is the reason that takes the most pieces, and how many there are
// besides.
func mostOf(reasons map[string]int64) string {
	best, n := "", int64(-1)
	for _, reason := range slices.Sorted(maps.Keys(reasons)) {
		if reasons[reason] > n {
			best, n = reason, reasons[reason]
		}
	}
	if more := len(reasons) - 1; more > 0 {
		return fmt.Sprintf("%s, and %d other reasons", best, more)
	}
	return best
}
