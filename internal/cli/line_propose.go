package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/house"
	"lotpaper/internal/lines"
)

func (r *root) linePropose() *cobra.Command {
	var p planFlags
	var customer string
	var runs int
	c := verb("propose LINE", "Issue the priced and checked line as a proposal with care cards",
		`  lotpaper line propose Sea --customer "A Jeweller"
  lotpaper document write PROPOSAL-2026-0001

The stones, prices and verdicts are frozen in the documents.
`, cobra.ExactArgs(1), r.reading(func(ctx context.Context, a *house.House, args []string) error {
			req, err := p.request(r, args[0])
			if err != nil {
				return err
			}
			done, err := a.Lines.Propose(ctx, lines.Propose{Plan: req, Customer: customer, Runs: runs})
			if err != nil {
				return err
			}
			r.faults(done.Price.Warnings)
			issued := answer.DocumentsOf(done.Documents)
			if err := r.list("document-list", &issued, output{}); err != nil {
				return err
			}
			r.dryNote()
			return nil
		}))
	p.flags(c)
	c.Flags().StringVar(&customer, "customer", "", "whom it is for")
	c.Flags().IntVar(&runs, "runs", 0, "runs of the simulation (default 10000)")
	return r.writes(c)
}
