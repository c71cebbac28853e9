package book

import (
	"strings"
	"testing"
)

// Names may hold slashes: what names a spot is matched against what is there, and one
// that fits two is refused with both names.
func TestSpotName_Find(t *testing.T) {
	designs := []Design{
		{Name: "Ring", Positions: []Position{{Name: "halo/center"}, {Name: "halo"}, {}}},
		{Name: "Ring/halo", Positions: []Position{{Name: "center"}, {Name: "side"}}},
		{Name: "{$1}/50% \"x\"", Positions: []Position{{Name: "$2"}}},
	}
	for text, want := range map[string]Spot{
		"ring": {0, -1, ""}, "Ring/position 3": {0, 2, ""}, "Ring/halo/side": {1, 1, ""}, "{$1}/50% \"x\"": {2, -1, ""},
		"{$1}/50% \"X\"/$2": {2, 0, ""},
	} {
		got, f := SpotName(text).Find(designs, true)
		if f != nil || got.Design != want.Design || got.Position != want.Position {
			t.Errorf("%s is %+v, %v", text, got, f)
		}
	}
	for text, both := range map[string][]string{
		"Ring/halo/center": {`design "Ring", position "halo/center"`, `design "Ring/halo", position "center"`},
		"Ring/halo":        {`design "Ring", position "halo"`, `design "Ring/halo"`},
		"Ring/50%":         {`no such design or position`, `"Ring/50%"`},
	} {
		_, f := SpotName(text).Find(designs, true)
		if f == nil || !strings.Contains(f.What, both[0]) || !strings.Contains(f.What, both[1]) {
			t.Errorf("%s: %v", text, f)
		}
	}
	if s, f := SpotName("Ring/halo").Find(designs, false); f != nil || s.Design != 0 || s.Position != 1 {
		t.Errorf("a position is wanted: %+v, %v", s, f)
	}
	if s, f := SpotName("Ring").Find(designs, false); f == nil {
		t.Errorf("a whole design is taken for a position: %+v", s)
	}
}

func TestParseLineSpot(t *testing.T) {
	if s, f := ParseLineSpot("L/Ring/halo/center"); f != nil || s != (LineSpot{"L", "Ring/halo/center"}) {
		t.Errorf("%+v, %v", s, f)
	}
	for _, bad := range []string{"", "L", "L/Ring", "/Ring/halo"} {
		if s, f := ParseLineSpot(bad); f == nil {
			t.Errorf("%q is taken for %+v", bad, s)
		}
	}
}
