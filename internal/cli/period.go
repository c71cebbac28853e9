package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/house"
)

func (r *root) periodCommands() *cobra.Command {
	return r.group("period", "Months: close, open, list", r.periodClose, r.periodOpen, r.periodList)
}

func (r *root) periodClose() *cobra.Command {
	return r.period("close MONTH", "Close a month: nothing is posted into it any more", `  lotpaper period close 2026-03

Only a month that has ended can be closed. Readings, rates, prices and settings
may still be dated in it: they move neither stones nor money.
`, func(ctx context.Context, a *house.House, w desk.Write, m book.Month) (answer.Period, error) {
		return a.Desk.PeriodClose(ctx, desk.PeriodClose{Write: w, Month: m})
	})
}

func (r *root) periodOpen() *cobra.Command {
	return r.period("open MONTH", "Open a closed month again, with a reason",
		`  lotpaper period open 2026-03 --reason "the freight invoice came late"
`, func(ctx context.Context, a *house.House, w desk.Write, m book.Month) (answer.Period, error) {
			return a.Desk.PeriodOpen(ctx, desk.PeriodOpen{Write: w, Month: m})
		})
}

// period is a command that writes one month.
func (r *root) period(use, short, long string, do func(context.Context, *house.House, desk.Write,
	book.Month) (answer.Period, error)) *cobra.Command {
	var w desk.Write
	return r.writes(verb(use, short, long, cobra.ExactArgs(1), r.writing(&w, func(ctx context.Context, a *house.House,
		args []string) error {
		m, f := book.ParseMonth(args[0])
		if f != nil {
			return asUsage(f)
		}
		done, err := do(ctx, a, w, m)
		if err != nil {
			return err
		}
		return r.wroteBook("period", &done)
	})))
}

func (r *root) periodList() *cobra.Command {
	var out output
	c := verb("list", "List the months that are closed, or were once", "", cobra.NoArgs,
		r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			months, err := a.Desk.PeriodList(ctx, desk.PeriodList{})
			if err != nil {
				return err
			}
			return r.list("period-list", &months, out)
		}))
	out.ofList(c)
	return c
}
