package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/fitting"
	"lotpaper/internal/house"
)

func (r *root) settingLosses() *cobra.Command {
	var out output
	c := verb("losses", "Show the believed chances of loss: what is estimate and what is the book's own record",
		`The record grows with work back --for LINE/DESIGN/POSITION, and with sales of
pieces and what comes back damaged. The estimates are settings of the book:
  lotpaper config set loss_setting_care=1.5:80
`, cobra.NoArgs, r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			found, err := a.Fitting.Losses(ctx, fitting.Losses{})
			if err != nil {
				return err
			}
			return r.list("setting-losses", &found, out)
		}))
	out.ofList(c)
	return c
}
