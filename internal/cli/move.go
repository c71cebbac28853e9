package cli

import (
	"context"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
)

// moving reads LOT, LOT:PIECES or LOT:PIECES:CARATS.
func moving(args []string) ([]stockroom.Moving, error) {
	var out []stockroom.Moving
	for _, text := range args {
		fields := strings.Split(text, ":")
		m := stockroom.Moving{Lot: fields[0]}
		if len(fields) > 3 || m.Lot == "" {
			return nil, fault.New(fault.Usage, "moving-form", "what moves is LOT, or LOT:PIECES:CARATS, but is \""+text+
				"\"", "write it like P1-3:4:6.250")
		}
		if len(fields) > 1 {
			n, err := strconv.ParseInt(fields[1], 10, 64)
			if err != nil || n < 0 {
				return nil, fault.New(fault.Usage, "pieces-bad", "pieces are a whole number, but are \""+fields[1]+"\"",
					"count the pieces")
			}
			m.Pieces = n
		}
		if len(fields) > 2 {
			c, f := num.ParseCarat(fields[2])
			if f != nil {
				return nil, asUsage(f)
			}
			m.Carats = c
		}
		out = append(out, m)
	}
	return out, nil
}

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
			r.Streams.Notef("memo %s\n", done.Memo.Number)
			return r.moved(done.Moved)
		}))
	c.Flags().StringVar(&req.Party, "to", "", "who takes them (required)")
	c.Flags().StringVar(&due, "due", "", "when they are due back")
	c.Flags().StringVar(&req.Note, "note", "", "a note")
	return r.writes(c)
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
			return r.moved(done.Moved)
		}))
	c.Flags().StringVar(&req.Accept, "accept", "", "why a difference is accepted")
	return r.writes(c)
}

// price holds the flags of a price in any currency.
type price struct {
	amount, currency, rate string
	per                    int64
}

func (p *price) flags(c *cobra.Command) {
	c.Flags().StringVar(&p.amount, "price", "", "net of tax")
	c.Flags().StringVar(&p.currency, "currency", "", "of the price (default: the book's)")
	c.Flags().StringVar(&p.rate, "rate", "", "book units per unit of that currency")
	c.Flags().Int64Var(&p.per, "per", 1, "the rate is per 1, 100 or 1000 units")
}

func (r *root) memoSell() *cobra.Command {
	var w desk.Write
	var p price
	c := verb("sell MEMO [LOT:PIECES:CARATS ...]", "Sell what is out on a memo", `  lotpaper memo sell M3 --price 850
  lotpaper memo sell M3 P1-3:1:2.140 --price 320
`, cobra.MinimumNArgs(1), r.writing(&w, func(ctx context.Context, a *house.House, args []string) error {
		lots, err := moving(args[1:])
		if err != nil {
			return err
		}
		m, rate, err := r.foreign(ctx, a, "price", p.amount, p.currency, p.rate, p.per)
		if err != nil {
			return err
		}
		done, err := a.Stockroom.MemoSell(ctx, w, args[0], lots, m, rate)
		if err != nil {
			return err
		}
		return r.sold(done)
	}))
	p.flags(c)
	return r.writes(c)
}

func (r *root) sold(done answer.Sold) error {
	if r.Streams.JSON {
		return r.Streams.Document("sale", done)
	}
	r.Streams.Notef("%s: %s for %s, cost %s\n", done.Sale.Number, done.Sale.Customer, done.Sale.Price.Words(),
		done.Sale.Cost.Words())
	return r.moved(done.Moved)
}

func (r *root) memoBuy() *cobra.Command {
	var w desk.Write
	return r.writes(verb("buy LOT[:PIECES:CARATS]", "Buy a lot that is on memo in, at its agreed price", "",
		cobra.ExactArgs(1), r.writing(&w, func(ctx context.Context, a *house.House, args []string) error {
			lots, err := moving(args)
			if err != nil {
				return err
			}
			done, err := a.Stockroom.MemoBuy(ctx, w, lots[0])
			if err != nil {
				return err
			}
			return r.moved(done)
		})))
}

func (r *root) memoList() *cobra.Command {
	var all bool
	c := verb("list", "List the memos that are out", "", cobra.NoArgs,
		r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			memos, err := a.Stockroom.MemoList(ctx, stockroom.MemoList{All: all})
			if err != nil {
				return err
			}
			if r.Streams.JSON {
				return r.Streams.Document("memo-list", memos)
			}
			r.table(memos.Table())
			return nil
		}))
	c.Flags().BoolVar(&all, "all", false, "also the closed ones")
	return c
}

func (r *root) setterCommands() *cobra.Command {
	return r.group("setter", "Stones at the setter: out, back", r.setterOut, r.setterBack)
}

func (r *root) setterOut() *cobra.Command {
	var w desk.Write
	var name string
	c := verb("out LOT[:PIECES:CARATS] ...", "Send stones to a setter", "", cobra.MinimumNArgs(1),
		r.writing(&w, func(ctx context.Context, a *house.House, args []string) error {
			lots, err := moving(args)
			if err != nil {
				return err
			}
			done, err := a.Stockroom.SetterOut(ctx, w, name, lots)
			if err != nil {
				return err
			}
			return r.moved(done)
		}))
	c.Flags().StringVar(&name, "to", "", "the setter (required)")
	return r.writes(c)
}

func (r *root) setterBack() *cobra.Command {
	var req stockroom.SetterBack
	c := verb("back LOT[:PIECES:CARATS]", "Book what a setter did: stones set, broken, brought back",
		`  lotpaper setter back P1-3 --from "A Setter" --set 4 --piece R1-01
  lotpaper setter back P1-3:2:1.310 --from "A Setter" --broken 1
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			lots, err := moving(args)
			if err != nil {
				return err
			}
			req.Moving = lots[0]
			done, err := a.Stockroom.SetterBack(ctx, req)
			if err != nil {
				return err
			}
			return r.moved(done)
		}))
	f := c.Flags()
	f.StringVar(&req.Setter, "from", "", "the setter (required)")
	f.Int64Var(&req.Set, "set", 0, "stones set")
	f.StringVar(&req.Piece, "piece", "", "the piece they were set into")
	f.Int64Var(&req.Broken, "broken", 0, "stones that broke")
	f.StringVar(&req.For, "for", "", "LINE/DESIGN/POSITION that they were set for: what the loss rates learn from")
	f.StringVar(&req.Accept, "accept", "", "why a difference of weight is accepted")
	return r.writes(c)
}

func (r *root) saleCommands() *cobra.Command {
	return r.group("sale", "Sales: add, return", r.saleAdd, r.saleReturn)
}

func (r *root) saleAdd() *cobra.Command {
	var req stockroom.SaleAdd
	var p price
	c := verb("add LOT[:PIECES:CARATS] ...", "Sell stones, or a finished piece's stones",
		`  lotpaper sale add P1-3:1:2.140 --to "A Customer" --price 320
  lotpaper sale add P1-3 P1-4 --from piece/R1-01 --to "A Customer" --price 980
`, cobra.MinimumNArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			if req.Lots, err = moving(args); err != nil {
				return err
			}
			if req.Price, req.Rate, err = r.foreign(ctx, a, "price", p.amount, p.currency, p.rate, p.per); err != nil {
				return err
			}
			done, err := a.Stockroom.SaleAdd(ctx, req)
			if err != nil {
				return err
			}
			return r.sold(done)
		}))
	c.Flags().StringVar(&req.Customer, "to", "", "the customer (required)")
	c.Flags().StringVar((*string)(&req.From), "from", "safe", "where the stones lie: safe, piece/ID")
	c.Flags().StringVar(&req.NoteText, "note", "", "a note")
	p.flags(c)
	return r.writes(c)
}

func (r *root) saleReturn() *cobra.Command {
	var req stockroom.SaleReturn
	c := verb("return SALE", "Take a sale back", "", cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context,
		a *house.House, args []string) error {
		req.Number = args[0]
		done, err := a.Stockroom.SaleReturn(ctx, req)
		if err != nil {
			return err
		}
		return r.sold(done)
	}))
	c.Flags().BoolVar(&req.Damaged, "damaged", false, "it came back damaged")
	return r.writes(c)
}
