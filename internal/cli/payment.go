package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
)

func (r *root) paymentCommands() *cobra.Command {
	return r.group("payment", "Payments: add, write-off, list", r.paymentAdd, r.paymentWriteOff, r.paymentList)
}

func (r *root) paymentAdd() *cobra.Command {
	var req stockroom.PaymentAdd
	var b rebate
	var settles, fee string
	c := verb("add", "Note money that a party paid or was paid",
		`  lotpaper payment add --party "A Customer" --invoice S3 --amount 500 --date 2026-04-07
  lotpaper payment add --party "A Customer" --amount 1200 --on-account
  lotpaper payment add --party "A Customer" --invoice S7 --use PAY4 --amount 80
  lotpaper payment add --party "A Vendor" --invoice P3 --amount 2000 --currency USD --rate 0.91 --fee 15
  lotpaper payment add --party "A Customer" --invoice S4 --amount 460 --currency EUR --settles 500

What is paid for is a sale (S3), a claim (K2), a parcel (P5), a charge (C7), a piece
or lot bought alone (J4), or the commission of the broker who is named as the party;
several with commas, none: all that is open with the party, oldest first. Each stands
at the rate of its invoice; the payment has its own, and the difference is one line of
the journal. --use sets what is to the party's credit against it, with or without money.
`, cobra.NoArgs, r.writing(&req.Write, func(ctx context.Context, a *house.House, _ []string) error {
			if b.amount != "" {
				var money stockroom.Rebate
				if err := b.read(&money); err != nil {
					return err
				}
				req.Amount, req.Rate = money.Amount, money.Rate
			}
			for _, x := range []struct {
				name, text string
				to         *num.Money
			}{{"settles", settles, &req.Settles}, {"fee", fee, &req.Fee}} {
				if x.text == "" {
					continue
				}
				p, f := num.ParseUnitPrice(x.text, "")
				if f != nil {
					return asUsage(f.AtField(x.name))
				}
				*x.to = p.Money
			}
			done, err := a.Stockroom.PaymentAdd(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("payment", &done)
		}))
	f := c.Flags()
	f.StringVar(&req.Party, "party", "", "who pays or is paid (required)")
	f.StringSliceVar(&req.For, "invoice", nil, "what is paid for: S3, K2, P5, C7 (default: all that is "+
		"open, oldest first)")
	f.StringSliceVar(&req.Use, "use", nil, "what is to the party's credit and is set against it: PAY4, or an invoice "+
		"paid too much")
	f.StringVar(&b.amount, "amount", "", "the money that moved; with --use it may be left out")
	f.StringVar(&b.currency, "currency", "", "of the money (default: the invoice's)")
	f.StringVar(&b.rate, "rate", "", "book units per unit of that currency (default: the book's rate of the day)")
	f.Int64Var(&b.per, "per", 1, "the rate is per 1, 100 or 1000 units")
	f.StringVar(&settles, "settles", "", "what it settles, in the invoice's currency, when it was paid in another")
	f.StringVar(&fee, "fee", "", "what the bank kept of it, or took beside it, in the money's currency")
	f.BoolVar(&req.OnAccount, "on-account", false, "what is over stays to the party's credit, for a later invoice")
	f.StringVar(&req.Way, "way", "", "in or out (default: as what is paid says)")
	f.StringVar(&req.Note, "note", "", "a note")
	return r.writes(c)
}

func (r *root) paymentWriteOff() *cobra.Command {
	var req stockroom.PaymentWriteOff
	var b rebate
	c := verb("write-off INVOICE", "Write off what a party will not pay any more",
		`  lotpaper payment write-off S3 --reason "bankrupt, no dividend" --date 2026-12-31
  lotpaper payment write-off S3 --amount 120 --reason "settled in court"

It becomes a loss of its day (IFRS 9 5.4.4). The party owes it still, and its
statement goes on saying so: what is waived is a credit note (sale credit). Money
that comes later is noted with payment add, and is a gain of its day.
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.For = args[0]
			if b.amount != "" {
				var money stockroom.Rebate
				if err := b.read(&money); err != nil {
					return err
				}
				req.Amount = money.Amount
			}
			done, err := a.Stockroom.PaymentWriteOff(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("payment", &done)
		}))
	c.Flags().StringVar(&b.amount, "amount", "", "in the invoice's currency (default: all that is open)")
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
