package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/house"
	"lotpaper/internal/ui"
)

func (r *root) ratesCommands() *cobra.Command {
	return r.group("rates", "Dated rates of exchange, metal, labour and fees", r.ratesImport, r.ratesShow)
}

func (r *root) ratesImport() *cobra.Command {
	return r.importCommand("rates", "Read dated rates from a file", "  lotpaper rates import rates.csv\n\nSee "+
		"lotpaper template rates for the kinds and columns.\n", func(ctx context.Context, a *house.House, w desk.Write,
		in desk.Input) (answer.Imported, error) {
		return a.Desk.RatesImport(ctx, w, in)
	})
}

func (r *root) ratesShow() *cobra.Command {
	var kind, on string
	c := verb("show", "Show the rates, all of them or those valid on a date", "", cobra.NoArgs,
		r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			day, err := flagDate("on", on)
			if err != nil {
				return err
			}
			rates, err := a.Desk.RatesShow(ctx, kind, day)
			if err != nil {
				return err
			}
			if r.Streams.JSON {
				return r.Streams.Document("rates-show", struct {
					Rates []book.Rate `json:"rates"`
				}{rates})
			}
			t := (&ui.Table{Header: []string{"kind", "name", "value", "unit", "date", "source"}}).Numbers(2)
			for _, x := range rates {
				t.Add(x.Kind, x.Name, x.Value.String(), x.Unit, string(x.On), x.Source)
			}
			r.Streams.Table(t)
			return nil
		}))
	c.Flags().StringVar(&kind, "kind", "", "only this kind")
	c.Flags().StringVar(&on, "on", "", "only those valid on this date")
	return c
}

func (r *root) pricesCommands() *cobra.Command {
	return r.group("prices", "The dealer's price list", r.pricesImport, r.pricesShow)
}

func (r *root) pricesImport() *cobra.Command {
	return r.importCommand("prices", "Read a price list from a file", "  lotpaper prices import prices.csv\n\nSee "+
		"lotpaper template prices for the columns.\n", func(ctx context.Context, a *house.House, w desk.Write,
		in desk.Input) (answer.Imported, error) {
		return a.Desk.PricesImport(ctx, w, in)
	})
}

func (r *root) pricesShow() *cobra.Command {
	var on string
	c := verb("show", "Show the price list", "", cobra.NoArgs, r.reading(func(ctx context.Context, a *house.House,
		_ []string) error {
		day, err := flagDate("on", on)
		if err != nil {
			return err
		}
		prices, err := a.Desk.PricesShow(ctx, day)
		if err != nil {
			return err
		}
		if r.Streams.JSON {
			return r.Streams.Document("prices-show", struct {
				Prices []book.Price `json:"prices"`
			}{prices})
		}
		t := (&ui.Table{Header: []string{"species", "variety", "shape", "from mm", "to mm", "grade", "loose per ct",
			"replacement per ct", "date", "source"}}).Numbers(3, 4, 6, 7)
		for _, p := range prices {
			t.Add(p.Species, p.Variety, p.Shape, p.LengthMin.String(), p.LengthMax.String(), p.Grade, p.Loose.String(),
				p.Replacement.String(), string(p.On), p.Source)
		}
		r.Streams.Table(t)
		return nil
	}))
	c.Flags().StringVar(&on, "on", "", "only those valid on this date")
	return c
}
