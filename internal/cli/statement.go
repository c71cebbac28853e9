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

func (r *root) partyAccount() *cobra.Command {
	var q stockroom.PartyAccount
	var from, on string
	var out output
	c := verb("account NAME", "Show what you owe a vendor or a cutter, paper by paper, and what was paid",
		`  lotpaper party account "A Vendor"
  lotpaper party account "A Cutter" --from 2026-01-01 --on 2026-06-30 -o account.csv

What a customer owes you is in the party's statement.
`, cobra.ExactArgs(1), r.reading(func(ctx context.Context, a *house.House, args []string) error {
			q.Party = args[0]
			var err error
			if q.From, err = flagDate("from", from); err != nil {
				return err
			}
			if q.On, err = flagDate("on", on); err != nil {
				return err
			}
			account, err := a.Stockroom.PartyAccount(ctx, q)
			if err != nil {
				return err
			}
			return r.list("party-account", &account, out)
		}))
	c.Flags().StringVar(&from, "from", "", "first day; what was open before it is one line")
	c.Flags().StringVar(&on, "on", "", "as this day left it (default today)")
	out.ofList(c)
	return c
}
