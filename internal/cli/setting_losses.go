package cli

import (
	"context"
	"fmt"
	"strconv"

	"github.com/spf13/cobra"

	"lotpaper/internal/fitting"
	"lotpaper/internal/house"
	"lotpaper/internal/ui"
)

func (r *root) settingLosses() *cobra.Command {
	return verb("losses", "Show the believed chances of loss: what is estimate and what is the book's own record",
		`The record grows with setter back --for LINE/DESIGN/POSITION, and with sales of
pieces and what comes back damaged. The estimates are settings of the book:
  lotpaper config set loss_setting_care=1.5:80
`, cobra.NoArgs, r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			found, err := a.Fitting.Losses(ctx, fitting.Losses{})
			if err != nil {
				return err
			}
			if r.Streams.JSON {
				return r.Streams.Document("setting-losses", found)
			}
			t := (&ui.Table{Header: []string{"loss", "level", "believed %", "90 % interval", "stones", "lost",
				"basis"}}).Numbers(2, 4, 5)
			for _, x := range found.Rates {
				t.Add(string(x.Kind), x.Level.String(), fmt.Sprintf("%.2f", 100*x.Mean), fmt.Sprintf("%.2f-%.2f",
					100*x.Low, 100*x.High), strconv.Itoa(x.Stones), strconv.Itoa(x.Lost), x.Words)
			}
			r.Streams.Table(t)
			return nil
		}))
}
