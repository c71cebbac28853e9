package facts

import (
	"slices"
	"strings"
	"testing"
)

// TestHazards reads data/hazards.csv: what of a material or variety can hurt
// people, when, and what to do.
func TestHazards(t *testing.T) {
	kinds := []string{"radioactive", "lead", "arsenic", "barium", "mercury", "copper dust", "silica dust", "fibres",
		"hydrogen fluoride", "flammable"}
	times := []string{"worn", "handled", "stored", "cut", "heated", "pickled"}
	hazards := map[string][]string{} // by material
	seen := map[string]bool{}
	for _, r := range readRows("hazards.csv") {
		name, variety := r.must("material"), r.text("variety")
		m := MaterialNamed(name)
		if m == nil {
			r.fail("material", "no material is named "+name)
		}
		if variety != "" && !slices.ContainsFunc(Varieties(),
			func(v *Variety) bool { return v.Name == variety && v.Species == name }) {
			t.Errorf("hazards.csv:%d: %s is no variety of %s", r.line, variety, name)
		}
		hazard := word(r, "hazard", kinds...)
		for _, when := range r.list("when") {
			if !slices.Contains(times, when) {
				t.Errorf("hazards.csv:%d: %q is no time of %q", r.line, when, times)
			}
		}
		if len(r.must("advice")) < 30 || r.must("when") == "" {
			t.Errorf("hazards.csv:%d: says nothing to do", r.line)
		}
		key := strings.Join([]string{name, variety, hazard}, "|")
		if seen[key] {
			t.Errorf("hazards.csv:%d: %s is there twice", r.line, key)
		}
		seen[key] = true
		hazards[name] = append(hazards[name], hazard)
	}
	for _, m := range Materials() {
		if m.FluoridePickle && !slices.Contains(hazards[m.Name], "hydrogen fluoride") {
			t.Errorf("%s must stay out of acid, and hazards.csv does not say so", m.Name)
		}
		for _, w := range []struct{ in, hazard string }{{"lead mineral", "lead"}, {"arsenic", "arsenic"},
			{"radioactive", "radioactive"}} {
			if strings.Contains(m.Note, w.in) && !slices.Contains(hazards[m.Name], w.hazard) {
				t.Errorf("%s: its note warns of %s, and hazards.csv does not", m.Name, w.in)
			}
		}
	}
}
