package cutting

import "testing"

// Facets lie within the outline, whatever the shape and however long; a small
// stone has fewer of them.
func TestFace(t *testing.T) {
	for _, s := range Shapes() {
		for _, m := range [][2]float64{{8, 6}, {6, 6}, {14, 4}, {2, 1.5}} {
			outline, lines := Face(s, m[0], m[1])
			if len(outline) == 0 || len(lines) == 0 {
				t.Errorf("%s of %v is not drawn", s, m)
			}
			for _, line := range lines {
				for _, q := range line {
					if !outline.holds(q, slack) {
						t.Errorf("%s of %v: %v lies outside", s, m, q)
					}
				}
			}
		}
	}
	_, many := Face(Round, 5, 5)
	_, few := Face(Round, 2, 2)
	// A standard brilliant's crown: a table, 8 stars, 8 mains and 16 halves. Here stars, mains and the edges of
	// the mains are a line each, and a short line parts each pair of halves.
	if len(many) != 3+8 || len(many[0]) != 9 || len(many[1]) != 17 || len(few) != 1+8 {
		t.Errorf("%d lines, %d at the table; %d lines when small", len(many), len(many[0]), len(few))
	}
	if outline, lines := Face("rough", 5, 5); outline != nil || lines != nil {
		t.Error("a shape that is not known is drawn")
	}
}
