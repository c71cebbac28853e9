package cli

import (
	"context"
	"io"

	"github.com/spf13/cobra"

	"lotpaper/internal/house"
	"lotpaper/internal/stockroom"
)

func (r *root) partyStatement() *cobra.Command {
	var req stockroom.PartyStatement
	var from string
	var out output
	c := verb("statement PARTY", "Issue a customer's statement of account",
		`  lotpaper party statement "A Customer" --date 2026-06-30 -o statement.xlsx

Invoices, credit notes, payments and what is open, with its age. The statement is
kept: lotpaper document write STATEMENT-2026-0001.
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			req.Party = args[0]
			if req.From, err = flagDate("from", from); err != nil {
				return err
			}
			done, err := a.Stockroom.PartyStatement(ctx, req)
			if err != nil {
				return err
			}
			if out.path != "" && !req.DryRun {
				if err := r.Streams.WriteFile(out.path, out.force, true, func(w io.Writer) error {
					_, err := w.Write(done.Document.Bytes)
					return err
				}); err != nil {
					return err
				}
				r.wrote(out.path)
			}
			return r.wroteBook("party-statement", &done)
		}))
	c.Flags().StringVar(&from, "from", "", "from this day on; what was open before is one line")
	out.flags(c, "")
	return r.writes(c)
}
