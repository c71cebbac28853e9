package book

import (
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/fault"
)

// PositionName returns what the i-th position of a design, from 0, is called.
func PositionName(p Position, i int) string {
	if p.Name != "" {
		return p.Name
	}
	return fmt.Sprintf("position %d", i+1)
}

// PositionNamed finds the position that PositionName calls by name.
func (d Design) PositionNamed(name string) (Position, bool) {
	for i, p := range d.Positions {
		if PositionName(p, i) == name {
			return p, true
		}
	}
	return Position{}, false
}

// SpotName is a design, or a position of one, as a person names it: DESIGN or
// DESIGN/POSITION. Names may hold slashes themselves, so it is compared with
// what a line holds and never split; until then it is a name and no place.
type SpotName string

// LineSpot names a position of a line: LINE/DESIGN/POSITION.
type LineSpot struct {
	Line string // holds no slash
	Spot SpotName
}

// ParseLineSpot reads LINE/DESIGN/POSITION.
func ParseLineSpot(text string) (LineSpot, *fault.Fault) {
	line, spot, _ := strings.Cut(text, "/")
	if line == "" || !strings.Contains(spot, "/") {
		return LineSpot{}, fault.New(fault.Usage, "for-form", fmt.Sprintf("a position is named LINE/DESIGN/POSITION, "+
			"but is %q", text), "see the line").Do("line", "show")
	}
	return LineSpot{line, SpotName(spot)}, nil
}

// Spot is a place in a line: a design, or a position of it.
type Spot struct {
	Design   int // its place among the designs
	Position int // its place in the design; -1: the whole design
	Words    string
}

// Among returns what the name may mean among designs: none, one or several.
func (n SpotName) Among(designs []Design) []Spot {
	text := string(n)
	var out []Spot
	for i, d := range designs {
		words := fmt.Sprintf("design %q", d.Name)
		if strings.EqualFold(text, d.Name) {
			out = append(out, Spot{i, -1, words})
		}
		for k, p := range d.Positions {
			if name := PositionName(p, k); strings.EqualFold(text, d.Name+"/"+name) {
				out = append(out, Spot{i, k, fmt.Sprintf("%s, position %q", words, name)})
			}
		}
	}
	return out
}

// Find returns the one spot among designs that the name means; whole says that
// it may be a whole design. None and several are refused.
func (n SpotName) Find(designs []Design, whole bool) (Spot, *fault.Fault) {
	found := n.Among(designs)
	if !whole {
		found = slices.DeleteFunc(found, func(s Spot) bool { return s.Position < 0 })
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return Spot{}, fault.New(fault.NotFound, "position-unknown",
			fmt.Sprintf("the line has no such design or position as %q", n), "see the line").Do("line", "show")
	default:
		return Spot{}, fault.New(fault.Invalid, "position-ambiguous", fmt.Sprintf("%q fits two: %s; and %s", n,
			found[0].Words, found[1].Words), "rename one of them")
	}
}
