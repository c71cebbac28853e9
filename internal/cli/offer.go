package cli

import (
	"context"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/lines"
	"lotpaper/internal/num"
)

// offerFlags are the flags of an offer before they are read.
type offerFlags struct {
	planFlags
	line, ask, target, discount, months, money, haircut, days string
	req                                                       lines.Offer
}

func (r *root) offerCommands() *cobra.Command {
	var o offerFlags
	var out output
	c := verb("offer PARCEL", "Say the most to pay for a parcel, given what a line can earn with it",
		`  lotpaper parcel import list.csv --vendor "A Vendor" --offer     the list alone: no stone comes in
  lotpaper offer P7 --line Sea --target 1500
  lotpaper offer P7 --line Sea --cash-discount 3 --months 8 --money-cost 7 --haircut 30
  lotpaper offer P7 --line Sea -o offer.xlsx
  lotpaper offer ask P7 --total 4800 --party "A Vendor"
  lotpaper offer bid P7 --total 4100 --party "A Vendor" --date 2026-03-31
  lotpaper offer list P7

Finds the highest price of zero expected profit, and those at which the target
is reached with a chance of 50 and 90 %, each with the plan behind it, and the
next minor unit that misses it with the same random numbers. The line is planned
again at every price that changes its task. What is left over is worth its loose
price less the haircut. Profit is what the parcel adds to the line; --whole
counts all that the line earns. The parcel may be only on offer, or in the book;
no stock moves and nothing is written.
`, cobra.ExactArgs(1), r.reading(func(ctx context.Context, a *house.House, args []string) error {
			own, err := bookCurrency(ctx, a)
			if err != nil {
				return err
			}
			req, err := o.request(r, own, args[0])
			if err != nil {
				return err
			}
			done, err := a.Lines.Offer(ctx, req)
			if err != nil {
				return err
			}
			r.faults(done.Warnings)
			if out.path != "" {
				wb, err := done.Workbook()
				if err != nil {
					return err
				}
				if err := r.writeWorkbook(wb, out); err != nil {
					return err
				}
				r.wrote(out.path)
			}
			if out.path == "-" && !r.Streams.JSON { // stdout is the workbook
				return nil
			}
			return r.show("offer", &done)
		}))
	o.flags(c)
	out.flags(c, "")
	c.Flags().StringVar(&r.date, "date", "", "rates and prices of this day, YYYY-MM-DD (default: today in the book's "+
		"zone)")
	c.AddCommand(r.offerAdd("ask"), r.offerAdd("bid"), r.offerList())
	return c
}

func (o *offerFlags) flags(c *cobra.Command) {
	o.planFlags.flags(c)
	f := c.Flags()
	f.StringVar(&o.line, "line", "", "the line that the stones are for (required)")
	f.StringVar(&o.req.Per, "per", "carat", "what the price is quoted by: carat, piece or total")
	f.StringVar(&o.ask, "ask", "", "the seller's price in all (default: the newest ask that is kept)")
	f.StringVar(&o.target, "target", "0", "profit that the parcel must bring")
	f.StringVar(&o.discount, "cash-discount", "", "percent off the price when it is paid at once (default: the "+
		"book's setting)")
	f.StringVar(&o.days, "pay-days", "", "days until the parcel is paid (default: the book's setting)")
	f.StringVar(&o.months, "months", "", "mean months until the line is sold (default: the book's setting)")
	f.StringVar(&o.money, "money-cost", "", "what money costs, percent a year (default: the book's setting)")
	f.StringVar(&o.haircut, "haircut", "", "percent off the loose price of leftovers (default: the book's setting)")
	f.IntVar(&o.req.Runs, "runs", 0, "runs of each simulation (default 10000)")
	f.StringSliceVar(&o.req.Only, "only", nil, "count only these doubts: "+
		strings.Join(lines.Risk{}.Doubts(), ", ")+", or none")
	f.BoolVar(&o.req.Whole, "whole", false, "count the whole line's profit, not only what the parcel adds")
}

// bookCurrency is the currency of the open book: amounts on the command line
// are in it.
func bookCurrency(ctx context.Context, a *house.House) (num.Currency, error) {
	show, err := a.Desk.ConfigShow(ctx, desk.ConfigShow{})
	return num.Currency(show.Currency), err
}

// request is the flags as a request for a parcel; amounts are in own.
func (o *offerFlags) request(r *root, own num.Currency, parcel string) (lines.Offer, error) {
	req := o.req
	if o.line == "" {
		return req, fault.New(fault.Usage, "offer-line", "an offer is for the stones of a line",
			"name it with --line").AtField("line")
	}
	var err error
	if req.Plan, err = o.planFlags.request(r, o.line); err != nil {
		return req, err
	}
	req.Parcel = parcel
	for _, m := range []struct {
		flag, value string
		to          *num.Money
	}{{"ask", o.ask, &req.Ask}, {"target", o.target, &req.Target}} {
		if m.value == "" {
			continue
		}
		v, f := num.ParseMoney(m.value, own)
		if f == nil && v.Sign() < 0 {
			f = fault.New(fault.Usage, m.flag+"-negative", "the "+m.flag+" must not be negative, but is "+v.Words(),
				"enter an amount of at least 0")
		}
		if f != nil {
			return req, asUsage(f.AtField(m.flag))
		}
		*m.to = v
	}
	t := &req.Terms
	for _, p := range []struct {
		flag, value string
		to          **num.Percent
	}{{"cash-discount", o.discount, &t.CashDiscount}, {"money-cost", o.money, &t.MoneyCost}, {"haircut", o.haircut,
		&t.Haircut}} {
		if p.value == "" {
			continue
		}
		v, f := num.ParsePercent(p.value)
		if f != nil {
			return req, asUsage(f.AtField(p.flag))
		}
		*p.to = &v
	}
	if o.months != "" {
		m, err := flagDec("months", o.months)
		if err != nil {
			return req, err
		}
		t.SellMonths = &m
	}
	if o.days != "" {
		n, err := strconv.ParseInt(o.days, 10, 64)
		if err != nil {
			return req, fault.New(fault.Usage, "days-form", "days are a whole number, but are \""+o.days+"\"",
				"write e.g. 60").AtField("pay_days")
		}
		t.PayDays = &n
	}
	return req, nil
}

func (r *root) offerAdd(side string) *cobra.Command {
	req := lines.OfferAdd{Side: side}
	var total, carat, currency, rate string
	var per int64
	short := map[string]string{"ask": "Keep what the seller asks for a parcel",
		"bid": "Keep what was bid for a parcel"}[side]
	c := verb(side+" PARCEL", short, "  lotpaper offer "+side+` P7 --total 4800 --party "A Vendor"
  lotpaper offer `+side+` P7 --per-carat 31.50 --currency USD --rate 0.92
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
		in, err := bookCurrency(ctx, a)
		if err != nil {
			return err
		}
		var f *fault.Fault
		if currency != "" {
			if in, f = num.ParseCurrency(currency); f != nil {
				return asUsage(f.AtField("currency"))
			}
		}
		if rate != "" {
			if req.Rate, f = num.ParseRate(rate, per); f != nil {
				return asUsage(f.AtField("rate"))
			}
		}
		for _, m := range []struct {
			flag, value string
			to          *num.Money
		}{{"total", total, &req.Total}, {"per-carat", carat, &req.PerCarat}} {
			if m.value != "" {
				if *m.to, f = num.ParseMoney(m.value, in); f != nil {
					return asUsage(f.AtField(m.flag))
				}
			}
		}
		req.Parcel = args[0]
		done, err := a.Lines.OfferAdd(ctx, req)
		if err != nil {
			return err
		}
		return r.wroteBook("offer-"+side, &done)
	}))
	f := c.Flags()
	f.StringVar(&total, "total", "", "the amount in all")
	f.StringVar(&carat, "per-carat", "", "the amount per carat, instead")
	f.StringVar(&currency, "currency", "", "of the amount (default: the book's)")
	f.StringVar(&rate, "rate", "", "book units per unit of that currency (default: the book's newest rate)")
	f.Int64Var(&per, "per", 1, "the rate is per 1, 100 or 1000 units")
	f.StringVar(&req.Party, "party", "", "who named it (default: the parcel's vendor)")
	f.StringVar(&req.Note, "note", "", "anything else")
	return r.writes(c)
}

func (r *root) offerList() *cobra.Command {
	var out output
	c := verb("list PARCEL", "List the asks and bids for a parcel", "", cobra.ExactArgs(1),
		r.reading(func(ctx context.Context, a *house.House, args []string) error {
			offers, err := a.Lines.OfferList(ctx, lines.OfferList{Parcel: args[0]})
			if err != nil {
				return err
			}
			return r.list("offer-list", &offers, out)
		}))
	out.ofList(c)
	return c
}
