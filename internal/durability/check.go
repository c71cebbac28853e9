package durability

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
)

// Check returns the faults of a situation's words: what Judge would have to
// take as unknown. Each names the field and the words that are known.
func Check(s Situation) fault.List {
	var l fault.List
	word := func(field, got string, known []string) {
		if got != "" && !slices.Contains(known, got) {
			mend := "use one of: " + strings.Join(known, ", ")
			if near := fault.DidYouMean(got, known); near != "" {
				mend = near
			}
			l.Add(fault.New(fault.Invalid, "durability-"+field, fmt.Sprintf("%s %q is not known", field, got), mend))
		}
	}
	if s.Material == nil {
		l.Add(fault.New(fault.Invalid, "durability-material", "the situation names no stone",
			"name a species, variety or group"))
	}
	add := func(name string, f *fault.Fault) {
		if name != "" {
			l.Add(f)
		}
	}
	_, f := facts.WearNamed(s.Wear)
	add(s.Wear, f)
	_, f = facts.PieceNamed(s.Piece)
	add(s.Piece, f)
	for _, b := range s.Bench {
		word("bench", b, Steps[:])
	}
	t := tables()
	if _, ok := t.shape(s.Shape); !ok && s.Shape != "" {
		word("shape", s.Shape, names(t.shapes, func(p shapeRow) string { return p.name }))
	}
	if _, ok := t.lamp(s.Lamp); !ok && s.Lamp != "" {
		word("lamp", s.Lamp, names(t.lamps, func(p lampRow) string { return p.name }))
	}
	for _, w := range t.apart(split(s.Treatment)) {
		if _, ok := t.treatment(w); !ok {
			word("treatment", w, names(t.treatments, func(p treatmentRow) string { return p.name }))
		}
	}
	for _, w := range split(s.Inclusions) {
		word("inclusions", w, inclusionWords)
	}
	word("girdle", s.Girdle, []string{"thin", "medium", "thick"})
	for _, v := range []struct {
		words, field string
		v            float64
	}{{"length", "length", s.Length}, {"width", "width", s.Width}, {"lux", "lux", s.Lux},
		{"hours_per_day", "hours_per_day", s.HoursPerDay}, {"days_per_year", "days_per_year", s.DaysPerYear},
		{"light limit", "limit_mlxh", s.LimitMlxh}} {
		if v.v < 0 || math.IsNaN(v.v) || math.IsInf(v.v, 0) {
			l.Add(fault.New(fault.Invalid, "durability-number", fmt.Sprintf("%s must be 0 or more, but is %v", v.words,
				v.v), "give a positive number, or leave it empty").AtField(v.field))
		}
	}
	if s.HoursPerDay > 24 {
		l.Add(fault.New(fault.Invalid, "durability-number", fmt.Sprintf("hours per day must be at most 24, but "+
			"are %v", s.HoursPerDay), "give hours per day up to 24").AtField("hours_per_day"))
	}
	if s.DaysPerYear > 366 {
		l.Add(fault.New(fault.Invalid, "durability-number", fmt.Sprintf("days per year must be at most 366, but "+
			"are %v", s.DaysPerYear), "give days per year up to 366").AtField("days_per_year"))
	}
	return l
}

var inclusionWords = []string{"none", "inner", "open", "liquid"}

// split reads a ";" list of words; "not stated" and "unknown" are the same as
// nothing.
func split(list string) []string {
	if list == "" {
		return nil
	}
	out := make([]string, 0, 2)
	for w := range strings.SplitSeq(list, ";") {
		if w = strings.ToLower(strings.TrimSpace(w)); w != "" && w != "not stated" && w != "unknown" {
			out = append(out, w)
		}
	}
	return out
}
