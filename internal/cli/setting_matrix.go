package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/durability"
	"lotpaper/internal/fault"
	"lotpaper/internal/fitting"
	"lotpaper/internal/house"
	"lotpaper/internal/ui"
)

func (r *root) settingMatrix() *cobra.Command {
	var of fitting.MatrixOf
	var out output
	var c *cobra.Command
	c = verb("matrix [LOT ...]", "Judge lots, or the stones of a line, in every setting",
		`  lotpaper setting matrix --piece ring --wear daily
  lotpaper setting matrix P1-3 P1-4 --piece pendant -o matrix.xlsx
  lotpaper setting matrix --line SPRING

The stones of a line are judged each in the piece and for the wear of its design.
`, cobra.ArbitraryArgs, func(ctx context.Context, args []string) error {
			of.Lots = args
			for _, other := range []string{"piece", "wear", "parcel", "species", "shape", "place", "owner", "all"} {
				if of.Line != "" && (len(args) > 0 || c.Flags().Changed(other)) {
					return fault.New(fault.Usage, "setting-line", "the stones of a line are judged in its own pieces "+
						"and wear: lots, --piece, --wear and filters do not go with --line",
						"leave out the one or the other").AtField("line")
				}
			}
			return r.with(ctx, func(a *house.House) error {
				m, err := a.Fitting.SettingMatrix(ctx, of)
				if err != nil {
					return err
				}
				if out.path != "" {
					return r.writeMatrix(ctx, a, m, of, out)
				}
				if r.Streams.JSON {
					return r.Streams.Document("setting-matrix", m)
				}
				t := &ui.Table{Header: append([]string{"lot", "stone", "checked"}, m.Settings...)}
				if m.Line != "" {
					t.Header = append([]string{"position", "stone", "piece", "wear", "planned", "checked"},
						m.Settings...)
				}
				for _, row := range m.Rows {
					cells := []string{row.Lot, row.Name, row.Checked}
					if m.Line != "" {
						cells = []string{row.Lot, row.Name, row.Piece, row.Wear, row.Planned, row.Checked}
					}
					for _, cell := range row.Cells {
						cells = append(cells, cell.Verdict)
					}
					t.Add(cells...)
				}
				r.Streams.Table(t)
				return nil
			})
		})
	c.Flags().StringVar(&of.Line, "line", "", "the stones of this line's positions, in place of lots")
	c.Flags().StringVar(&of.Piece, "piece", "ring", "of lots: ring, pendant, earrings, bracelet ...")
	c.Flags().StringVar(&of.Wear, "wear", "daily", "of lots: daily, occasional or evening")
	stockFilter(c, &of.Filter)
	out.flags(c, "")
	return c
}

func (r *root) settingAdvise() *cobra.Command {
	var s fitting.SettingCheck
	c := verb("advise [LOT]", "Say where a stone may go, best first, and what would lift an avoid",
		`  lotpaper setting advise P1-3 --setting prong --piece ring
  lotpaper setting advise --species kunzite --bench torch --lux 1500
`, cobra.MaximumNArgs(1), func(ctx context.Context, args []string) error {
			var advice durability.Advice
			err := r.stoneOf(ctx, args, &s,
				func(a *house.House) (err error) { advice, err = a.Fitting.SettingAdvise(ctx, s); return err },
				func() (err error) { advice, err = fitting.AdviseSetting(s); return err })
			if err != nil {
				return err
			}
			if r.Streams.JSON {
				return r.Streams.Document("setting-advise", advice)
			}
			r.showAdvice(s, advice)
			return nil
		})
	situationFlags(c, &s)
	for flag, value := range map[string]string{"setting": "prong", "piece": "ring"} {
		_ = c.Flags().Set(flag, value)
		c.Flags().Lookup(flag).DefValue, c.Flags().Lookup(flag).Changed = value, false
	}
	return c
}

func (r *root) showAdvice(s fitting.SettingCheck, advice durability.Advice) {
	asked := advice.Asked
	r.Streams.Printf("%s as asked (%s, %s, %s): %s (bench %s, display %s)\n", s.Lot+s.Species, s.Setting, s.Piece,
		s.Wear, asked.Setting, asked.Bench, asked.Display)
	for _, l := range advice.Lifts {
		r.Streams.Printf("  %s: %s brings it from avoid to %s\n", l.Part, ui.Wrap(l.Change, 80, "      "), l.To)
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
		return
	}
	r.Streams.Table(t)
}
