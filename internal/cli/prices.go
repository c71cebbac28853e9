package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/desk"
	"lotpaper/internal/house"
)

func (r *root) pricesCommands() *cobra.Command {
	return r.group("prices", "The dealer's price list", r.pricesImport, r.pricesShow)
}

func (r *root) pricesImport() *cobra.Command {
	return r.importCommand("prices", "Read a price list from a file", "  lotpaper prices import prices.csv\n\nSee "+
		"lotpaper template prices for the columns.\n", func(ctx context.Context, a *house.House, w desk.Write,
		in desk.Input) (answer.Imported, error) {
		return a.Desk.PricesImport(ctx, desk.PricesImport{Write: w, File: in})
	})
}

func (r *root) pricesShow() *cobra.Command {
	var on string
	var out output
	c := verb("show", "Show the price list", "", cobra.NoArgs, r.reading(func(ctx context.Context, a *house.House,
		_ []string) error {
		day, err := flagDate("on", on)
		if err != nil {
			return err
		}
		show, err := a.Desk.PricesShow(ctx, desk.PricesShow{On: day})
		if err != nil {
			return err
		}
		return r.list("prices-show", &show, out)
	}))
	c.Flags().StringVar(&on, "on", "", "only those valid on this date")
	out.ofList(c)
	return c
}
