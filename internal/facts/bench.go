package facts

import "sync"

// LightDose is one row of data/light_doses.csv: doses that fade the blue wool
// standards, the classes built on them, limits of museum practice, and how
// bright usual places are.
type LightDose struct {
	// "fade dose, no UV", "fade dose, UV rich", "class", "illuminance limit", "exposure limit", "UV limit", "hours",
	// "illuminance", "rule"
	Kind   string
	Name   string // "ISO blue wool 3", "medium responsivity R2", "retail jewelry showcase, spot-lit"
	Value  Range  // in Unit; unknown where Words say it
	Words  string // "no limit", "ISO blue wool 1-3"
	Unit   string // "Mlx h", "lx", "lx h per year", "uW/lm", "h"
	Note   string
	Source string
}

// LightDoses returns every row of data/light_doses.csv.
func LightDoses() []*LightDose { return lightDoses() }

var lightDoses = sync.OnceValue(load("light_doses.csv", func(r row) *LightDose {
	return &LightDose{
		Kind: word(r, "kind", "fade dose, no UV", "fade dose, UV rich", "class", "illuminance limit",
			"exposure limit", "UV limit", "hours", "illuminance", "rule"),
		Name:   r.must("name"),
		Value:  r.span("value"),
		Words:  r.text("words"),
		Unit:   r.text("unit"),
		Note:   r.text("note"),
		Source: r.must("source"),
	}
}))

// BenchProcess is one row of data/bench.csv: what a process at the bench does
// to metal and stones. Makers' data sheets and local safety rules go first.
type BenchProcess struct {
	Process   string // "silver solder flow", "pickle", "ultrasonic" ...
	Item      string // "easy", "sodium bisulfate solution"
	Low, High float64
	HasLow    bool // Low, in degrees Celsius, is known
	HasHigh   bool // High is known
	Chemistry string
	Duration  string
	Hazard    string // to stones
	Note      string
	Source    string
}

// benchProcesses returns every row of data/bench.csv.
var benchProcesses = sync.OnceValue(load("bench.csv", func(r row) *BenchProcess {
	b := &BenchProcess{
		Process:   r.must("process"),
		Item:      r.must("item"),
		Chemistry: r.text("chemistry"),
		Duration:  r.text("duration"),
		Hazard:    r.text("hazard"),
		Note:      r.text("note"),
		Source:    r.must("source"),
	}
	b.Low, b.HasLow = r.optional("celsius_low")
	b.High, b.HasHigh = r.optional("celsius_high")
	return b
}))

// HSCode is one row of data/hs_codes.csv: a heading of the Harmonized System.
// Duty rates change and are never stored; a customs broker decides.
type HSCode struct {
	Code        string // "7103.91"
	Description string
	State       string // "rough", "cut", "finished" ...
	Use         string
	Note        string
	Source      string
}

// hsCodes returns every row of data/hs_codes.csv, in the order of the codes.
var hsCodes = sync.OnceValue(load("hs_codes.csv", func(r row) *HSCode {
	return &HSCode{
		Code:        r.must("code"),
		Description: r.must("description"),
		State:       r.must("state"),
		Use:         r.must("use"),
		Note:        r.text("note"),
		Source:      r.must("source"),
	}
}))
