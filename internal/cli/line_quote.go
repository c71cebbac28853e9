package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/house"
	"lotpaper/internal/lines"
)

func (r *root) lineQuote() *cobra.Command {
	var p planFlags
	var req lines.Quote
	var until string
	var out output
	c := verb("quote LINE", "Issue what a customer may know of a line: pieces, stones, prices",
		`  lotpaper line quote Sea --customer "A Jeweller" --until 2026-04-30 -o quote.pdf
  lotpaper line quote Sea --customer "A Shop" --tier retail -o quote.xlsx
  lotpaper document write QUOTE-2026-0001 -o quote.pdf

The prices are those of the customer's tier. The workbook has an order column that
adds up by itself. No cost, no margin, no lot and no warning of yours is in a quote.
`, cobra.ExactArgs(1), r.reading(func(ctx context.Context, a *house.House, args []string) error {
			var err error
			if req.Plan, err = p.request(r, args[0]); err != nil {
				return err
			}
			if req.Until, err = flagDate("until", until); err != nil {
				return err
			}
			var done answer.Quoted
			if err := r.issuing(out, func() (answer.DocumentFile, error) {
				done, err = a.Lines.Quote(ctx, req)
				return answer.FileOf(done.Document), err
			}); err != nil {
				return err
			}
			r.faults(done.Warnings)
			return r.wroteBook("quote", &done.Quote)
		}))
	p.flags(c)
	c.Flags().StringVar(&req.Customer, "customer", "", "whom it is for (required)")
	c.Flags().StringVar(&until, "until", "", "the last day that it holds (default: while the stones are unsold)")
	c.Flags().StringVar(&req.Tier, "tier", "", "trade or retail (default: the customer's own, else trade)")
	out.flags(c, "")
	return r.writes(c)
}
