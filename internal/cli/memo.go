package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
)

func (r *root) memoCommands() *cobra.Command {
	return r.group("memo", "Goods on approval, out and in: out, back, sell, extend, close, buy, return, list",
		r.memoOut,
		r.memoBack, r.memoSell, r.memoExtend, r.memoClose, r.memoBuy, r.memoReturn, r.memoList)
}

func (r *root) memoOut() *cobra.Command {
	var req stockroom.MemoOut
	var due string
	var p price
	c := verb("out LOT[:PIECES:CARATS][@PRICE] ...", "Send lots out on approval, with a memo note",
		`  lotpaper memo out P1-3 P1-5:2:3.410 --to "A Customer" --due 2026-05-31
  lotpaper memo out P1-3@850 P1-5:2:3.410@120/ct P1-7:6:1.800@15/pc --to "A Customer" --currency USD

A price is for all of the lot that goes out, @120/ct for each carat, @15/pc for
each piece. lotpaper document write writes the note.
`, cobra.MinimumNArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			if req.Lines, err = selling(args); err != nil {
				return err
			}
			if req.Currency, req.Rate, err = p.in(); err != nil {
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
	c.Flags().StringVar(&req.Terms, "terms", "", "the terms, in words")
	c.Flags().StringVar(&req.Note, "note", "", "a note, which the memo note prints")
	p.currencyFlags(c, "of the prices")
	return r.moves(c, &req.Movement)
}

func (r *root) memoBack() *cobra.Command {
	var req stockroom.MemoBack
	c := verb("back MEMO LOT:PIECES:CARATS[:LENGTHxWIDTHxDEPTH] ...",
		"Take lots back from a memo, counted and weighed again", `  lotpaper memo back M3 P1-3:4:6.250
  lotpaper memo back M3 P1-9:1:2.140:8.02x6.01x4.10

What is not named stays out. A single stone may be measured again, in mm. A
weight or measure outside the tolerance is refused until it is accepted with a
reason: stones get switched.
`, cobra.MinimumNArgs(2), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			req.Number = args[0]
			if req.Lots, req.Sizes, err = returning(args[1:]); err != nil {
				return err
			}
			done, err := a.Stockroom.MemoBack(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("memo", &done)
		}))
	comes(c, &req.Office, whereItLeft)
	return r.moves(c, &req.Movement)
}

func (r *root) memoSell() *cobra.Command {
	var req stockroom.MemoSell
	var b bill
	c := verb("sell MEMO [LOT[:PIECES:CARATS][@PRICE[/ct|/pc]] ...]", "Sell what is out on a memo, at its prices",
		`  lotpaper memo sell M3
  lotpaper memo sell M3 P1-3:1:2.140
  lotpaper memo sell M3 P1-3:1:2.140 --price 320
  lotpaper memo sell M3 P2-1:1:1.100 --buy

The memo gives the price of each lot; --price is for all that is sold without a
price of its own here. What is on memo in is bought first with --buy. The rest
stays out.
`, cobra.MinimumNArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			req.Number = args[0]
			if req.Lines, err = selling(args[1:]); err != nil {
				return err
			}
			if req.Bill, err = b.read(); err != nil {
				return err
			}
			done, err := a.Stockroom.MemoSell(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("sale", &done)
		}))
	b.flags(c)
	c.Flags().BoolVar(&req.Buy, "buy", false, "buy what is on memo in first, at its agreed price")
	return r.moves(c, &req.Movement)
}

func (r *root) memoExtend() *cobra.Command {
	var req stockroom.MemoExtend
	var due string
	c := verb("extend MEMO", "Prolong a memo", `  lotpaper memo extend M3 --due 2026-06-30 --reason "the client travels"
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
		var err error
		req.Number = args[0]
		if req.Due, err = flagDate("due", due); err != nil {
			return err
		}
		done, err := a.Stockroom.MemoExtend(ctx, req)
		if err != nil {
			return err
		}
		return r.moved("memo", &done)
	}))
	c.Flags().StringVar(&due, "due", "", "the new day (required)")
	return r.writes(c)
}

func (r *root) memoClose() *cobra.Command {
	var req stockroom.MemoClose
	var p price
	c := verb("close MEMO [LOT@PRICE ...]", "Close a memo: what has not come back is missing",
		`  lotpaper memo close M3 --missing loss --reason "the parcel was lost in the post"
  lotpaper memo close M3 --missing claim --reason "the client cannot find it"

A loss is expense at cost. With a claim the party owes the memo's prices, or
those that are given here.
`, cobra.MinimumNArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			req.Number = args[0]
			if req.Lines, err = selling(args[1:]); err != nil {
				return err
			}
			if req.Currency, req.Rate, err = p.in(); err != nil {
				return err
			}
			done, err := a.Stockroom.MemoClose(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("memo", &done)
		}))
	c.Flags().StringVar(&req.Missing, "missing", "", "who bears it: loss or claim (required)")
	p.currencyFlags(c, "of the prices that are given")
	return r.writes(c)
}

func (r *root) memoBuy() *cobra.Command {
	var req stockroom.MemoBuy
	var p price
	c := verb("buy LOT[:PIECES:CARATS]", "Buy a lot that is on memo in, at its agreed price and the day's rate",
		`  lotpaper memo buy P2-1
  lotpaper memo buy P2-1:1:1.100 --at paper/M3 --price 900 --currency USD

A lot is bought wherever it lies and keeps its code; a part becomes a lot of its
own and the rest stays the lender's.
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			lots, err := moving(args)
			if err != nil {
				return err
			}
			req.Moving = lots[0]
			if req.Price, req.Rate, err = r.otherPrice(ctx, a, p); err != nil {
				return err
			}
			done, err := a.Stockroom.MemoBuy(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("moved", &done)
		}))
	p.flags(c)
	c.Flags().StringVar((*string)(&req.At), "at", "", "where the part lies, e.g. paper/M3 (default: the safe)")
	return r.moves(c, &req.Movement)
}

// otherPrice reads a price that replaces one the book has; zero when none is
// given.
func (r *root) otherPrice(ctx context.Context, a *house.House, p price) (num.Money, num.Rate, error) {
	if p.amount != "" {
		return r.foreign(ctx, a, "price", p.amount, p.currency, p.rate, p.per)
	}
	rate, err := flagRate(p.rate, p.per)
	return num.Money{}, rate, err
}

func (r *root) memoReturn() *cobra.Command {
	var req stockroom.MemoReturn
	c := verb("return LOT[:PIECES:CARATS] ...", "Give goods of others back: to the lender, or a customer's own",
		`  lotpaper memo return P2-1 P2-3:2:1.900
`, cobra.MinimumNArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			if req.Lots, err = moving(args); err != nil {
				return err
			}
			done, err := a.Stockroom.MemoReturn(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("memo-return", &done)
		}))
	c.Flags().StringVar(&req.Note, "note", "", "a note, which the receipt prints")
	c.Flags().StringVar((*string)(&req.From), "from", "", "the office that they leave (default: where they lie)")
	return r.moves(c, &req.Movement)
}

func (r *root) memoList() *cobra.Command {
	var all, in bool
	var then asOf
	var out output
	c := verb("list", "List the memos that are out, or with --in what is on memo in: overdue first", "", cobra.NoArgs,
		r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			at, err := then.read()
			if err != nil {
				return err
			}
			if in && all {
				return fault.New(fault.Usage, "memo-list-in", "what is on memo in has no closed memos",
					"leave --all out").
					AtField("all")
			}
			if in {
				lent, err := a.Stockroom.MemoInList(ctx, stockroom.MemoInList{AsOf: at})
				if err != nil {
					return err
				}
				return r.list("memo-in-list", &lent, out)
			}
			memos, err := a.Stockroom.MemoList(ctx, stockroom.MemoList{AsOf: at, All: all})
			if err != nil {
				return err
			}
			return r.list("memo-list", &memos, out)
		}))
	then.flags(c, "list the memos")
	c.Flags().BoolVar(&all, "all", false, "also the closed ones")
	c.Flags().BoolVar(&in, "in", false, "what is on memo in, by lender")
	out.ofList(c)
	return c
}
