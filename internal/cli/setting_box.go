package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/fault"
	"lotpaper/internal/fitting"
)

func (r *root) settingBox() *cobra.Command {
	var req fitting.Box
	c := verb("box [LOT ...]", "Say which stones must not lie loose in one box", `  lotpaper setting box P1-1 P1-3 P2-1
  lotpaper setting box --species diamond,sapphire,opal
`, cobra.ArbitraryArgs, func(ctx context.Context, args []string) error {
		req.Lots = args
		if len(args) == 0 && len(req.Species) == 0 {
			return fault.New(fault.Usage, "setting-stone", "no stone was named", "name lots, or give --species")
		}
		return r.fitting(ctx, len(args) == 0, func(room *fitting.Room) error {
			found, err := room.Box(ctx, req)
			if err != nil {
				return err
			}
			return r.show("setting-box", &found)
		})
	})
	c.Flags().StringSliceVar(&req.Species, "species", nil, "species, varieties or groups, in place of lots")
	return c
}
