package facts

import "sync"

// WeightForm is the product of a stone's measures that a coefficient multiplies.
type WeightForm string

// The forms: length x width x depth, or the square of their mean x depth.
const (
	FormLW   WeightForm = "lw"
	FormMean WeightForm = "mean"
)

// WeightCoefficient is one row of data/weight_coefficients.csv: carats =
// coefficient x form x depth (x SG unless the material is diamond).
type WeightCoefficient struct {
	Diamond     bool
	Shape       string // a shape of package cutting: "emerald cut", "oval cabochon"
	Use         string // "handbook", "corrected" or "alternative" (published, not followed)
	Form        WeightForm
	Ratio       string // length to width at which it holds; empty: at any
	Coefficient string // exact decimal
	Low, High   string // corrected only: the band that holds 90 % of stones, as multipliers
	Stones      int    // on which it was fitted or checked; 0: published
	Source      string
	Note        string
}

// WeightCoefficients returns every row of data/weight_coefficients.csv, in the
// order of the file.
func WeightCoefficients() []*WeightCoefficient { return weightCoefficients() }

var weightCoefficients = sync.OnceValue(load("weight_coefficients.csv", func(r row) *WeightCoefficient {
	r.number("coefficient") // decimals all, kept as text
	for _, c := range []string{"ratio", "low", "high"} {
		r.optional(c)
	}
	return &WeightCoefficient{
		Diamond:     word(r, "material", "coloured", "diamond") == "diamond",
		Shape:       r.must("shape"),
		Use:         word(r, "use", "handbook", "corrected", "alternative"),
		Form:        word(r, "form", FormLW, FormMean),
		Ratio:       r.text("ratio"),
		Coefficient: r.must("coefficient"),
		Low:         r.text("low"),
		High:        r.text("high"),
		Stones:      r.integer("stones"),
		Source:      r.must("source"),
		Note:        r.text("note"),
	}
}))

// Orientation is one row of data/orientation.csv: how a cutter lays the table
// in a material.
type Orientation struct {
	Species string // as in data/materials.csv
	Variety string // empty: every variety
	Table   string // "perpendicular", "parallel", "off" or "colour": to the axis or plane
	Plane   string // "optic axis", "c axis", "cleavage", "axis"
	Advice  string
	Source  string
}

// Orientations returns every row of data/orientation.csv.
func Orientations() []*Orientation { return orientations() }

var orientations = sync.OnceValue(load("orientation.csv", func(r row) *Orientation {
	return &Orientation{
		Species: r.must("species"),
		Variety: r.text("variety"),
		Table:   word(r, "axis", "perpendicular", "parallel", "off", "colour"),
		Plane:   r.must("plane"),
		Advice:  r.must("advice"),
		Source:  r.must("source"),
	}
}))
