package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
)

func (r *root) chargeCommands() *cobra.Command {
	return r.group("charge", "Landed costs of a parcel: add, credit", r.chargeAdd, r.chargeCredit)
}

func (r *root) chargeAdd() *cobra.Command {
	var req stockroom.ChargeAdd
	var amount, tax, currency, rate, key, invoiced string
	var per int64
	c := verb("add PARCEL", "Put freight, insurance, duty or fees on what a parcel still holds",
		`  lotpaper charge add P1 --kind freight --amount 84.00
  lotpaper charge add P1 --kind duty --amount 120.50 --tax 310.00
  lotpaper charge add --lot P1-3.1 --kind laboratory --amount 95.00
  lotpaper charge add P1 --kind freight --amount 60 --currency USD --invoiced 2026-02-10

The part of what was already sold or lost is a variance. Tax that you can
recover goes into --tax and stays out of cost. A late charge keeps its invoice's
date and rate; it is posted on the day it is booked, on what is held then.
`, cobra.MaximumNArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			if len(args) == 1 {
				req.Parcel = args[0]
			}
			if (req.Parcel == "") == (req.Lot == "") {
				return fault.New(fault.Usage, "charge-on", "a charge is on a parcel or on one lot",
					"name the parcel, or give --lot")
			}
			if req.Amount, req.Rate, err = r.foreign(ctx, a, "amount", amount, currency, rate, per); err != nil {
				return err
			}
			if tax != "" {
				if req.Tax, _, err = r.foreign(ctx, a, "tax", tax, currency, rate, per); err != nil {
					return err
				}
			}
			if req.Invoiced, err = flagDate("invoiced", invoiced); err != nil {
				return err
			}
			req.Key = book.ShareKey(key)
			done, err := a.Stockroom.ChargeAdd(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("charge", &done)
		}))
	f := c.Flags()
	f.StringVar(&req.Kind, "kind", "", "freight, insurance, duty, tax, laboratory, cutting, broker, bank or other "+
		"(required)")
	f.StringVar(&amount, "amount", "", "the amount, without recoverable tax (required)")
	f.StringVar(&tax, "tax", "", "recoverable tax: noted, outside cost")
	f.StringVar(&currency, "currency", "", "of the amount (default: the book's)")
	f.StringVar(&rate, "rate", "", "book units per unit of that currency")
	f.Int64Var(&per, "per", 1, "the rate is per 1, 100 or 1000 units")
	f.StringVar(&key, "by", "", "share by value, cost, carats or pieces (default: what the kind follows)")
	f.StringVar(&req.Lot, "lot", "", "put it on this lot alone")
	f.StringVar(&req.Party, "party", "", "who bills it")
	f.StringVar(&invoiced, "invoiced", "", "the date of its invoice (default: the business date)")
	f.StringVar(&req.Note, "note", "", "a note")
	return r.writes(c)
}

func (r *root) chargeCredit() *cobra.Command {
	var req stockroom.ChargeCredit
	var b rebate
	c := verb("credit CHARGE", "Book a rebate or a credit note on a charge",
		`  lotpaper charge credit C7 --amount 20

It comes off the cost of what is held, as the charge was shared; the part of what
was sold or lost is a variance. Of a charge with recoverable tax the amount is with
tax, and is split as the charge was.
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.Charge = args[0]
			if err := b.read(&req.Rebate); err != nil {
				return err
			}
			done, err := a.Stockroom.ChargeCredit(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("charge", &done)
		}))
	b.flags(c)
	c.Flags().StringVar(&req.Note, "note", "", "a note")
	return r.writes(c)
}

func (r *root) parcelCredit() *cobra.Command {
	var req stockroom.ParcelCredit
	var b rebate
	c := verb("credit PARCEL", "Book a rebate or a credit note on a purchase",
		`  lotpaper parcel credit P3 --amount 150

It comes off the cost of what is held; the part of what was sold or lost is a
variance. The amount is in the invoice's currency, at the invoice's rate.
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.Parcel = args[0]
			if err := b.read(&req.Rebate); err != nil {
				return err
			}
			done, err := a.Stockroom.ParcelCredit(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("charge", &done)
		}))
	b.flags(c)
	c.Flags().StringVar((*string)(&req.Key), "by", "", "share by value, cost, carats or pieces (default: cost)")
	c.Flags().StringVar(&req.Note, "note", "", "a note")
	return r.writes(c)
}

// rebate holds the flags of what is given back of an invoice.
type rebate struct {
	amount, currency, rate string
	per                    int64
}

func (b *rebate) flags(c *cobra.Command) {
	c.Flags().StringVar(&b.amount, "amount", "", "what is given back (required)")
	c.Flags().StringVar(&b.currency, "currency", "", "of the amount (default: the invoice's, which it must be)")
	c.Flags().StringVar(&b.rate, "rate", "", "book units per unit of that currency (default: the invoice's rate)")
	c.Flags().Int64Var(&b.per, "per", 1, "the rate is per 1, 100 or 1000 units")
}

func (b *rebate) read(to *stockroom.Rebate) error {
	p, f := num.ParseUnitPrice(b.amount, "")
	if f != nil {
		return asUsage(f.AtField("amount"))
	}
	to.Amount = p.Money
	if b.currency != "" {
		c, f := num.ParseCurrency(b.currency)
		if f != nil {
			return asUsage(f.AtField("currency"))
		}
		to.Amount = num.Micros(p.Micros(), c)
	}
	if b.rate != "" {
		if to.Rate, f = num.ParseRate(b.rate, b.per); f != nil {
			return asUsage(f.AtField("rate"))
		}
	}
	return nil
}

// foreign reads an amount with its currency and rate; without a currency it is
// in the book's.
func (r *root) foreign(ctx context.Context, a *house.House, flag, amount, currency, rate string, per int64) (num.Money,
	num.Rate, error) {
	c, err := r.currencyOf(ctx, a, currency)
	if err != nil {
		return num.Money{}, num.Rate{}, err
	}
	m, f := num.ParseMoney(amount, c)
	if f != nil {
		return m, num.Rate{}, asUsage(f.AtField(flag))
	}
	x, err := flagRate(rate, per)
	return m, x, err
}

// flagRate reads the rate of a price; zero when none is given.
func flagRate(rate string, per int64) (num.Rate, error) {
	if rate == "" {
		return num.Rate{}, nil
	}
	x, f := num.ParseRate(rate, per)
	if f != nil {
		return x, asUsage(f.AtField("rate"))
	}
	return x, nil
}

// currencyOf is the currency that a flag names, else the book's.
func (r *root) currencyOf(ctx context.Context, a *house.House, name string) (num.Currency, error) {
	if name == "" {
		info, err := a.Desk.ConfigShow(ctx, desk.ConfigShow{})
		return num.Currency(info.Currency), err
	}
	c, f := num.ParseCurrency(name)
	if f != nil {
		return c, asUsage(f.AtField("currency"))
	}
	return c, nil
}
