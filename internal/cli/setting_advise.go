package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/fitting"
)

func (r *root) settingAdvise() *cobra.Command {
	var s settingFlags
	c := verb("advise [LOT]", "Say where a stone may go, best first, and what would lift an avoid",
		`  lotpaper setting advise P1-3 --setting prong --piece ring
  lotpaper setting advise --species kunzite --bench torch --lux 1500
`, cobra.MaximumNArgs(1), func(ctx context.Context, args []string) error {
			stone, err := s.request(args)
			if err != nil {
				return err
			}
			return r.fitting(ctx, stone.Lot == "", func(room *fitting.Room) error {
				found, err := room.Advise(ctx, fitting.Advise{Stone: stone, Situation: s.in})
				if err != nil {
					return err
				}
				return r.show("setting-advise", &found)
			})
		})
	s.ofSituation(c)
	for flag, value := range map[string]string{"setting": "prong", "piece": "ring"} {
		_ = c.Flags().Set(flag, value)
		c.Flags().Lookup(flag).DefValue, c.Flags().Lookup(flag).Changed = value, false
	}
	return c
}
