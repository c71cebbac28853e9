package cli

import (
	"context"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/chart"
	"lotpaper/internal/fault"
	"lotpaper/internal/fitting"
	"lotpaper/internal/house"
	"lotpaper/internal/ui"
)

func (r *root) settingLight() *cobra.Command {
	var s fitting.SettingCheck
	var picture string
	var force bool
	c := verb("light [LOT]", "Say what light does to a stone, and what would spare it",
		`  lotpaper setting light P1-3 --lux 1500 --hours-per-day 10
  lotpaper setting light --species kunzite --lux 1500 --hours-per-day 10 --limit-mlxh 0.3 --chart dose.svg

Classes and orders of magnitude are estimates for a class of colours. Years and
hours left are computed only from a dose limit that is given: a fade test or a
source of your own.
`, cobra.MaximumNArgs(1), func(ctx context.Context, args []string) error {
			var l fitting.LightAnswer
			err := r.stoneOf(ctx, args, &s,
				func(a *house.House) (err error) { l, err = a.Fitting.SettingLight(ctx, s); return err },
				func() (err error) { l, err = fitting.LightSetting(s); return err })
			if err != nil {
				return err
			}
			if picture != "" {
				if err := r.writeFigure(doseFigure(l), picture, force); err != nil {
					return err
				}
			}
			if r.Streams.JSON {
				return r.Streams.Document("setting-light", l)
			}
			r.showLight(l)
			return nil
		})
	speciesFlags(c, &s)
	lightFlags(c, &s)
	c.Flags().Float64Var(&s.Display.LimitMlxh, "limit-mlxh", 0, "dose limit that a source or your own test gives, "+
		"million lux-hours")
	c.Flags().StringVar(&picture, "chart", "", "draw the dose over the years into this .svg or .png file")
	c.Flags().BoolVar(&force, "force", false, "overwrite the picture")
	return c
}

func (r *root) showLight(l fitting.LightAnswer) {
	r.Streams.Printf("%s (read as %s): light sensitivity %s\n", l.Stone, l.ReadAs, l.Class)
	r.Streams.Printf("  change in strong light: %s\n", l.Order)
	if l.Fade != "" {
		r.Streams.Printf("  %s\n", ui.Wrap(l.Fade, 98, "    "))
	}
	r.Streams.Printf("  dose as it lies now: %s lux-hours a year\n", round2(l.LuxHoursPerYear))
	switch {
	case l.LimitLuxHours == nil:
		r.Streams.Printf("  no dose limit was given: hours and years left are not known (--limit-mlxh)\n")
	case l.HoursLeft != nil:
		r.Streams.Printf("  limit given: %s lux-hours; left: about %s hours of this light, %s years\n",
			round2(*l.LimitLuxHours), round2(*l.HoursLeft), round2(*l.Years))
	default:
		r.Streams.Printf("  limit given: %s lux-hours; in the dark it is never reached\n", round2(*l.LimitLuxHours))
	}
	for _, w := range l.If {
		r.Streams.Printf("  %s\n", ui.Wrap(w, 98, "      "))
	}
	for _, w := range l.Assumed {
		r.Streams.Printf("  assumed: %s\n", ui.Wrap(w, 90, "      "))
	}
	t := (&ui.Table{Header: []string{"place or way of wear", "lux", "hours/year", "lux-hours/year",
		"years to the limit", "lasts"}}).Numbers(1, 2, 3, 4)
	for _, d := range l.Table {
		years := ""
		if d.Years != nil {
			years = round2(*d.Years)
		}
		t.Add(d.Place, round2(d.Lux), round2(d.HoursPerYear), round2(d.LuxHoursPerYear), years, d.Saves)
	}
	r.Streams.Table(t)
}

// round2 prints two significant digits: no dose is known better.
func round2(v float64) string {
	if v == 0 {
		return "0"
	}
	unit := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-1)
	if unit >= 1 {
		return strconv.FormatFloat(math.Round(v/unit)*unit, 'f', 0, 64)
	}
	return strings.TrimSuffix(strings.TrimRight(strconv.FormatFloat(v, 'f', int(-math.Log10(unit)+0.5), 64), "0"), ".")
}

// doseFigure is the picture of a light report: the place as it is, what spares
// the stone by much, and wear by day and in the evening. What is dark has no
// line on a logarithmic scale; half the light lies too close to the whole.
func doseFigure(l fitting.LightAnswer) chart.Figure {
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

func (r *root) settingBox() *cobra.Command {
	var species []string
	c := verb("box [LOT ...]", "Say which stones must not lie loose in one box", `  lotpaper setting box P1-1 P1-3 P2-1
  lotpaper setting box --species diamond,sapphire,opal
`, cobra.ArbitraryArgs, func(ctx context.Context, args []string) error {
		var box fitting.BoxAnswer
		var err error
		switch {
		case len(args) > 0 && len(species) > 0:
			return fault.New(fault.Usage, "setting-stone", "lots and --species were given", "ask about one of them").
				AtField("species")
		case len(species) > 0:
			box, err = fitting.BoxSetting(species)
		case len(args) == 0:
			return fault.New(fault.Usage, "setting-stone", "no stone was named", "name lots, or give --species")
		default:
			err = r.with(ctx, func(a *house.House) (err error) {
				box, err = a.Fitting.SettingBox(ctx,
					args)
				return err
			})
		}
		if err != nil {
			return err
		}
		if r.Streams.JSON {
			return r.Streams.Document("setting-box", box)
		}
		for _, c := range box.Clashes {
			r.Streams.Printf("%s\n", c.Words)
		}
		if len(box.Clashes) == 0 {
			r.Streams.Printf("none of the %d is scratched by another; knocks against each other still chip edges\n",
				len(box.Stones))
		}
		return nil
	})
	c.Flags().StringSliceVar(&species, "species", nil, "species, varieties or groups, in place of lots")
	return c
}
