package bench

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/identify"
)

// observations turns the readings of one stone into what the engine reads.
func observations(lot book.Lot, readings []book.Reading) (identify.Observations, fault.List) {
	o := identify.Observations{Colour: lot.Color}
	var l fault.List
	for _, r := range readings {
		at := func(f *fault.Fault) {
			if f != nil {
				l.Add(f.At(fault.Where{Ref: r.RecordKey() + " of " + r.Lot}))
			}
		}
		value := func(text string) float64 {
			v, f := readingNumber(text)
			at(f)
			return v
		}
		own := 0.0 // the reading's own standard uncertainty; 0: the usual
		if r.PlusMinus != "" {
			own = value(r.PlusMinus)
		}
		switch r.Test {
		case "ri":
			low, f := edge(r.Low)
			at(f)
			high, f := edge(r.High)
			at(f)
			p := identify.Pair{Low: low, High: high}
			if angle, found := strings.CutPrefix(r.Result, "turned "); found {
				p.Angle, p.Turned = value(angle), true
			}
			o.Pairs = append(o.Pairs, p)
			o.RIU = max(o.RIU, own)
		case "ri-spot":
			e, f := edge(r.Low)
			at(f)
			o.Spot, o.SpotU = e, own
		case "birefringence":
			o.Birefringence, o.BirefringenceU, o.Blinked = value(r.Low), own, true
			o.BirefringenceMax = strings.EqualFold(r.Result, "maximum")
		case "optic":
			o.Optic = identify.Optic(r.Result)
			if r.Low != "" {
				o.Directions = int(value(r.Low))
			}
		case "sg":
			o.SG, o.SGU = value(r.Low), own
		case "hydrostatic":
			o.Weighing = weighing(r, o.Weighing)
		case "liquid":
			o.Liquids = append(o.Liquids, identify.Liquid{SG: value(r.Low), U: own, Result: identify.Float(r.Result)})
		case "lw":
			o.LongWave = identify.Glow{Strength: r.Strength, Colour: r.Color}
		case "sw":
			o.ShortWave = identify.Glow{Strength: r.Strength, Colour: r.Color}
		case "pleochroism":
			o.Pleochroism = identify.Pleochroism{Strength: r.Strength, Hues: r.Color}
			if n, err := strconv.Atoi(r.Result); err == nil {
				o.Pleochroism.Colours = n
			}
		case "filter":
			o.Filter = cmp.Or(r.Color, r.Result)
		case "spectrum":
			for _, line := range r.Results() {
				o.Lines = append(o.Lines, value(line))
			}
		case "thermal":
			o.Thermal = r.Result
		case "electrical":
			o.Electrical = r.Result
		case "magnification":
			o.Features = append(o.Features, r.Results()...)
		case "look":
			for _, seen := range r.Results() {
				look(&o.Look, seen)
			}
		case "color":
			o.Colour = cmp.Or(r.Color, r.Result)
		default:
			at(fault.New(fault.Invalid, "test-unknown", fmt.Sprintf("the test %q is unknown", r.Test),
				"use one of the tests of the readings template").Do("template", "readings"))
		}
	}
	if l.Blocks() {
		return o, l
	}
	for _, f := range o.Validate() {
		l.Add(f.At(fault.Where{Ref: readings[0].Lot + " " + readings[0].Stone}))
	}
	return o, l
}

// cuts are the words of a look that say how a stone is cut, and settings those
// of one that is strung or set.
var (
	cuts     = []string{"faceted", "cabochon", "bead", "carved"}
	settings = []string{"strung", "set"}
)

// look adds a word of what the eye saw.
func look(l *identify.Look, seen string) {
	word := strings.ToLower(seen)
	switch {
	case slices.Contains(identify.Transparencies, word):
		l.Transparency = word
	case slices.Contains(cuts, word):
		l.Cut = word
	case slices.Contains(settings, word):
		l.Fixed = true
	default:
		l.Signs = append(l.Signs, seen)
	}
}

// unknownSigns are faults of a reading that is to be kept: words that no material
// is known for, each with the nearest that are. What a book holds already may
// have such words: they say nothing.
func unknownSigns(r book.Reading) fault.List {
	var o identify.Observations
	switch r.Test {
	case "magnification":
		o.Features = r.Results()
	case "look":
		for _, seen := range r.Results() {
			look(&o.Look, seen)
		}
	default:
		return nil
	}
	b, err := withoutBook()
	if err != nil {
		return nil // whoever judges the reading says so
	}
	return b.table.UnknownSigns(&o)
}

// weighing takes a hydrostatic reading over earlier ones: repeats are averaged.
func weighing(r book.Reading, before identify.Weighing) identify.Weighing {
	w := identify.Weighing{Air: r.Air.Float(), Water: r.Water.Float(), Repeats: 1}
	if v, err := strconv.ParseFloat(r.Resolution, 64); err == nil {
		w.Balance = v
	}
	if v, err := strconv.ParseFloat(r.WaterC, 64); err == nil {
		w.WaterC, w.TempKnown = v, true
	}
	if before.Done() {
		n := float64(before.Repeats)
		w.Air = (before.Air*n + w.Air) / (n + 1)
		w.Water = (before.Water*n + w.Water) / (n + 1)
		w.Repeats = before.Repeats + 1
	}
	return w
}

// edge reads "1.644", ">1.79" or nothing.
func edge(text string) (identify.Edge, *fault.Fault) {
	t := strings.TrimSpace(text)
	if t == "" {
		return identify.Edge{}, nil
	}
	number, over := strings.CutPrefix(t, ">")
	v, f := readingNumber(number)
	return identify.Edge{N: v, Over: over}, f
}

func readingNumber(text string) (float64, *fault.Fault) {
	v, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	if err != nil {
		return 0, fault.New(fault.Invalid, "reading-number", fmt.Sprintf("a reading is a number, but is %q", text),
			"write it like 1.644")
	}
	return v, nil
}
