package facts

import "sync"

// RingSystem is one row of data/ring_systems.csv: how a country numbers ring
// sizes. The measure (diameter or circumference) is Base + Step x n in Unit,
// where n is the size, or for letters the place of the letter (A is 0).
type RingSystem struct {
	Name    string // "US", "ISO", "IT", "UK", "JP"
	Where   string // "US and Canada"
	Measure string // "diameter" or "circumference", inside
	Base    float64
	Step    float64
	Unit    string // "in" or "mm"
	Letters bool
	Formula string
	Note    string
	Source  string
}

// RingSystems returns every row of data/ring_systems.csv.
func RingSystems() []*RingSystem { return ringSystems() }

var ringSystems = sync.OnceValue(load("ring_systems.csv", func(r row) *RingSystem {
	return &RingSystem{
		Name:    r.must("system"),
		Where:   r.must("name"),
		Measure: word(r, "kind", "diameter", "circumference"),
		Base:    r.number("base"),
		Step:    r.number("step"),
		Unit:    word(r, "unit", "in", "mm"),
		Letters: word(r, "sizes", "number", "letter") == "letter",
		Formula: r.must("formula"),
		Note:    r.text("note"),
		Source:  r.must("source"),
	}
}))

// RingSize is one row of data/ring_sizes.csv: a size of a system by its
// formula, and what charts print beside it. Store the circumference; sizes of
// other systems are approximate.
type RingSize struct {
	System        string
	Size          string  // "7.25", "54", "N"
	Diameter      float64 // inside, mm
	Circumference float64 // inside, mm
	Published     float64 // circumference as a published table prints it; 0 none
	UKLetter      string  // in the same row of that table
	SecondChart   float64 // circumference in a maker's chart; 0 none
	Source        string
}

// ringSizes returns every row of data/ring_sizes.csv.
var ringSizes = sync.OnceValue(load("ring_sizes.csv", func(r row) *RingSize {
	published, _ := r.optional("published_mm")
	second, _ := r.optional("second_chart_mm")
	return &RingSize{
		System:        word(r, "system", "US", "ISO", "IT", "UK", "JP"),
		Size:          r.must("size"),
		Diameter:      r.number("diameter_mm"),
		Circumference: r.number("circumference_mm"),
		Published:     published,
		UKLetter:      r.text("uk_letter"),
		SecondChart:   second,
		Source:        r.must("source"),
	}
}))
