package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/house"
	"lotpaper/internal/stockroom"
)

func (r *root) lotMatch() *cobra.Command {
	var tolerance, weight string
	c := verb("match LOT", "Find stones for a pair with this one",
		`  lotpaper lot match P1-3.2
  lotpaper lot match P1-3.2 --tolerance 0.05 --weight 0.03

Of the stones in stock that are claimed to be the same material, nature and
treatment and have the same shape, the nearest in measures, weight, colour, clarity
and cut come first; what differs is named. Colours are compared by eye.
`, cobra.ExactArgs(1), r.reading(func(ctx context.Context, a *house.House, args []string) error {
			req := stockroom.LotMatch{Lot: args[0]}
			var err error
			if req.Tolerance, err = flagMillimetre("tolerance", tolerance); err != nil {
				return err
			}
			if req.Weight, err = flagCarat("weight", weight); err != nil {
				return err
			}
			match, err := a.Stockroom.LotMatch(ctx, req)
			if err != nil {
				return err
			}
			return r.show("lot-match", &match)
		}))
	c.Flags().StringVar(&tolerance, "tolerance", "", "mm that a mate may be apart in each measure (default 0.10)")
	c.Flags().StringVar(&weight, "weight", "", "carats that it may be apart (default a twentieth of the stone, at "+
		"least "+
		"0.02)")
	return c
}
