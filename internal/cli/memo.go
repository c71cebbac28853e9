package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/house"
	"lotpaper/internal/stockroom"
)

func (r *root) memoCommands() *cobra.Command {
	return r.group("memo", "Goods on approval: out, back, sell, buy, list", r.memoOut, r.memoBack, r.memoSell,
		r.memoBuy, r.memoList)
}

func (r *root) memoOut() *cobra.Command {
	var req stockroom.MemoOut
	var due string
	c := verb("out LOT[:PIECES:CARATS] ...", "Send lots out on approval",
		`  lotpaper memo out P1-3 P1-5:2:3.410 --to "A Customer" --due 2026-05-31
`, cobra.MinimumNArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			if req.Lots, err = moving(args); err != nil {
				return err
			}
			if req.Due, err = flagDate("due", due); err != nil {
				return err
			}
			done, err := a.Stockroom.MemoOut(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("memo", &done)
		}))
	c.Flags().StringVar(&req.Party, "to", "", "who takes them (required)")
	c.Flags().StringVar(&due, "due", "", "when they are due back")
	c.Flags().StringVar((*string)(&req.From), "from", "", "the office that they leave (default: where they lie)")
	c.Flags().StringVar(&req.Note, "note", "", "a note")
	return r.moves(c, &req.Movement)
}

func (r *root) memoBack() *cobra.Command {
	var req stockroom.MemoBack
	c := verb("back MEMO LOT:PIECES:CARATS ...", "Take lots back from a memo, counted and weighed again",
		`  lotpaper memo back M3 P1-3:4:6.250

A weight outside the tolerance is refused until it is accepted with a reason:
stones get switched.
`, cobra.MinimumNArgs(2), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			req.Number = args[0]
			if req.Lots, err = moving(args[1:]); err != nil {
				return err
			}
			done, err := a.Stockroom.MemoBack(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("memo", &done)
		}))
	return r.moves(c, &req.Movement)
}

func (r *root) memoSell() *cobra.Command {
	var req stockroom.MemoSell
	var p price
	c := verb("sell MEMO [LOT:PIECES:CARATS ...]", "Sell what is out on a memo", `  lotpaper memo sell M3 --price 850
  lotpaper memo sell M3 P1-3:1:2.140 --price 320
`, cobra.MinimumNArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
		var err error
		req.Number = args[0]
		if req.Lots, err = moving(args[1:]); err != nil {
			return err
		}
		if req.Price, req.Rate, err = r.foreign(ctx, a, "price", p.amount, p.currency, p.rate, p.per); err != nil {
			return err
		}
		done, err := a.Stockroom.MemoSell(ctx, req)
		if err != nil {
			return err
		}
		return r.moved("sale", &done)
	}))
	p.flags(c)
	return r.moves(c, &req.Movement)
}

func (r *root) memoBuy() *cobra.Command {
	var req stockroom.MemoBuy
	return r.writes(verb("buy LOT[:PIECES:CARATS]", "Buy a lot that is on memo in, at its agreed price", "",
		cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			lots, err := moving(args)
			if err != nil {
				return err
			}
			req.Moving = lots[0]
			done, err := a.Stockroom.MemoBuy(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("moved", &done)
		})))
}

func (r *root) memoList() *cobra.Command {
	var all bool
	var then asOf
	var out output
	c := verb("list", "List the memos that are out", "", cobra.NoArgs,
		r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			at, err := then.read()
			if err != nil {
				return err
			}
			memos, err := a.Stockroom.MemoList(ctx, stockroom.MemoList{AsOf: at, All: all})
			if err != nil {
				return err
			}
			return r.list("memo-list", &memos, out)
		}))
	then.flags(c, "list the memos")
	c.Flags().BoolVar(&all, "all", false, "also the closed ones")
	out.ofList(c)
	return c
}
