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

// Spot is what a person names by DESIGN or by DESIGN/POSITION.
type Spot struct {
	Design   int // its place among the designs
	Position int // its place in the design; -1: the whole design
	Words    string
}

// Spots returns what text may name among designs. A name may hold a slash
// itself, so text is compared with the known names and never split; it may name
// more than one.
func Spots(designs []Design, text string) []Spot {
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

// OneSpot returns the one spot that text names; whole says that it may be a
// whole design. None and several are refused.
func OneSpot(designs []Design, text string, whole bool) (Spot, *fault.Fault) {
	found := Spots(designs, text)
	if !whole {
		found = slices.DeleteFunc(found, func(s Spot) bool { return s.Position < 0 })
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return Spot{}, fault.New(fault.NotFound, "position-unknown",
			fmt.Sprintf("the line has no such design or position as %q", text), "see the line").Do("line", "show")
	default:
		return Spot{}, fault.New(fault.Invalid, "position-ambiguous", fmt.Sprintf("%q fits two: %s; and %s", text,
			found[0].Words, found[1].Words), "rename one of them")
	}
}
