package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/fault"
	"lotpaper/internal/fitting"
	"lotpaper/internal/house"
)

func (r *root) settingMatrix() *cobra.Command {
	var of fitting.Matrix
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
				found, err := a.Fitting.Matrix(ctx, of)
				if err != nil {
					return err
				}
				return r.list("setting-matrix", &found, out)
			})
		})
	c.Flags().StringVar(&of.Line, "line", "", "the stones of this line's positions, in place of lots")
	c.Flags().StringVar(&of.Piece, "piece", "ring", "of lots: ring, pendant, earrings, bracelet ...")
	c.Flags().StringVar(&of.Wear, "wear", "daily", "of lots: daily, occasional or evening")
	stockFilter(c, &of.Filter)
	out.ofList(c)
	return c
}
