package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/house"
	"lotpaper/internal/stockroom"
)

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
			return r.moved("sale", &done)
		}))
	c.Flags().StringVar(&req.Customer, "to", "", "the customer (required)")
	c.Flags().StringVar((*string)(&req.From), "from", "safe", "where the stones lie: safe, piece/ID")
	c.Flags().StringVar(&req.Note, "note", "", "a note")
	p.flags(c)
	return r.moves(c, &req.Movement)
}

func (r *root) saleReturn() *cobra.Command {
	var req stockroom.SaleReturn
	c := verb("return SALE", "Book a sale that came back", "", cobra.ExactArgs(1),
		r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.Number = args[0]
			done, err := a.Stockroom.SaleReturn(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("sale", &done)
		}))
	c.Flags().BoolVar(&req.Damaged, "damaged", false, "it came back damaged")
	return r.writes(c)
}
