package book

import (
	"strings"
	"testing"
)

// Names may hold slashes: a text is matched against what is there, and one
// that fits two is refused with both names.
func TestOneSpot(t *testing.T) {
	designs := []Design{
		{Name: "Ring", Positions: []Position{{Name: "halo/center"}, {Name: "halo"}, {}}},
		{Name: "Ring/halo", Positions: []Position{{Name: "center"}, {Name: "side"}}},
		{Name: "{$1}/50% \"x\"", Positions: []Position{{Name: "$2"}}},
	}
	for text, want := range map[string]Spot{
		"ring": {0, -1, ""}, "Ring/position 3": {0, 2, ""}, "Ring/halo/side": {1, 1, ""}, "{$1}/50% \"x\"": {2, -1, ""},
		"{$1}/50% \"X\"/$2": {2, 0, ""},
	} {
		got, f := OneSpot(designs, text, true)
		if f != nil || got.Design != want.Design || got.Position != want.Position {
			t.Errorf("%s is %+v, %v", text, got, f)
		}
	}
	for text, both := range map[string][]string{
		"Ring/halo/center": {`design "Ring", position "halo/center"`, `design "Ring/halo", position "center"`},
		"Ring/halo":        {`design "Ring", position "halo"`, `design "Ring/halo"`},
		"Ring/50%":         {`no such design or position`, `"Ring/50%"`},
	} {
		_, f := OneSpot(designs, text, true)
		if f == nil || !strings.Contains(f.What, both[0]) || !strings.Contains(f.What, both[1]) {
			t.Errorf("%s: %v", text, f)
		}
	}
	if s, f := OneSpot(designs, "Ring/halo", false); f != nil || s.Design != 0 || s.Position != 1 {
		t.Errorf("a position is wanted: %+v, %v", s, f)
	}
	if s, f := OneSpot(designs, "Ring", false); f == nil {
		t.Errorf("a whole design is taken for a position: %+v", s)
	}
}
