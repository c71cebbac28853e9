package facts

import (
	"sync"

	"lotpaper/internal/fault"
)

// Alloy is one row of data/alloys.csv: a casting metal, or the wax that a
// model is made of. Densities are in g/cm3 and are the published value for one
// recipe: the maker's own value is better, and the range says how far recipes
// differ.
type Alloy struct {
	Name           string // "gold 14K yellow"
	Aliases        []string
	Metal          string // "gold", "silver", "platinum", "palladium", "base", "model"
	Karat          int    // gold only: parts in 24; 0 elsewhere
	Color          string // "yellow", "white", "red", "green"
	Fineness       int    // marked, parts per thousand; 0 for base metal and wax
	Density        float64
	DensityRange   Range
	WaxMultiplier  Range // published rule of thumb: metal mass for wax mass 1
	MeltingCelsius float64
	Note           string
	Source         string
}

// Alloys returns every row of data/alloys.csv, in the order of the file.
func Alloys() []*Alloy { return alloys() }

var alloys = sync.OnceValue(load("alloys.csv", func(r row) *Alloy {
	melting, _ := r.optional("melting_c")
	return &Alloy{
		Name:           r.must("name"),
		Aliases:        r.list("aliases"),
		Metal:          word(r, "metal", "gold", "silver", "platinum", "palladium", "base", "model"),
		Karat:          r.integer("karat"),
		Color:          word(r, "color", "", "yellow", "white", "red", "green"),
		Fineness:       r.integer("fineness"),
		Density:        r.number("density"),
		DensityRange:   r.span("density"),
		WaxMultiplier:  r.span("wax_multiplier"),
		MeltingCelsius: melting,
		Note:           r.text("note"),
		Source:         r.must("source"),
	}
}))

// AlloyNamed finds an alloy by its name or an alias ("sterling", "18k").
func AlloyNamed(name string) (*Alloy, *fault.Fault) {
	return find("metal", name, Alloys(), func(a *Alloy) (string, []string) { return a.Name, a.Aliases })
}

// Metal is one row of data/metals.csv: a pure metal, for alloys by recipe.
type Metal struct {
	Symbol         string  // "Au"
	Name           string  // "gold"
	Density        float64 // g/cm3 near 20 C
	MeltingCelsius float64
	Source         string
}

// Metals returns every row of data/metals.csv.
func Metals() []*Metal { return metals() }

var metals = sync.OnceValue(load("metals.csv", func(r row) *Metal {
	return &Metal{
		Symbol:         r.must("symbol"),
		Name:           r.must("name"),
		Density:        r.number("density"),
		MeltingCelsius: r.number("melting_c"),
		Source:         r.must("source"),
	}
}))

// MetalNamed finds a pure metal by its symbol or name.
func MetalNamed(name string) (*Metal, *fault.Fault) {
	return find("pure metal", name, Metals(), func(m *Metal) (string, []string) { return m.Symbol, []string{m.Name} })
}

// FinenessMark is one row of data/fineness_marks.csv: a mark that the trade
// uses. An assay between two marks takes the lower one.
type FinenessMark struct {
	Metal  string // "gold"
	Mark   int    // parts per thousand by mass, a minimum
	Karat  int    // gold only, 0 where no karat is customary
	Source string
}

// FinenessMarks returns every row of data/fineness_marks.csv, each metal from
// its lowest mark to its highest.
func FinenessMarks() []*FinenessMark { return finenessMarks() }

var finenessMarks = sync.OnceValue(load("fineness_marks.csv", func(r row) *FinenessMark {
	return &FinenessMark{
		Metal:  word(r, "metal", "gold", "silver", "platinum", "palladium"),
		Mark:   r.integer("mark"),
		Karat:  r.integer("karat"),
		Source: r.must("source"),
	}
}))
