package facts

import "sync"

// Hazard is one row of data/hazards.csv: what of a material or variety can hurt
// people, when, and what to do.
type Hazard struct {
	Material string
	Variety  string // empty: every variety
	Kind     string // "lead", "fibres", "hydrogen fluoride" ...
	When     []string
	Advice   string
	Source   string
}

var hazards = sync.OnceValue(load("hazards.csv", func(r row) *Hazard {
	return &Hazard{Material: r.must("material"), Variety: r.text("variety"), Kind: r.must("hazard"),
		When: r.list("when"), Advice: r.must("advice"), Source: r.must("source")}
}))

// HazardsOf returns what of a material can hurt people; with a variety, what
// concerns that variety too.
func HazardsOf(m *Material, v *Variety) []*Hazard {
	var out []*Hazard
	for _, h := range hazards() {
		if m != nil && h.Material == m.Name && (h.Variety == "" || v != nil && h.Variety == v.Name) {
			out = append(out, h)
		}
	}
	return out
}
