package costing

import (
	"fmt"
	"math"
	"strings"

	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// RingSize is one inside circumference in every system.
type RingSize struct {
	Circumference num.Dec `json:"circumference_mm"` // 2 decimals
	Diameter      num.Dec `json:"diameter_mm"`      // 2 decimals
	// system -> nearest size in use; empty: outside the system
	Sizes   map[string]string `json:"sizes"`
	Formula string            `json:"formula"`
	Source  string            `json:"source"`
	Note    string            `json:"note"`
}

// ringNote says why the circumference is what is kept (Ring size systems table,
// Wikipedia, against Measuring a ring blank, Rio Grande).
const ringNote = "sticks differ between makers by up to 0.5 mm of circumference, and letters by up to half a letter " +
	"between charts: keep the circumference"

// ringSteps are the sizes in use, as parts of one size: quarter US sizes, half
// letters, whole numbers (common practice).
var ringSteps = map[string]float64{"US": 0.25, "UK": 0.5}

// ringLimits are the least and greatest size of a system that rings are made
// in, generously (common practice); letters run from A to Z.
var ringLimits = map[string][2]float64{"US": {0, 16}, "ISO": {36, 80}, "IT": {0, 40}, "UK": {0, 25.5}, "JP": {1, 35}}

// RingBySize converts a size of a system: US "7", "6.5", "6 1/2"; UK "N",
// "N1/2"; ISO the circumference; IT (also Spain, Switzerland) and JP numbers.
func RingBySize(system, size string) (RingSize, *fault.Fault) {
	var names []string
	for _, s := range facts.RingSystems() {
		names = append(names, s.Name)
		if !strings.EqualFold(s.Name, strings.TrimSpace(system)) {
			continue
		}
		n, ok := ringNumber(size, s.Letters)
		if limit, known := ringLimits[s.Name]; !ok || known && (n < limit[0] || n > limit[1]) {
			mend := fmt.Sprintf("write a number from %g to %g, e.g. %g", ringLimits[s.Name][0], ringLimits[s.Name][1],
				math.Round((ringLimits[s.Name][0]+ringLimits[s.Name][1])/2))
			if s.Letters {
				mend = "write a letter A to Z, e.g. N or N1/2"
			}
			return RingSize{}, fault.New(fault.Invalid, "ring-size", fmt.Sprintf("%q is no ring size of the %s system",
				size, s.Name), mend).AtField("size")
		}
		measure := s.Base + s.Step*n
		if s.Unit == "in" {
			measure *= 25.4
		}
		if s.Measure == "diameter" {
			measure *= math.Pi
		}
		r := ringOf(measure)
		r.Formula, r.Source = s.Formula, s.Source
		return r, nil
	}
	return RingSize{}, fault.New(fault.Usage, "ring-system", "no ring system is called \""+system+"\"", "write one of "+
		strings.Join(names, ", ")).AtField("system")
}

// RingByDiameter converts an inside diameter in mm.
func RingByDiameter(d num.Dec) (RingSize, *fault.Fault) {
	if v := d.Float(); v < 10 || v > 30 {
		return RingSize{}, fault.New(fault.Invalid, "ring-diameter",
			"a ring's inside diameter must lie between 10 and "+
				"30 mm, but is "+d.String(), "measure the inside diameter in mm, e.g. 17.3").AtField("diameter")
	}
	return ringOf(d.Float() * math.Pi), nil
}

// ringNumber reads 6.5, 6 1/2, or a letter with an optional half as its place
// (A is 0).
func ringNumber(s string, letters bool) (float64, bool) {
	s = strings.ToUpper(strings.TrimSpace(s))
	part := 0.0
	for _, f := range []struct {
		text  string
		value float64
	}{{"1/2", 0.5}, {"½", 0.5}, {"1/4", 0.25}, {"¼", 0.25}, {"3/4", 0.75}, {"¾", 0.75}} {
		if rest, found := strings.CutSuffix(s, f.text); found {
			s, part = strings.TrimSpace(rest), f.value
			break
		}
	}
	if letters {
		if len(s) != 1 || s[0] < 'A' || s[0] > 'Z' {
			return 0, false
		}
		return float64(s[0]-'A') + part, true
	}
	d, f := num.ParseDec(s)
	return d.Float() + part, f == nil
}

func ringOf(c float64) RingSize {
	r := RingSize{
		Circumference: num.FromFloat(c, 2, num.HalfUp), Diameter: num.FromFloat(c/math.Pi, 2, num.HalfUp),
		Sizes: map[string]string{}, Formula: "circumference = pi x diameter", Note: ringNote,
	}
	for _, s := range facts.RingSystems() {
		measure := c
		if s.Measure == "diameter" {
			measure /= math.Pi
		}
		if s.Unit == "in" {
			measure /= 25.4
		}
		step := ringSteps[s.Name]
		if step == 0 {
			step = 1
		}
		n := math.Round((measure-s.Base)/s.Step/step) * step
		r.Source = join(r.Source, s.Source)
		if limit, known := ringLimits[s.Name]; known && (n < limit[0] || n > limit[1]) {
			r.Sizes[s.Name] = ""
			continue
		}
		r.Sizes[s.Name] = num.FromFloat(n, 2, num.HalfUp).String()
		if s.Letters {
			r.Sizes[s.Name] = string(rune('A' + int(n)))
			if n != math.Trunc(n) {
				r.Sizes[s.Name] += "1/2"
			}
		}
	}
	return r
}
