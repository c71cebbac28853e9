// Package lineplan turns lots and designs into a problem of the solver and its
// answer back into pieces, with reasons for what is short. It is pure: what a
// stone is, what it costs and how a setting judges it come in as data.
package lineplan

import (
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

// Stone is what a plan may draw from: a lot with so many free pieces. A lot of
// one piece is one stone.
type Stone struct {
	Lot        string
	Species    string
	Variety    string
	Treatment  string // empty: not stated
	Shape      string
	Length     book.Size
	Width      book.Size
	Depth      book.Size
	Calibrated bool
	Color      string
	Clarity    string
	Owner      book.Owner
	Free       int64     // pieces that may be used: neither held, out nor fenced
	Carats     num.Carat // of one piece, on average
	Value      num.Money // what using one piece costs the plan
	PerCarat   num.UnitPrice
	Identity   string // stated, supported, verified, mixed, contradicted
	Fenced     string // why plans may not use it; empty: they may
	Note       string // "at the cutter until 2026-05-01"
}

// Design is a model of the line with what one piece of it earns before its
// stones.
type Design struct {
	book.Design
	Margin num.Money // price less all costs but the stones'
}

// Verdict is how one setting judges one stone: the level (0 sound to 3
// avoid), the words of the worst finding, and what the chance of breaking adds
// to the cost of using it.
type Verdict struct {
	Level  int
	Reason string
	Loss   num.Money // expected loss of one stone here
}

// Input is a whole planning task.
type Input struct {
	Stones  []Stone
	Designs []Design
	// Judge judges a stone in a position of a design.
	Judge func(s Stone, d Design, p book.Position) Verdict
	// In names the stones that must go into a design and Out those that may
	// not, as "lot" or "lot in design".
	In, Out map[string]bool
}

// levelOf turns an accept word into a level.
func levelOf(word string) int {
	switch word {
	case "sound":
		return 0
	case "caution":
		return 2
	case "avoid":
		return 3
	}
	return 1 // care, and the default
}

// identityRank orders the states that a design may ask for.
func identityRank(state string) int {
	switch state {
	case "supported":
		return 1
	case "verified":
		return 2
	case "mixed", "contradicted":
		return -1
	}
	return 0
}

// Fit says why a stone cannot go into a position; the zero Fit can.
type Fit struct {
	Stage  Stage
	Reason string
}

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
	ByIdentity
	ByFence
	ByVerdict
	ByFree
)

// words of the stages for shortage sentences; the count stands before.
var stageWords = map[Stage]string{
	ByTreatment: "have another treatment", ByColor: "have another colour", ByClarity: "have another clarity",
	ByPrice: "are over the price ceiling", ByIdentity: "are fenced by identity", ByFence: "are fenced",
	ByFree: "are held, out or used up",
}

// fit tests a stone against a position.
func (in *Input) fit(s Stone, d Design, p book.Position) (Fit, Verdict) {
	no := func(stage Stage, reason string) (Fit, Verdict) { return Fit{stage, reason}, Verdict{} }
	switch {
	case len(p.Species) > 0 && !acceptsSpecies(p.Species, s):
		return no(BySpecies, s.Species)
	case p.Shape != "" && !strings.EqualFold(p.Shape, s.Shape):
		return no(ByShape, s.Shape)
	case !inside(s.Length, p.LengthMin, p.LengthMax) || !inside(s.Width, p.WidthMin, p.WidthMax) || !inside(s.Depth, p.DepthMin, p.DepthMax):
		return no(BySize, s.Length.String()+" x "+s.Width.String())
	case p.Treatment != "" && !acceptsWord(p.Treatment, s.Treatment):
		return no(ByTreatment, s.Treatment)
	case p.Color != "" && !acceptsColor(p.Color, s.Color):
		return no(ByColor, s.Color)
	case p.Clarity != "" && !acceptsWord(p.Clarity, s.Clarity):
		return no(ByClarity, s.Clarity)
	case !p.PriceMax.IsZero() && s.PerCarat.Cmp(p.PriceMax.Money) > 0:
		return no(ByPrice, s.PerCarat.Words()+" per ct")
	case s.Fenced != "":
		return no(ByFence, s.Fenced)
	case identityRank(s.Identity) < identityRank(d.Identity) || identityRank(s.Identity) < 0:
		return no(ByIdentity, s.Identity)
	case in.Out[s.Lot] || in.Out[s.Lot+" in "+d.Name]:
		return no(ByFree, "kept out by the user")
	}
	v := in.Judge(s, d, p)
	if v.Level > levelOf(p.Accept) {
		return Fit{ByVerdict, v.Reason}, v
	}
	if s.Free <= 0 {
		return no(ByFree, s.Note)
	}
	return Fit{}, v
}

func acceptsSpecies(accepted []string, s Stone) bool {
	for _, a := range accepted {
		if strings.EqualFold(a, s.Species) || s.Variety != "" && strings.EqualFold(a, s.Variety) {
			return true
		}
	}
	return false
}

// inside tells whether a lot's whole size range lies in the window; 0 is open.
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

func splitWords(s string) []string {
	var out []string
	for _, w := range strings.FieldsFunc(s, func(r rune) bool { return r == ';' || r == '|' }) {
		if w = strings.TrimSpace(w); w != "" {
			out = append(out, w)
		}
	}
	return out
}
