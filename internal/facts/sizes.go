package facts

import "sync"

// CalibratedSize is one row of data/calibrated_sizes.csv: a size that stock
// settings are made for.
type CalibratedSize struct {
	Shape     string  // "round", "oval", "emerald cut", "oval cabochon" ...
	Length    float64 // mm
	Width     float64 // mm; as Length for round and square shapes
	DiamondCT float64 // carats of a diamond of that size; other stones by specific gravity; 0 unknown
	Kind      string  // "standard" (published list), "customary" (common practice), "equivalent" (a weight chart)
	Note      string
	Source    string
}

// CalibratedSizes returns every row of data/calibrated_sizes.csv.
func CalibratedSizes() []*CalibratedSize { return calibratedSizes() }

var calibratedSizes = sync.OnceValue(load("calibrated_sizes.csv", func(r row) *CalibratedSize {
	carats, _ := r.optional("diamond_ct")
	return &CalibratedSize{
		Shape:     r.must("shape"),
		Length:    r.number("length_mm"),
		Width:     r.number("width_mm"),
		DiamondCT: carats,
		Kind:      word(r, "kind", "standard", "customary", "equivalent"),
		Note:      r.text("note"),
		Source:    r.must("source"),
	}
}))

// Tolerance is one row of data/tolerances.csv: how much a size may be off, mm.
// Two rows of one rule are two sources that disagree.
type Tolerance struct {
	Rule   string // "fit to setting, under 1 ct"
	MM     Range
	Note   string
	Source string
}

// tolerances returns every row of data/tolerances.csv.
var tolerances = sync.OnceValue(load("tolerances.csv", func(r row) *Tolerance {
	return &Tolerance{Rule: r.must("rule"), MM: r.span("mm"), Note: r.text("note"), Source: r.must("source")}
}))

// Sieve is one row of data/sieves.csv: what lies between two melee plates.
// Charts agree in carats to about 7 percent, less well in millimetres: cost
// melee by its weight and count, not by the chart.
type Sieve struct {
	StaysOn     string  // plate that keeps it: "6.5"; empty under the smallest
	Passes      string  // plate that it falls through: "7"
	Diameter    Range   // mm, round brilliant diamonds
	CaratsEach  float64 // approximate
	StonesPerCT float64
	Group       string  // "minus 2", "star", "melee", "coarse melee / pointers"
	SecondMM    float64 // of a second chart; 0 not there
	SecondCT    float64
	Source      string
}

// sieves returns every row of data/sieves.csv, the smallest plate first.
var sieves = sync.OnceValue(load("sieves.csv", func(r row) *Sieve {
	mm, _ := r.optional("second_mm")
	ct, _ := r.optional("second_ct")
	return &Sieve{
		StaysOn:     r.text("stays_on"),
		Passes:      r.must("passes"),
		Diameter:    r.span("diameter"),
		CaratsEach:  r.number("ct_each"),
		StonesPerCT: r.number("stones_per_ct"),
		Group:       r.must("group"),
		SecondMM:    mm,
		SecondCT:    ct,
		Source:      r.must("source"),
	}
}))

// WaterDensity is one row of data/water_density.csv, g/cm3 at 101.325 kPa.
type WaterDensity struct {
	Celsius      float64
	AirFree      float64
	AirSaturated float64
	Source       string
}

// waterDensities returns every row of data/water_density.csv, 5 to 40 C in
// steps of 0.5.
var waterDensities = sync.OnceValue(load("water_density.csv", func(r row) *WaterDensity {
	return &WaterDensity{
		Celsius:      r.number("celsius"),
		AirFree:      r.number("air_free"),
		AirSaturated: r.number("air_saturated"),
		Source:       r.must("source"),
	}
}))
