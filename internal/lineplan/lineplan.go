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
	Estimated  bool   // pieces estimated, not counted
	Color      string // words, or numbers of the colour scale
	Clarity    string
	Owner      book.Owner
	Free       int64     // pieces that may be used: neither held, out nor fenced
	Away       []Away    // pieces of the lot that may not be used now
	Carats     num.Carat // of one piece, on average
	Value      num.Money // what using one piece costs the plan
	PerCarat   num.UnitPrice
	Basis      string // what Value rests on: "loose price", "book cost" ...
	Identity   string // stated, supported, verified, mixed, contradicted
	Fenced     string // why plans may not use it; empty: they may
	Note       string // said wherever the stone is planned
}

// Away is pieces of a lot that a plan may not use now.
type Away struct {
	Pieces int64
	Why    string // "at memo/Pellam", "held for the line Reef"
}

// total is all pieces of the lot, free or away.
func (s *Stone) total() int64 {
	n := s.Free
	for _, a := range s.Away {
		n += a.Pieces
	}
	return n
}

// Design is a model of the line with what one piece of it earns before its
// stones.
type Design struct {
	book.Design
	Margin num.Money // price less all costs but the stones'
	// Fixed is what making any of the design costs once: a plan pays it with the
	// first piece. Where a piece is locked it is spent whatever the plan, and
	// counts in none.
	Fixed num.Money
}

// Verdict is how one setting judges one stone: the level (0 sound to 3
// avoid), the words of the worst finding, and what the chance of breaking adds
// to the cost of using it.
type Verdict struct {
	Level  int
	Reason string
	Loss   num.Money // expected loss of one stone here
}

// Lock says that a piece of a lot must go into a design, or into a position of
// it.
type Lock struct {
	Lot string
	In  book.SpotName
}

// Use is pieces of a lot in a position of a design.
type Use struct {
	Design, Position, Lot string
	Pieces                int64
}

// Input is a whole planning task.
type Input struct {
	Stones  []Stone
	Designs []Design
	// Judge judges a stone in a position of a design.
	Judge func(s Stone, d Design, p book.Position) Verdict
	// Out names the stones that may not be used, as "lot" or "lot in design".
	Out map[string]bool
	// Locks are stones that must be used.
	Locks []Lock
	// Keep are uses that stay as they are unless another plan is better by
	// more than KeepWorth for each stone that moves.
	Keep      []Use
	KeepWorth num.Money
}

var levels = []string{"sound", "care", "caution", "avoid"}

// levelOf turns an accept word into a level; care is the default.
func levelOf(word string) int {
	for i, l := range levels {
		if l == word {
			return i
		}
	}
	return 1
}

var identities = []string{"stated", "supported", "verified"}

// identityRank orders the states that a design may ask for; readings against
// the claim rank below all.
func identityRank(state string) int {
	for i, s := range identities {
		if s == state {
			return i
		}
	}
	if state == "mixed" || state == "contradicted" {
		return -1
	}
	return 0
}

// matched reports whether a position's stones must go together.
func matched(p book.Position) bool { return p.Match != "" && p.Match != "none" }

// meleeMost is the largest melee: rounds up to 0.20 ct, about 3.8 mm, are sold
// so; up to 2.5 mm they are set by sieve size without being named one by one
// (common practice).
const meleeMost = num.Millimetre(250)

// IsMelee reports whether a position draws pieces from lots by size and weight
// instead of naming stones.
func IsMelee(p book.Position) bool {
	return !matched(p) && p.LengthMax > 0 && p.LengthMax <= meleeMost
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
