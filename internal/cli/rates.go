package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/desk"
	"lotpaper/internal/house"
)

func (r *root) ratesCommands() *cobra.Command {
	return r.group("rates", "Dated rates of exchange, metal, labour and fees", r.ratesImport, r.ratesShow)
}

func (r *root) ratesImport() *cobra.Command {
	return r.importCommand("rates", "Read dated rates from a file", "  lotpaper rates import rates.csv\n\nSee "+
		"lotpaper template rates for the kinds and columns.\n", func(ctx context.Context, a *house.House, w desk.Write,
		in desk.Input) (answer.Imported, error) {
		return a.Desk.RatesImport(ctx, desk.RatesImport{Write: w, File: in})
	})
}

func (r *root) ratesShow() *cobra.Command {
	var kind, on string
	var out output
	c := verb("show", "Show the rates, all of them or those valid on a date", "", cobra.NoArgs,
		r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			day, err := flagDate("on", on)
			if err != nil {
				return err
			}
			show, err := a.Desk.RatesShow(ctx, desk.RatesShow{Kind: kind, On: day})
			if err != nil {
				return err
			}
			return r.list("rates-show", &show, out)
		}))
	c.Flags().StringVar(&kind, "kind", "", "only this kind")
	c.Flags().StringVar(&on, "on", "", "only those valid on this date")
	out.ofList(c)
	return c
}
