package answer

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"lotpaper/internal/chart"
	"lotpaper/internal/durability"
	"lotpaper/internal/sheet"
)

// SettingLight is what light does to one stone, or to the most sensitive of
// the stones that it may be.
type SettingLight struct {
	Stone  string `json:"stone"`
	ReadAs string `json:"read_as"`
	durability.LightReport
	If []string `json:"if"` // the class of each stone that it may be, when there are several
}

var doseColumns = []column[durability.Dose]{
	screen("place or way of wear", func(d *durability.Dose) sheet.Cell { return sheet.Text(d.Place) }),
	screen("lux", func(d *durability.Dose) sheet.Cell { return doseCell(&d.Lux) }),
	screen("hours/year", func(d *durability.Dose) sheet.Cell { return doseCell(&d.HoursPerYear) }),
	screen("lux-hours/year", func(d *durability.Dose) sheet.Cell { return doseCell(&d.LuxHoursPerYear) }),
	screen("years to the limit", func(d *durability.Dose) sheet.Cell { return doseCell(d.Years) }),
	screen("lasts", func(d *durability.Dose) sheet.Cell { return sheet.Text(d.Saves) }),
}

// doseCell is a light, its hours or its dose; empty when it is not known.
func doseCell(v *float64) sheet.Cell {
	if v == nil {
		return sheet.Empty()
	}
	return sheet.Text(dose(*v)).Right()
}

// Screen is the class, the dose and what is assumed, then the doses by place.
func (l *SettingLight) Screen() Screen {
	s := screenOf(l.text())
	s.table(tableOf(doseColumns, l.Table))
	return s
}

// text is the class, the dose and what is assumed.
func (l *SettingLight) text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s (read as %s): light sensitivity %s\n", l.Stone, l.ReadAs, l.Class)
	fmt.Fprintf(&b, "  change in strong light: %s\n", l.Order)
	if l.Fade != "" {
		fmt.Fprintf(&b, "  %s\n", Wrap(l.Fade, 98, "    "))
	}
	fmt.Fprintf(&b, "  dose as it lies now: %s lux-hours a year\n", dose(l.LuxHoursPerYear))
	switch {
	case l.LimitLuxHours == nil:
		b.WriteString("  no dose limit was given: hours and years left are not known\n")
	case l.HoursLeft != nil:
		fmt.Fprintf(&b, "  limit given: %s lux-hours; left: about %s hours of this light, %s years\n",
			dose(*l.LimitLuxHours), dose(*l.HoursLeft), dose(*l.Years))
	default:
		fmt.Fprintf(&b, "  limit given: %s lux-hours; in the dark it is never reached\n", dose(*l.LimitLuxHours))
	}
	for _, w := range l.If {
		fmt.Fprintf(&b, "  %s\n", Wrap(w, 98, "      "))
	}
	for _, w := range l.Assumed {
		fmt.Fprintf(&b, "  assumed: %s\n", Wrap(w, 90, "      "))
	}
	return b.String()
}

// dose prints a light, its hours or its dose with two significant digits: none
// is known better.
func dose(v float64) string {
	if v == 0 {
		return "0"
	}
	unit := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-1)
	if unit >= 1 {
		return strconv.FormatFloat(math.Round(v/unit)*unit, 'f', 0, 64)
	}
	text := strconv.FormatFloat(v, 'f', int(-math.Log10(unit)+0.5), 64)
	return strings.TrimSuffix(strings.TrimRight(text, "0"), ".")
}

// Figure draws the dose over the years: the place as it is, what spares the
// stone by much, and wear by day and in the evening. What is dark has no line
// on a logarithmic scale; half the light lies too close to the whole.
func (l *SettingLight) Figure() chart.Figure {
	c := chart.Dose{Title: "Light on " + l.Stone}
	for _, d := range l.Table {
		name, now := strings.CutPrefix(d.Place, "as it lies now: ")
		switch {
		case d.LuxHoursPerYear == 0:
			continue
		case now:
			name = "now: " + name
		case strings.HasPrefix(name, "in the case"), strings.HasPrefix(name, "in the hand"):
			name, _, _ = strings.Cut(name, ",")
			name, _, _ = strings.Cut(name, " (")
		case name != "daily wear" && name != "evening wear":
			continue
		}
		c.Ways = append(c.Ways, chart.DoseWay{Name: name, Rate: d.LuxHoursPerYear / 1e6})
	}
	limit := func(name string, luxHours *float64) {
		if luxHours != nil {
			c.Limits = append(c.Limits, chart.DoseLimit{Name: name, Dose: *luxHours / 1e6})
		}
	}
	if l.LimitLuxHours != nil {
		limit("limit given", l.LimitLuxHours)
		return c
	}
	limit("the most sensitive of the class fade", l.FadeLow)
	limit("the least sensitive of the class fade", l.FadeHigh)
	return c
}
