package cli

import (
	"context"
	"fmt"
	"strconv"

	"github.com/spf13/cobra"

	"lotpaper/internal/fault"
	"lotpaper/internal/fitting"
	"lotpaper/internal/house"
)

func (r *root) settingCommands() *cobra.Command {
	return r.group("setting", "Which stone may go into which setting: check, matrix, advise, light, box, losses",
		r.settingCheck, r.settingMatrix, r.settingAdvise, r.settingLight, r.settingBox, r.settingLosses)
}

// settingFlags are a stone and its situation on the command line.
type settingFlags struct {
	stone         fitting.Stone
	in            fitting.Situation
	length, width string
}

// ofSpecies adds the flags of a stone that is in no book.
func (s *settingFlags) ofSpecies(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&s.stone.Species, "species", "", "species, variety, group or trade name, in place of a lot")
	f.StringVar(&s.stone.Color, "color", "", "with --species: names the likely variety, a green beryl is an emerald")
	f.StringVar(&s.stone.Treatment, "treatment", "", "with --species: as stated; none for untreated; empty: not stated")
}

// ofSituation adds the flags of a stone and its situation.
func (s *settingFlags) ofSituation(c *cobra.Command) {
	s.ofSpecies(c)
	f := c.Flags()
	f.StringVar(&s.stone.Shape, "shape", "", "with --species: round, oval, pear, marquise ...")
	f.StringVar(&s.length, "length", "", "with --species: mm")
	f.StringVar(&s.width, "width", "", "with --species: mm")
	f.StringVar(&s.in.Setting, "setting", "", "prong, bezel, channel, flush, tension ...")
	f.StringVar(&s.in.Piece, "piece", "", "ring, pendant, earrings, bracelet ...")
	f.StringVar(&s.in.Wear, "wear", "daily", "daily, occasional or evening")
	f.StringSliceVar(&s.in.Bench, "bench", nil, "bench steps with the stone in place: torch, ultrasonic, steam, "+
		"pickle, plating, resize")
	f.StringVar(&s.stone.Inclusions, "inclusions", "", "none, inner, open, liquid; with ; between")
	f.StringVar(&s.stone.Girdle, "girdle", "", "thin, medium or thick")
	f.StringSliceVar(&s.stone.Neighbours, "neighbour", nil, "stones beside it in the same piece")
	s.ofLight(c)
}

// ofLight adds the flags of a display. A lux of 0 that is written is a closed
// box; none at all is a lit showcase.
func (s *settingFlags) ofLight(c *cobra.Command) {
	f, to := c.Flags(), &s.in.Display
	f.Func("lux", "light where it is shown, lux; 0: kept in a closed box; empty: a lit showcase is assumed",
		func(v string) error {
			lux, err := strconv.ParseFloat(v, 64)
			if err != nil {
				return fmt.Errorf("%q is not a number", v)
			}
			to.Lux, to.Dark = lux, lux == 0
			return nil
		})
	f.Float64Var(&to.HoursPerDay, "hours-per-day", 0, "hours a day in that light")
	f.Float64Var(&to.DaysPerYear, "days-per-year", 0, "days a year in that light")
	f.StringVar(&to.Lamp, "lamp", "", "led, halogen, fluorescent, window ...")
}

// request is the stone that the flags and the argument name.
func (s *settingFlags) request(args []string) (stone fitting.Stone, err error) {
	stone = s.stone
	if len(args) > 0 {
		stone.Lot = args[0]
	}
	switch {
	case stone.Lot != "" && stone.Species != "":
		return stone, fault.New(fault.Usage, "setting-stone", "a lot and --species were given",
			"ask about one of them").AtField("species")
	case stone.Lot == "" && stone.Species == "":
		return stone, fault.New(fault.Usage, "setting-stone", "no stone was named", "name a lot, or give --species")
	}
	for _, x := range [][2]string{{"color", stone.Color}, {"treatment", stone.Treatment}, {"shape", stone.Shape},
		{"length", s.length}, {"width", s.width}} {
		if stone.Lot != "" && x[1] != "" {
			return stone, fault.New(fault.Usage, "setting-stone", "a lot and its "+x[0]+" were given, which is the "+
				"book's",
				"leave it out, or ask about a stone with --species").AtField(x[0])
		}
	}
	if stone.Length, err = flagMillimetre("length", s.length); err != nil {
		return stone, err
	}
	stone.Width, err = flagMillimetre("width", s.width)
	return stone, err
}

// fitting runs f with the fitting: without a book when only names are asked
// about.
func (r *root) fitting(ctx context.Context, named bool, f func(*fitting.Room) error) error {
	if named {
		return f(fitting.NoBook())
	}
	return r.with(ctx, func(a *house.House) error { return f(a.Fitting) })
}

func (r *root) settingCheck() *cobra.Command {
	var s settingFlags
	var file, encoding string
	var explain bool
	var out output
	c := verb("check [LOT]", "Judge a stone in a setting, piece and wear",
		`  lotpaper setting check P1-3 --setting prong --piece ring --wear daily
  lotpaper setting check --species topaz --setting bezel --piece bracelet --bench ultrasonic,steam
  lotpaper setting check --file pairs.csv

Three verdicts: setting (wear and the setter's work, which nobody can avoid),
bench (the work order) and display (light, lamp heat, dryness; judged when light
is stated). --explain shows every rule, number and source. Local rules and an experienced setter come
first.
`, cobra.MaximumNArgs(1), func(ctx context.Context, args []string) (err error) {
			req := fitting.Check{Situation: s.in}
			if file != "" {
				in, err := r.input(file, encoding)
				if err != nil {
					return err
				}
				defer in.Close()
				req.Pairs = &in.Input
			} else if req.Stone, err = s.request(args); err != nil {
				return err
			}
			return r.fitting(ctx, req.Lot == "", func(room *fitting.Room) error {
				found, err := room.Check(ctx, req)
				if err != nil {
					return err
				}
				found.Explain = explain
				r.faults(found.Warnings)
				return r.list("setting-check", &found, out)
			})
		})
	s.ofSituation(c)
	c.Flags().BoolVar(&explain, "explain", false, "every finding with its rule, numbers and source, and all assumed")
	c.Flags().StringVar(&file, "file", "", "CSV or XLSX with many pairs")
	c.Flags().StringVar(&encoding, "encoding", "", "encoding of a CSV that is not UTF-8: windows-1252")
	out.ofList(c)
	return c
}
