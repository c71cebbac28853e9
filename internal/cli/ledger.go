package cli

import (
	"context"
	"io"

	"github.com/spf13/cobra"

	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/stockroom"
)

func (r *root) ledgerCommands() *cobra.Command {
	return r.group("ledger", "The journal: show, check, export, reverse, journal, receivables, payables",
		r.ledgerShow, r.ledgerCheck, r.ledgerExport, r.ledgerReverse, r.ledgerJournal, r.ledgerReceivables,
		r.ledgerPayables)
}

func (r *root) ledgerShow() *cobra.Command {
	var q desk.LedgerShow
	var out output
	c := verb("show [ENTRY]", "Show entries and their postings, oldest first", `  lotpaper ledger show E12
  lotpaper ledger show --lot P1-3
`, cobra.MaximumNArgs(1), r.reading(func(ctx context.Context, a *house.House, args []string) error {
		if len(args) == 1 {
			q.Entry = args[0]
		}
		show, err := a.Desk.LedgerShow(ctx, q)
		if err != nil {
			return err
		}
		return r.list("ledger-show", &show, out)
	}))
	c.Flags().StringVar(&q.Lot, "lot", "", "only entries that touch this lot")
	c.Flags().Int64Var(&q.After, "after", 0, "only entries after this number")
	c.Flags().IntVar(&q.Limit, "limit", 0, "at most this many (default all)")
	out.ofList(c)
	return c
}

func (r *root) ledgerCheck() *cobra.Command {
	return verb("check", "Compare all that is derived with what it derives from, and the hash chain with the entries",
		`  lotpaper ledger check

Exit status 6 when anything differs.
`, cobra.NoArgs, r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			check, err := a.Desk.LedgerCheck(ctx, desk.LedgerCheck{})
			if err != nil {
				return err
			}
			if err := r.show("ledger-check", &check); err != nil {
				return err
			}
			if len(check.Differences) > 0 {
				return exitError(6)
			}
			return nil
		}))
}

func (r *root) ledgerExport() *cobra.Command {
	var out output
	c := verb("export", "Write every sealed entry as one line of JSON", `  lotpaper ledger export -o ledger.jsonl

Each line holds the entry's body, the hash before it and its own:
hash = SHA-256("lotpaper/entry/1" + previous hash + body).
`, cobra.NoArgs, r.reading(func(ctx context.Context, a *house.House, _ []string) error {
		return r.Streams.WriteFile(out.path, out.force, false,
			func(w io.Writer) error { return a.Desk.LedgerExport(ctx, desk.LedgerExport{To: w}) })
	}))
	out.flags(c, "-")
	return c
}

func (r *root) ledgerReverse() *cobra.Command {
	var req stockroom.LedgerReverse
	return r.writes(verb("reverse ENTRY", "Cancel an entry with its negated postings",
		`  lotpaper ledger reverse E12 --reason "typed the wrong lot"

Refused while a later entry touches the same lots at the same places, or
derives from it: reverse that one first. Without --date the reversal is dated as
the entry, so that no day has its postings; where that month is closed, today.
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.Entry = args[0]
			m, err := a.Stockroom.LedgerReverse(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("moved", &m)
		})))
}

func (r *root) ledgerJournal() *cobra.Command {
	var q stockroom.LedgerJournal
	var period days
	var out output
	c := verb("journal", "List what the bookkeeper enters: debit and credit of every entry",
		`  lotpaper ledger journal --from 2026-03-01 --to 2026-03-31 -o journal.csv

The accounts are named by the setting accounts, e.g. accounts="inventory=1400;
revenue=4000". A reversed entry stands in it with its reversal.
`, cobra.NoArgs, r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			if err := period.read(&q.From, &q.To); err != nil {
				return err
			}
			journal, err := a.Stockroom.LedgerJournal(ctx, q)
			if err != nil {
				return err
			}
			return r.list("ledger-journal", &journal, out)
		}))
	period.flags(c)
	out.ofList(c)
	return c
}

func (r *root) ledgerReceivables() *cobra.Command {
	var q stockroom.LedgerReceivables
	var on string
	var out output
	c := verb("receivables", "List what customers and others owe, by party, currency and age", "", cobra.NoArgs,
		r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			var err error
			if q.On, err = flagDate("on", on); err != nil {
				return err
			}
			owed, err := a.Stockroom.LedgerReceivables(ctx, q)
			if err != nil {
				return err
			}
			return r.list("ledger-receivables", &owed, out)
		}))
	c.Flags().StringVar(&on, "on", "", "as this day left it (default today)")
	out.ofList(c)
	return c
}

func (r *root) ledgerPayables() *cobra.Command {
	var q stockroom.LedgerPayables
	var on string
	var out output
	c := verb("payables", "List what is owed to vendors and others, by party, currency and age", "", cobra.NoArgs,
		r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			var err error
			if q.On, err = flagDate("on", on); err != nil {
				return err
			}
			owed, err := a.Stockroom.LedgerPayables(ctx, q)
			if err != nil {
				return err
			}
			return r.list("ledger-payables", &owed, out)
		}))
	c.Flags().StringVar(&on, "on", "", "as this day left it (default today)")
	out.ofList(c)
	return c
}

// moved prints a movement and what else its answer says.
func (r *root) moved(schema string, m interface {
	shown
	Warned() fault.List
}) error {
	r.faults(m.Warned())
	return r.wroteBook(schema, m)
}
