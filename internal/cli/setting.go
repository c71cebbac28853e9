package cli

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/app"
	"lotpaper/internal/fault"
	"lotpaper/internal/ui"
)

func (r *root) settingCommands() *cobra.Command {
	return group("setting", "Which stone may go into which setting: check, matrix, advise, losses", r.settingCheck(), r.settingMatrix(), r.settingAdvise(), r.settingLosses())
}

func situationFlags(c *cobra.Command, s *app.SettingCheck) {
	f := c.Flags()
	f.StringVar(&s.Setting, "setting", "", "prong, bezel, channel, flush, tension ...")
	f.StringVar(&s.Piece, "piece", "", "ring, pendant, earrings, bracelet ...")
	f.StringVar(&s.Wear, "wear", "daily", "daily, occasional or evening")
	f.Float64Var(&s.Display.Lux, "lux", 0, "light where it is shown, lux")
	f.Float64Var(&s.Display.HoursPerDay, "hours-per-day", 0, "hours a day in that light")
	f.Float64Var(&s.Display.DaysPerYear, "days-per-year", 0, "days a year in that light")
	f.StringVar(&s.Display.Lamp, "lamp", "", "kind of lamp")
	f.StringSliceVar(&s.Bench, "bench", nil, "bench steps with the stone in place: torch, ultrasonic, steam, pickle, plating, resize")
	f.StringVar(&s.Inclusion, "inclusions", "", "none, inner, open, liquid; with ; between")
	f.StringSliceVar(&s.Neighbour, "neighbour", nil, "stones beside it in the same piece")
}

func (r *root) settingCheck() *cobra.Command {
	var s app.SettingCheck
	var file, encoding string
	c := verb("check [LOT]", "Judge a stone in a setting, piece and wear", `  lotpaper setting check P1-3 --setting prong --piece ring --wear daily
  lotpaper setting check --species topaz --setting bezel --piece bracelet --bench ultrasonic,steam
  lotpaper setting check --file pairs.csv

Three verdicts: setting (what nobody can avoid), bench (the work order) and
display (light, lamp heat, dryness). Local rules and an experienced setter come
first.
`, cobra.MaximumNArgs(1), func(ctx context.Context, args []string) error {
		switch {
		case file != "":
			in, err := r.input(file, encoding)
			if err != nil {
				return err
			}
			defer in.Close()
			pairs, warnings, err := app.CheckSettingFile(in.Input)
			if err != nil {
				return err
			}
			r.faults(warnings)
			return r.showPairs(pairs)
		case len(args) == 1:
			s.Lot = args[0]
			return r.with(ctx, func(a *app.App) error {
				p, err := a.CheckLotSetting(ctx, s)
				if err != nil {
					return err
				}
				return r.showPairs([]app.PairReport{p})
			})
		case s.Species == "":
			return fault.New(fault.Usage, "setting-stone", "no stone was named", "name a lot, or give --species or --file")
		}
		p, err := app.CheckSetting(s)
		if err != nil {
			return err
		}
		return r.showPairs([]app.PairReport{p})
	})
	situationFlags(c, &s)
	f := c.Flags()
	f.StringVar(&s.Species, "species", "", "species, variety, group or trade name")
	f.StringVar(&s.Treatment, "treatment", "", "as stated; none for untreated; empty: not stated")
	f.StringVar(&s.Shape, "shape", "", "round, oval, pear, marquise ...")
	f.Float64Var(&s.Length, "length", 0, "mm")
	f.Float64Var(&s.Width, "width", 0, "mm")
	f.StringVar(&file, "file", "", "CSV or XLSX with many pairs")
	f.StringVar(&encoding, "encoding", "", "encoding of a CSV that is not UTF-8: windows-1252")
	return c
}

func (r *root) showPairs(pairs []app.PairReport) error {
	if r.Streams.JSON {
		return r.Streams.Document("setting-check", struct {
			Pairs []app.PairReport `json:"pairs"`
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
		r.Streams.Printf("%s: %s (setting %s, bench %s, display %s)\n", p.Pair, p.Verdict, p.Setting, p.Bench, p.Display)
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
		for _, w := range p.Assumed {
			r.Streams.Printf("  assumed: %s\n", ui.Wrap(w, 90, "      "))
		}
	}
	return nil
}

func (r *root) settingMatrix() *cobra.Command {
	var filter app.StockFilter
	var piece, wear string
	var out output
	c := verb("matrix", "Judge every lot in every setting", `  lotpaper setting matrix --piece ring --wear daily
  lotpaper setting matrix --piece pendant -o matrix.xlsx
`, cobra.NoArgs, func(ctx context.Context, _ []string) error {
		return r.with(ctx, func(a *app.App) error {
			m, err := a.SettingMatrix(ctx, filter, piece, wear)
			if err != nil {
				return err
			}
			if out.path != "" {
				return r.writeMatrix(ctx, a, m, filter, out)
			}
			if r.Streams.JSON {
				return r.Streams.Document("setting-matrix", m)
			}
			t := &ui.Table{Header: append([]string{"lot", "stone", "checked"}, m.Settings...)}
			for _, row := range m.Rows {
				cells := []string{row.Lot, row.Name, row.Checked}
				for _, cell := range row.Cells {
					cells = append(cells, cell.Verdict)
				}
				t.Add(cells...)
			}
			r.Streams.Table(t)
			return nil
		})
	})
	c.Flags().StringVar(&piece, "piece", "ring", "ring, pendant, earrings, bracelet ...")
	c.Flags().StringVar(&wear, "wear", "daily", "daily, occasional or evening")
	stockFilter(c, &filter)
	out.flags(c, "")
	return c
}

func (r *root) settingAdvise() *cobra.Command {
	var s app.SettingCheck
	c := verb("advise LOT", "Say where a lot may go, best first, and what would lift an avoid", `  lotpaper setting advise P1-3 --setting prong --piece ring
`, cobra.ExactArgs(1), func(ctx context.Context, args []string) error {
		return r.with(ctx, func(a *app.App) error {
			s.Lot = args[0]
			advice, err := a.SettingAdvise(ctx, s)
			if err != nil {
				return err
			}
			if r.Streams.JSON {
				return r.Streams.Document("setting-advise", advice)
			}
			r.Streams.Printf("%s as asked (%s, %s, %s): %s\n", s.Lot, s.Setting, s.Piece, s.Wear, advice.Asked.Setting)
			for _, l := range advice.Lifts {
				r.Streams.Printf("  %s: %s brings it to %s\n", l.Part, ui.Wrap(l.Change, 80, "      "), l.To)
			}
			for _, p := range advice.Stuck {
				r.Streams.Printf("  %s: nothing tried here lifts it\n", p)
			}
			t := &ui.Table{Header: []string{"verdict", "setting", "piece", "wear"}}
			for i, o := range advice.Fits {
				if i == 30 {
					r.Streams.Notef("... and %d more; see all with --json\n", len(advice.Fits)-i)
					break
				}
				t.Add(o.Level.String(), o.Setting, o.Piece, o.Wear)
			}
			if len(advice.Fits) == 0 {
				r.Streams.Printf("  no setting, piece and wear comes out at care or better\n")
				return nil
			}
			r.Streams.Table(t)
			return nil
		})
	})
	situationFlags(c, &s)
	_ = c.Flags().Set("setting", "prong")
	_ = c.Flags().Set("piece", "ring")
	return c
}

func (r *root) settingLosses() *cobra.Command {
	return verb("losses", "Show the believed chances of loss: what is estimate and what is the book's own record", `The record grows with setter back --for LINE/DESIGN/POSITION, and with sales of
pieces and what comes back damaged.
`, cobra.NoArgs, func(ctx context.Context, _ []string) error {
		return r.with(ctx, func(a *app.App) error {
			rates, err := a.LossRates(ctx)
			if err != nil {
				return err
			}
			if r.Streams.JSON {
				return r.Streams.Document("setting-losses", struct {
					Rates []app.LossRate `json:"rates"`
				}{rates})
			}
			t := (&ui.Table{Header: []string{"loss", "level", "believed %", "90 % interval", "stones", "lost", "basis"}}).Numbers(2, 4, 5)
			for _, x := range rates {
				t.Add(string(x.Kind), x.Level.String(), fmt.Sprintf("%.2f", 100*x.Mean), fmt.Sprintf("%.2f-%.2f", 100*x.Low, 100*x.High), strconv.Itoa(x.Stones), strconv.Itoa(x.Lost), x.Words)
			}
			r.Streams.Table(t)
			return nil
		})
	})
}
