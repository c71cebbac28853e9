package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/fitting"
)

func (r *root) settingLight() *cobra.Command {
	var s settingFlags
	var picture string
	var force bool
	c := verb("light [LOT]", "Say what light does to a stone, and what would spare it",
		`  lotpaper setting light P1-3 --lux 1500 --hours-per-day 10
  lotpaper setting light --species kunzite --lux 1500 --hours-per-day 10 --limit-mlxh 0.3 --chart dose.svg

Classes and orders of magnitude are estimates for a class of colours. Years and
hours left are computed only from a dose limit that is given: a fade test or a
source of your own.
`, cobra.MaximumNArgs(1), func(ctx context.Context, args []string) error {
			stone, err := s.request(args)
			if err != nil {
				return err
			}
			return r.fitting(ctx, stone.Lot == "", func(room *fitting.Room) error {
				found, err := room.Light(ctx, fitting.Light{Stone: stone, Display: s.in.Display})
				if err != nil {
					return err
				}
				if picture != "" {
					if err := r.writeFigure(found.Figure(), picture, force); err != nil {
						return err
					}
				}
				return r.show("setting-light", &found)
			})
		})
	s.ofSpecies(c)
	s.ofLight(c)
	c.Flags().Float64Var(&s.in.Display.LimitMlxh, "limit-mlxh", 0, "dose limit that a source or your own test gives, "+
		"million lux-hours")
	c.Flags().StringVar(&picture, "chart", "", "draw the dose over the years into this .svg or .png file")
	c.Flags().BoolVar(&force, "force", false, "overwrite the picture")
	return c
}
