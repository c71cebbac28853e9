package cli

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/durability"
	"lotpaper/internal/fault"
	"lotpaper/internal/fitting"
	"lotpaper/internal/house"
	"lotpaper/internal/ui"
)

func (r *root) settingCommands() *cobra.Command {
	return r.group("setting", "Which stone may go into which setting: check, matrix, advise, light, box, losses",
		r.settingCheck, r.settingMatrix, r.settingAdvise, r.settingLight, r.settingBox, r.settingLosses)
}

// speciesFlags add the flags of a stone that is in no book.
func speciesFlags(c *cobra.Command, s *fitting.SettingCheck) {
	f := c.Flags()
	f.StringVar(&s.Species, "species", "", "species, variety, group or trade name, in place of a lot")
	f.StringVar(&s.Treatment, "treatment", "", "with --species: as stated; none for untreated; empty: not stated")
}

// situationFlags add the flags of a situation.
func situationFlags(c *cobra.Command, s *fitting.SettingCheck) {
	speciesFlags(c, s)
	f := c.Flags()
	f.StringVar(&s.Shape, "shape", "", "with --species: round, oval, pear, marquise ...")
	f.Float64Var(&s.Length, "length", 0, "with --species: mm")
	f.Float64Var(&s.Width, "width", 0, "with --species: mm")
	f.StringVar(&s.Setting, "setting", "", "prong, bezel, channel, flush, tension ...")
	f.StringVar(&s.Piece, "piece", "", "ring, pendant, earrings, bracelet ...")
	f.StringVar(&s.Wear, "wear", "daily", "daily, occasional or evening")
	f.StringSliceVar(&s.Bench, "bench", nil, "bench steps with the stone in place: torch, ultrasonic, steam, pickle, "+
		"plating, resize")
	f.StringVar(&s.Inclusion, "inclusions", "", "none, inner, open, liquid; with ; between")
	f.StringVar(&s.Girdle, "girdle", "", "thin, medium or thick")
	f.StringSliceVar(&s.Neighbour, "neighbour", nil, "stones beside it in the same piece")
	lightFlags(c, s)
}

// lightFlags add the flags of a display. A lux of 0 that is written is a
// closed box; none at all is a lit showcase.
func lightFlags(c *cobra.Command, s *fitting.SettingCheck) {
	f := c.Flags()
	f.Func("lux", "light where it is shown, lux; 0: kept in a closed box; empty: a lit showcase is assumed",
		func(v string) error {
			lux, err := strconv.ParseFloat(v, 64)
			if err != nil {
				return fmt.Errorf("%q is not a number", v)
			}
			s.Display.Lux, s.Display.Dark = lux, lux == 0
			return nil
		})
	f.Float64Var(&s.Display.HoursPerDay, "hours-per-day", 0, "hours a day in that light")
	f.Float64Var(&s.Display.DaysPerYear, "days-per-year", 0, "days a year in that light")
	f.StringVar(&s.Display.Lamp, "lamp", "", "led, halogen, fluorescent, window ...")
}

// stoneOf is a lot of the book or a named stone: one of them is given.
func (r *root) stoneOf(ctx context.Context, args []string, s *fitting.SettingCheck, lot func(*house.House) error,
	named func() error) error {
	switch {
	case len(args) == 1 && s.Species != "":
		return fault.New(fault.Usage, "setting-stone", "a lot and --species were given", "ask about one of them").
			AtField("species")
	case len(args) == 1:
		s.Lot = args[0]
		return r.with(ctx, lot)
	case s.Species == "":
		return fault.New(fault.Usage, "setting-stone", "no stone was named", "name a lot, or give --species")
	}
	return named()
}

func (r *root) settingCheck() *cobra.Command {
	var s fitting.SettingCheck
	var file, encoding string
	c := verb("check [LOT]", "Judge a stone in a setting, piece and wear",
		`  lotpaper setting check P1-3 --setting prong --piece ring --wear daily
  lotpaper setting check --species topaz --setting bezel --piece bracelet --bench ultrasonic,steam
  lotpaper setting check --file pairs.csv

Three verdicts: setting (what nobody can avoid), bench (the work order) and
display (light, lamp heat, dryness). Local rules and an experienced setter come
first.
`, cobra.MaximumNArgs(1), func(ctx context.Context, args []string) error {
			if file != "" {
				in, err := r.input(file, encoding)
				if err != nil {
					return err
				}
				defer in.Close()
				pairs, warnings, err := fitting.CheckSettingFile(in.Input)
				if err != nil {
					return err
				}
				r.faults(warnings)
				return r.showPairs(pairs)
			}
			var p fitting.PairReport
			err := r.stoneOf(ctx, args, &s,
				func(a *house.House) (err error) { p, err = a.Fitting.CheckLotSetting(ctx, s); return err },
				func() (err error) { p, err = fitting.CheckSetting(s); return err })
			if err != nil {
				return err
			}
			return r.showPairs([]fitting.PairReport{p})
		})
	situationFlags(c, &s)
	c.Flags().StringVar(&file, "file", "", "CSV or XLSX with many pairs")
	c.Flags().StringVar(&encoding, "encoding", "", "encoding of a CSV that is not UTF-8: windows-1252")
	return c
}

var lossWords = map[durability.LossKind]string{durability.LossSetting: "breaks while being set",
	durability.LossReturn: "comes back damaged in a year"}

func (r *root) showPairs(pairs []fitting.PairReport) error {
	if r.Streams.JSON {
		return r.Streams.Document("setting-check", struct {
			Pairs []fitting.PairReport `json:"pairs"`
		}{pairs})
	}
	if len(pairs) > 1 {
		t := &ui.Table{Header: []string{"pair", "setting", "bench", "display", "worst finding"}}
		for _, p := range pairs {
			why := ""
			if len(p.Findings) > 0 {
				why = p.Findings[0].Reason
			}
			t.Add(p.Pair, p.Setting.String(), p.Bench.String(), p.Display.String(), why)
		}
		r.Streams.Table(t)
		return nil
	}
	for _, p := range pairs {
		r.Streams.Printf("%s: %s (setting %s, bench %s, display %s)\n", p.Pair, p.Verdict, p.Setting,
			p.Bench, p.Display)
		if p.ReadAs != "" && p.ReadAs != p.Pair {
			r.Streams.Printf("  read as %s\n", p.ReadAs)
		}
		for _, f := range p.Findings {
			r.Streams.Printf("  %s %s: %s\n", f.Level, f.Part, ui.Wrap(f.Reason, 96, "      "))
			var numbers []string
			for _, n := range f.Numbers {
				numbers = append(numbers, n.Name+" "+n.Value+" ("+n.Limit+")")
			}
			if len(numbers) > 0 {
				r.Streams.Printf("      %s\n", ui.Wrap(strings.Join(numbers, ", "), 94, "      "))
			}
			if f.Mend != "" {
				r.Streams.Printf("      mend: %s\n", ui.Wrap(f.Mend, 90, "      "))
			}
			r.Streams.Printf("      rule %s, %s\n", f.Rule, ui.Wrap(f.Source, 88, "      "))
		}
		for _, w := range p.If {
			r.Streams.Printf("  %s\n", ui.Wrap(w, 98, "      "))
		}
		for i, w := range p.WorkOrder {
			r.Streams.Printf("  work %d: %s\n", i+1, ui.Wrap(w, 92, "      "))
		}
		for _, w := range p.Forbidden {
			r.Streams.Printf("  never: %s\n", ui.Wrap(w, 92, "      "))
		}
		for _, w := range p.Guarded {
			r.Streams.Printf("  with caution: %s\n", ui.Wrap(w, 86, "      "))
		}
		for _, d := range p.Disputed {
			r.Streams.Printf("  disputed, %s: %s\n", d.Hazard,
				ui.Wrap(fmt.Sprintf("taken: %s (%s); against it: %s (%s)", d.Taken, d.TakenSource, d.Other,
					d.OtherSource), 84, "      "))
		}
		if p.Spares != "" {
			r.Streams.Printf("  spare stones, usual for the setting: %s\n", ui.Wrap(p.Spares, 70, "      "))
		}
		for _, x := range p.Losses {
			r.Streams.Printf("  loss, %s: %.2f %% (90 %% interval %.2f to %.2f), %s\n", lossWords[x.Kind], 100*x.Mean,
				100*x.Low, 100*x.High, x.Words)
		}
		for _, w := range p.Assumed {
			r.Streams.Printf("  assumed: %s\n", ui.Wrap(w, 90, "      "))
		}
	}
	return nil
}
