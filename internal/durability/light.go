package durability

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"lotpaper/internal/facts"
)

// LuxHours is the light dose of a year on display.
func (d Display) LuxHours() float64 {
	if d.Dark {
		return 0
	}
	return d.Lux * d.HoursPerDay * d.DaysPerYear
}

// assume fills what is not stated of a display: a lit showcase.
func (t *ruleTables) assume(d Display, said *[]string) Display {
	if d.Dark {
		return Display{Dark: true, Lamp: d.Lamp, LimitMlxh: d.LimitMlxh}
	}
	show := t.showcase()
	if !(d.Lux > 0) {
		d.Lux = show.Lux
		say(said, fmt.Sprintf("light not stated: a %s assumed, %g lx", show.Name, d.Lux))
	}
	if !(d.HoursPerDay > 0) {
		d.HoursPerDay = show.HoursPerDay
		say(said, fmt.Sprintf("hours of light not stated: %g a day assumed", d.HoursPerDay))
	}
	if !(d.DaysPerYear > 0) {
		d.DaysPerYear = show.DaysPerYear
		say(said, fmt.Sprintf("days of light not stated: %g a year assumed", d.DaysPerYear))
	}
	if d.Lamp == "" {
		d.Lamp = show.Lamp
		say(said, "lamp not stated: "+d.Lamp+" assumed")
	}
	return d
}

// showcase is the brightest of the places that are lit by a hot lamp: where
// goods lie for sale when nobody says otherwise.
func (t *ruleTables) showcase() Place {
	var best Place
	for _, p := range t.places {
		if lamp, _ := t.lamp(p.Lamp); p.Lux >= best.Lux && lamp.heat == 2 {
			best = p
		}
	}
	return best
}

// Dose is the light that one place or way of wear gives in a year.
type Dose struct {
	Place           string   `json:"place"`
	Lux             float64  `json:"lux"`
	HoursPerYear    float64  `json:"hours_per_year"`
	LuxHoursPerYear float64  `json:"lux_hours_per_year"`
	Years           *float64 `json:"years"` // until the limit; nil without a limit or without light
	Saves           string   `json:"saves"` // "20 times longer than now"; empty for the place itself
	Source          string   `json:"source"`
}

// LightReport tells what light does to one stone. Class and Order are the
// published class and its order of magnitude; years stand only where a limit
// was given.
type LightReport struct {
	Class string `json:"class"` // stable, low, medium, high or unknown
	Order string `json:"order"` // "days to months (estimate)"
	Fade  string `json:"fade"`  // at which dose colours of the class fade noticeably
	// the most and the least sensitive of the class; nil: the class has none
	FadeLow         *float64 `json:"fade_low_lux_hours"`
	FadeHigh        *float64 `json:"fade_high_lux_hours"` //
	LuxHoursPerYear float64  `json:"lux_hours_per_year"`
	LimitLuxHours   *float64 `json:"limit_lux_hours"`
	HoursLeft       *float64 `json:"hours_left"`
	Years           *float64 `json:"years"`
	Table           []Dose   `json:"table"` // as it lies now, then what would help, then usual places
	Assumed         []string `json:"assumed"`
}

// orders are the orders of magnitude of the classes under strong light, as the
// fact tables define the classes.
var orders = map[string]string{
	"stable": "no change known", "low": "decades (estimate)", "medium": "years (estimate)",
	"high": "days to months (estimate)", "unknown": "unknown: have it fade-tested before it is shown",
}

// LightOf reports the light dose of a situation and what would lower it: a
// lamp without ultraviolet, half the light, rotation of two sets, fewer hours,
// a closed box between showings.
func LightOf(s Situation) LightReport {
	t := tables()
	var p profile
	var r LightReport
	t.stone(&p, &s.Stone, nil)
	d := t.assume(s.Display, &r.Assumed)
	r.Class = scales[light].show(p[light])
	r.Order = orders[r.Class]
	lamp, _ := t.lamp(d.Lamp)
	low, high, gain := fadeOf(r.Class, lamp.uvRich)
	if low != nil {
		with := "without"
		if lamp.uvRich {
			with = "with"
		}
		r.Fade = fmt.Sprintf("colours of this class fade noticeably at %g to %g million lux-hours %s "+
			"ultraviolet (estimate for the class, not for this stone; %s)", low.Value.Min, high.Value.Max,
			with, low.Source)
		from, to := low.Value.Min*1e6, high.Value.Max*1e6
		r.FadeLow, r.FadeHigh = &from, &to
	}
	r.LuxHoursPerYear = d.LuxHours()
	hours := d.HoursPerDay * d.DaysPerYear
	if d.LimitMlxh > 0 {
		limit := d.LimitMlxh * 1e6
		r.LimitLuxHours = &limit
		if d.Lux > 0 && !d.Dark {
			left := limit / d.Lux
			r.HoursLeft = &left
			if hours > 0 {
				years := left / hours
				r.Years = &years
			}
		}
	}
	add := func(name string, lx, h float64, saves, source string) {
		if lx*h == 0 {
			saves = "no light: no dose"
		}
		row := Dose{Place: name, Lux: lx, HoursPerYear: h, LuxHoursPerYear: lx * h, Saves: saves, Source: source}
		if r.LimitLuxHours != nil && lx*h > 0 {
			years := *r.LimitLuxHours / (lx * h)
			row.Years = &years
		}
		r.Table = append(r.Table, row)
	}
	const reciprocity = "ERCO: Illumination of light-sensitive exhibits (dose is lux times hours)"
	if d.Dark {
		add("as it lies now: closed box", 0, 0, "", reciprocity)
	} else {
		add(fmt.Sprintf("as it lies now: %g lx, %s", d.Lux, d.Lamp), d.Lux, hours, "", reciprocity)
		if lamp.uvRich {
			add("the same light without ultraviolet (filter or LED)", d.Lux, hours, gain, uvSource)
			r.Table[len(r.Table)-1].Years = nil // the limit is for the light as it is now
		}
		add("half the light", d.Lux/2, hours, "2 times longer", reciprocity)
		add("rotation: two sets in turn", d.Lux, hours/2, "2 times longer", reciprocity)
		add("in the case two hours a day, else in a closed box", d.Lux, 2*d.DaysPerYear,
			times(d.HoursPerDay/2), reciprocity)
		add("in the hand only (half an hour a week at this light), else in a closed box", d.Lux, 26,
			times(hours/26), reciprocity)
	}
	for _, place := range t.places {
		add(place.Name, place.Lux, place.HoursPerDay*place.DaysPerYear, "", place.Source)
	}
	return r
}

const uvSource = "unverified: Canadian Conservation Institute, doses of the ISO blue wool standards with and " +
	"without ultraviolet"

// blueWool are the ISO blue wool standards that make up a class of light
// sensitivity (Canadian Conservation Institute; classes of CIE 157:2004).
var blueWool = map[string][2]int{"high": {1, 3}, "medium": {4, 6}, "low": {7, 8}}

// fadeOf gives the fade doses at the two ends of a class, of light with or
// without ultraviolet, and in words what keeping out the ultraviolet buys there;
// nil and empty for a class without doses.
func fadeOf(class string, uvRich bool) (low, high *facts.LightDose, gain string) {
	ends, ok := blueWool[class]
	if !ok {
		return nil, nil, ""
	}
	dose := func(kind string, n int) *facts.LightDose {
		rows := facts.LightDoses()
		at := slices.IndexFunc(rows, func(r *facts.LightDose) bool {
			return r.Kind == kind &&
				r.Name == fmt.Sprintf("ISO blue wool %d", n)
		})
		if at < 0 || !rows[at].Value.Known {
			return nil
		}
		return rows[at]
	}
	low, high = dose("fade dose, no UV", ends[0]), dose("fade dose, no UV", ends[1])
	rich, richest := dose("fade dose, UV rich", ends[0]), dose("fade dose, UV rich", ends[1])
	if low == nil || high == nil || rich == nil || richest == nil {
		return nil, nil, ""
	}
	gain = fmt.Sprintf("about %.1f to %.1f times longer for this class", low.Value.Min/rich.Value.Max,
		high.Value.Max/richest.Value.Min)
	if uvRich {
		low, high = rich, richest
	}
	return low, high, gain
}

func times(f float64) string {
	if f <= 1 {
		return "no longer than now"
	}
	if f >= 10 {
		ten := math.Pow(10, math.Floor(math.Log10(f))-1)
		return fmt.Sprintf("about %.0f times longer", math.Round(f/ten)*ten)
	}
	return strings.TrimSuffix(fmt.Sprintf("%.1f", f), ".0") + " times longer"
}
