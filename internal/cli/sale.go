package cli

import (
	"context"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
)

func (r *root) saleCommands() *cobra.Command {
	return r.group("sale", "Sales: add, return, credit, list", r.saleAdd, r.saleReturn, r.saleCredit, r.saleList)
}

func (r *root) saleAdd() *cobra.Command {
	var req stockroom.SaleAdd
	var b bill
	c := verb("add LOT[:PIECES:CARATS][@PRICE[/ct|/pc]] ...", "Sell stones, and issue the customer's invoice",
		`  lotpaper sale add P1-3:1:2.140@150/ct P1-7@980 --to "A Customer" --days 30
  lotpaper sale add P1-3 P1-4 --to "A Customer" --price 320 --currency USD
  lotpaper sale add P1-3 --from piece/R1-01 --to "A Customer" --price 980

A line's price is for all of it, or per carat (/ct) or per piece (/pc); lines
without one share --price. Amounts are in --currency, at the book's rate of the
day unless --rate gives another. Tax is as the book is set (tax, tax_in).
The invoice is kept: lotpaper document write INVOICE-2026-0001.
`, cobra.MinimumNArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			if req.Lines, err = selling(args); err != nil {
				return err
			}
			if req.Bill, err = b.read(); err != nil {
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
	c.Flags().BoolVar(&req.Buy, "buy", false, "buy what is on memo in first, at its agreed price")
	b.flags(c)
	return r.moves(c, &req.Movement)
}

// bill holds the flags of how a sale is billed.
type bill struct {
	price, currency, rate, tax, taxIn, purchase, broker, commission, due, terms, note string

	per, days int64
	margin    bool
}

func (b *bill) flags(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&b.price, "price", "", "one price for the lines that have none of their own")
	f.StringVar(&b.currency, "currency", "", "of the invoice (default: the customer's, else the book's)")
	f.StringVar(&b.rate, "rate", "", "book units per unit of that currency (default: the book's rate of the day)")
	f.Int64Var(&b.per, "per", 1, "the rate is per 1, 100 or 1000 units")
	f.StringVar(&b.tax, "tax", "", "percent of the net price (default: the setting tax)")
	f.StringVar(&b.taxIn, "tax-in", "", "yes: the prices include the tax, no: it comes on top (default: the setting "+
		"tax_in)")
	f.BoolVar(&b.margin, "margin-scheme", false, "taxed on what is earned; only where the setting tax_margin_scheme "+
		"allows")
	f.StringVar(&b.purchase, "purchase", "", "margin scheme: what was paid for the goods, without landed costs")
	f.StringVar(&b.broker, "broker", "", "who gets a commission")
	f.StringVar(&b.commission, "commission", "", "what the broker gets: an amount, or percent of the net price such "+
		"as 5%")
	f.Int64Var(&b.days, "days", -1, "days until it is due (default: as agreed with the customer, else at once)")
	f.StringVar(&b.due, "due", "", "when it is due, instead of --days")
	f.StringVar(&b.terms, "terms", "", "terms of payment, in words")
	f.StringVar(&b.note, "note", "", "a note on the invoice")
}

// read turns the flags into a bill. Amounts without a currency are in the
// invoice's.
func (b *bill) read() (stockroom.Bill, error) {
	out := stockroom.Bill{Margin: b.margin, Broker: b.broker, Terms: b.terms, Note: b.note}
	var f *fault.Fault
	if b.currency != "" {
		if out.Currency, f = num.ParseCurrency(b.currency); f != nil {
			return out, asUsage(f.AtField("currency"))
		}
	}
	if b.rate != "" {
		if out.Rate, f = num.ParseRate(b.rate, b.per); f != nil {
			return out, asUsage(f.AtField("rate"))
		}
	}
	percent, isPercent := strings.CutSuffix(b.commission, "%")
	if isPercent {
		if out.CommissionPercent, f = num.ParsePercent(strings.TrimSpace(percent)); f != nil {
			return out, asUsage(f.AtField("commission"))
		}
	}
	for _, x := range []struct {
		name, text string
		to         *num.Money
	}{{"price", b.price, &out.Price}, {"purchase", b.purchase, &out.Purchase}, {"commission", b.commission,
		&out.Commission}} {
		if x.text == "" || x.name == "commission" && isPercent {
			continue
		}
		p, f := num.ParseUnitPrice(x.text, "")
		if f != nil {
			return out, asUsage(f.AtField(x.name))
		}
		*x.to = p.Money
	}
	if b.tax != "" {
		p, f := num.ParsePercent(b.tax)
		if f != nil {
			return out, asUsage(f.AtField("tax"))
		}
		out.Tax = &p
	}
	switch in := b.taxIn == "yes"; b.taxIn {
	case "yes", "no":
		out.TaxIn = &in
	case "":
	default:
		return out, fault.New(fault.Usage, "tax-in", "--tax-in must be yes or no, but is "+strconv.Quote(b.taxIn),
			"write yes or no").AtField("tax_in")
	}
	if b.days >= 0 {
		out.Days = &b.days
	}
	var err error
	out.Due, err = flagDate("due", b.due)
	return out, err
}

// selling reads LOT, LOT:PIECES:CARATS, and a price behind an @.
func selling(args []string) ([]stockroom.Selling, error) {
	out := make([]stockroom.Selling, len(args))
	for i, text := range args {
		lot, price := text, ""
		if at := strings.LastIndexByte(text, '@'); at > 0 && at+1 < len(text) && strings.ContainsAny(text[at+1:at+2],
			"0123456789.") {
			lot, price = text[:at], text[at+1:]
		}
		m, err := moving([]string{lot})
		if err != nil {
			return nil, err
		}
		out[i].Moving = m[0]
		if price == "" {
			continue
		}
		out[i].Basis = book.LineTotal
		if amount, unit, each := strings.Cut(price, "/"); each {
			price = amount
			switch unit {
			case "ct":
				out[i].Basis = book.LinePerCarat
			case "pc":
				out[i].Basis = book.LinePerPiece
			default:
				return nil, fault.New(fault.Usage, "price-per", "a price is per ct or per pc, but is per "+
					strconv.Quote(unit),
					"write it like P1-3@150/ct")
			}
		}
		var f *fault.Fault
		if out[i].Price, f = num.ParseUnitPrice(price, ""); f != nil {
			return nil, asUsage(f.AtField("price"))
		}
	}
	return out, nil
}

func (r *root) saleReturn() *cobra.Command {
	var req stockroom.SaleReturn
	c := verb("return SALE [LOT:PIECES:CARATS ...]", "Take back what was sold, with a credit note",
		`  lotpaper sale return S3 P1-3:1:2.140 --reason "too pale"
  lotpaper sale return S3 --damaged

Each lot gets the very cost that left it. Without lots all that is left of the
sale comes back. Damaged stones are kept apart and out of plans.
`, cobra.MinimumNArgs(1),
		r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			req.Number = args[0]
			if req.Lots, err = moving(args[1:]); err != nil {
				return err
			}
			done, err := a.Stockroom.SaleReturn(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("credit", &done)
		}))
	c.Flags().BoolVar(&req.Damaged, "damaged", false, "it came back damaged")
	comes(c, &req.Office, whereItLeft)
	return r.moves(c, &req.Movement)
}

func (r *root) saleCredit() *cobra.Command {
	var req stockroom.SaleCredit
	var amount string
	c := verb("credit SALE", "Lower the price of a sale, with a credit note",
		`  lotpaper sale credit S3 --amount 20 --reason "window in the stone"

The amount is with tax, in the invoice's currency. An invoice of which nothing
came back and nothing was paid can be taken back whole: ledger reverse.
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.Number = args[0]
			p, f := num.ParseUnitPrice(amount, "")
			if f != nil {
				return asUsage(f.AtField("amount"))
			}
			req.Amount = p.Money
			done, err := a.Stockroom.SaleCredit(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("credit", &done)
		}))
	c.Flags().StringVar(&amount, "amount", "", "with tax, in the invoice's currency (required)")
	return r.writes(c)
}

func (r *root) saleList() *cobra.Command {
	var q stockroom.SaleList
	var period days
	var out output
	c := verb("list", "List sales with revenue, cost of sales and margin",
		`  lotpaper sale list --from 2026-01-01 --to 2026-03-31
  lotpaper sale list --by vendor -o sales.xlsx
`, cobra.NoArgs, r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			if err := period.read(&q.From, &q.To); err != nil {
				return err
			}
			sales, err := a.Stockroom.SaleList(ctx, q)
			if err != nil {
				return err
			}
			return r.list("sale-list", &sales, out)
		}))
	period.flags(c)
	c.Flags().StringVar(&q.By, "by", "sale", "sale, period, customer, vendor, parcel or species")
	c.Flags().BoolVar(&q.All, "all", false, "void sales too")
	out.ofList(c)
	return c
}
