package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
)

func (r *root) paymentCommands() *cobra.Command {
	return r.group("payment", "Payments: add, list", r.paymentAdd, r.paymentList)
}

func (r *root) paymentAdd() *cobra.Command {
	var req stockroom.PaymentAdd
	var b rebate
	var settles string
	c := verb("add", "Note money that a party paid or was paid",
		`  lotpaper payment add --party "A Customer" --invoice S3 --amount 500 --date 2026-04-07
  lotpaper payment add --party "A Vendor" --invoice P3 --amount 2000 --currency USD --rate 0.91
  lotpaper payment add --party "A Customer" --invoice S4 --amount 460 --currency EUR --settles 500

What is paid for is a sale (S3), a claim (K2), a parcel (P5), a charge (C7), or the
commission of the broker who is named as the party. It stands at the rate of its
invoice; the payment has its own, and the difference is one line of the journal.
`, cobra.NoArgs, r.writing(&req.Write, func(ctx context.Context, a *house.House, _ []string) error {
			var money stockroom.Rebate
			if err := b.read(&money); err != nil {
				return err
			}
			req.Amount, req.Rate = money.Amount, money.Rate
			if settles != "" {
				p, f := num.ParseUnitPrice(settles, "")
				if f != nil {
					return asUsage(f.AtField("settles"))
				}
				req.Settles = p.Money
			}
			done, err := a.Stockroom.PaymentAdd(ctx, req)
			if err != nil {
				return err
			}
			return r.wroteBook("payment", &done)
		}))
	f := c.Flags()
	f.StringVar(&req.Party, "party", "", "who pays or is paid (required)")
	f.StringVar(&req.For, "invoice", "", "what is paid for: S3, K2, P5, C7 (required)")
	f.StringVar(&b.amount, "amount", "", "the money that moved (required)")
	f.StringVar(&b.currency, "currency", "", "of the money (default: the invoice's)")
	f.StringVar(&b.rate, "rate", "", "book units per unit of that currency (default: the book's rate of the day)")
	f.Int64Var(&b.per, "per", 1, "the rate is per 1, 100 or 1000 units")
	f.StringVar(&settles, "settles", "", "what it settles, in the invoice's currency, when it was paid in another")
	f.StringVar(&req.Note, "note", "", "a note")
	return r.writes(c)
}

func (r *root) paymentList() *cobra.Command {
	var q stockroom.PaymentList
	var out output
	c := verb("list", "List the payments", "", cobra.NoArgs,
		r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			payments, err := a.Stockroom.PaymentList(ctx, q)
			if err != nil {
				return err
			}
			return r.list("payment-list", &payments, out)
		}))
	c.Flags().BoolVar(&q.All, "all", false, "void ones too")
	out.ofList(c)
	return c
}
