package facts

import (
	"encoding/csv"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"lotpaper/data"
)

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
	Shape       string // a name of package cutting: "emerald cut", "oval cabochon"
	Use         string // "handbook", "corrected" or "alternative" (published, not followed)
	Form        WeightForm
	Ratio       string // length to width at which it holds; empty: at any
	Coefficient string // exact decimal
	Low, High   string // corrected only: the band that holds 90 % of stones, as multipliers
	Stones      int    // on which it was fitted or checked; 0: published
	Source      string
	Note        string
}

// WeightCoefficients returns the weight formulas in the order of the table.
var WeightCoefficients = sync.OnceValue(func() []WeightCoefficient {
	var out []WeightCoefficient
	for i, r := range cuttingTable("weight_coefficients.csv", "material", "shape", "use", "form", "ratio", "coefficient", "low", "high", "stones", "source", "note") {
		w := WeightCoefficient{
			Diamond: r[0] == "diamond", Shape: r[1], Use: r[2], Form: WeightForm(r[3]), Ratio: r[4], Coefficient: r[5],
			Low: r[6], High: r[7], Source: r[9], Note: r[10],
		}
		if r[8] != "" {
			n, err := strconv.Atoi(r[8])
			if err != nil {
				panic(fmt.Sprintf("data/weight_coefficients.csv row %d: stones %q", i+2, r[8]))
			}
			w.Stones = n
		}
		if !slices.Contains([]string{"handbook", "corrected", "alternative"}, w.Use) || w.Form != FormLW && w.Form != FormMean || w.Source == "" {
			panic(fmt.Sprintf("data/weight_coefficients.csv row %d: use %q, form %q, source %q", i+2, w.Use, w.Form, w.Source))
		}
		out = append(out, w)
	}
	return out
})

// Orientation is one row of data/orientation.csv: how a cutter lays the table
// in a material.
type Orientation struct {
	Species string // as in data/materials.csv
	Variety string // empty: every variety
	Axis    string // "perpendicular", "parallel", "any" or "colour": of the table to the axis or plane named in Plane
	Plane   string // "optic axis", "c axis", "cleavage"
	Advice  string
	Source  string
}

// Orientations returns the advice in the order of the table.
var Orientations = sync.OnceValue(func() []Orientation {
	var out []Orientation
	for i, r := range cuttingTable("orientation.csv", "species", "variety", "axis", "plane", "advice", "source") {
		if r[0] == "" || r[4] == "" || r[5] == "" {
			panic(fmt.Sprintf("data/orientation.csv row %d: species, advice and source are needed", i+2))
		}
		out = append(out, Orientation{r[0], r[1], r[2], r[3], r[4], r[5]})
	}
	return out
})

// cuttingTable reads an embedded table whose header must be want; a table that
// does not parse is a build fault.
func cuttingTable(name string, want ...string) [][]string {
	file, err := data.FS.Open(name)
	if err != nil {
		panic(fmt.Sprintf("data/%s: %v", name, err))
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		panic(fmt.Sprintf("data/%s: %v", name, err))
	}
	if !slices.Equal(rows[0], want) {
		panic(fmt.Sprintf("data/%s: header %s, want %s", name, strings.Join(rows[0], ","), strings.Join(want, ",")))
	}
	return rows[1:]
}
