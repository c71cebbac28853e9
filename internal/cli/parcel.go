package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
)

func (r *root) parcelCommands() *cobra.Command {
	return r.group("parcel", "Parcels: import, buy, list, show, credit", r.parcelImport, r.parcelBuy, r.parcelList,
		r.parcelShow, r.parcelCredit)
}

func (r *root) parcelImport() *cobra.Command {
	var req stockroom.ParcelImport
	var currency, rate, stones, encoding, due string
	var per int64
	var opening bool
	c := verb("import FILE", "Take a vendor's list into the book",
		`  lotpaper parcel import parcel.csv --vendor "A Vendor" --currency USD --rate 0.92
  lotpaper parcel import parcel.xlsx --vendor "A Vendor" --dry-run

CSV or XLSX, columns in any order; see lotpaper template parcel. Nothing is
written when any row has a fault. With --offer the list is kept as an offer:
no stone comes in. With --opening it is the stock that you start with (see
lotpaper template opening): whom and when each lot was bought from, who has it.
With --customer they are a customer's own stones, in custody: counted and
weighed, never bought, sold, planned or valued.
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var f *fault.Fault
			if currency != "" {
				if req.Currency, f = num.ParseCurrency(currency); f != nil {
					return asUsage(f.AtField("currency"))
				}
			}
			if rate != "" {
				if req.Rate, f = num.ParseRate(rate, per); f != nil {
					return asUsage(f.AtField("rate"))
				}
			}
			var err error
			if req.Due, err = flagDate("due", due); err != nil {
				return err
			}
			in, err := r.input(args[0], encoding)
			if err != nil {
				return err
			}
			defer in.Close()
			req.File = in.Input
			if stones != "" {
				second, err := r.input(stones, encoding)
				if err != nil {
					return err
				}
				defer second.Close()
				req.Stones = &second.Input
			}
			if opening {
				return r.parcelOpening(ctx, a, req)
			}
			done, err := a.Stockroom.ParcelImport(ctx, req)
			if err != nil {
				return err
			}
			r.faults(done.Warnings)
			return r.wroteBook("parcel-import", &done)
		}))
	f := c.Flags()
	f.StringVar(&req.Vendor, "vendor", "", "who sells or lends it (required, unless --opening or --customer)")
	f.StringVar(&req.Customer, "customer", "", "whose own stones they are, taken into custody")
	f.BoolVar(&opening, "opening", false, "the stock that you start with, of all vendors, on the day of --date")
	f.StringVar(&req.Label, "parcel", "", "your own name for the parcel")
	f.StringVar(&currency, "currency", "", "of the prices (default: the file's column, else the book's)")
	f.StringVar(&rate, "rate", "", "book units per unit of that currency (default: the book's newest rate)")
	f.Int64Var(&per, "per", 1, "the rate is per 1, 100 or 1000 units")
	f.StringVar(&stones, "stones", "", "a second file with single stones")
	f.StringVar(&encoding, "encoding", "", "encoding of a CSV that is not UTF-8: windows-1252")
	f.StringVar(&due, "due", "", "when goods on memo in are due")
	f.BoolVar(&req.Offer, "offer", false, "keep it as an offer: no stone comes in")
	comes(c, &req.Office, firstOffice)
	return r.writes(c)
}

// parcelOpening takes the opening stock into the book.
func (r *root) parcelOpening(ctx context.Context, a *house.House, req stockroom.ParcelImport) error {
	for _, f := range []struct {
		field string
		given bool
	}{{"vendor", req.Vendor != ""}, {"parcel", req.Label != ""}, {"offer", req.Offer}, {"due", req.Due != ""},
		{"stones", req.Stones != nil}} {
		if f.given {
			return fault.New(fault.Usage, "opening-flag", "opening stock says it row by row", "leave the flag out").
				AtField(f.field)
		}
	}
	done, err := a.Stockroom.ParcelOpening(ctx, stockroom.ParcelOpening{Write: req.Write, Office: req.Office,
		Currency: req.Currency, Rate: req.Rate, File: req.File})
	if err != nil {
		return err
	}
	r.faults(done.Warnings)
	return r.wroteBook("parcel-opening", &done)
}

func (r *root) parcelList() *cobra.Command {
	var out output
	c := verb("list", "List the parcels", "", cobra.NoArgs,
		r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			parcels, err := a.Stockroom.ParcelList(ctx, stockroom.ParcelList{})
			if err != nil {
				return err
			}
			return r.list("parcel-show", &parcels, out)
		}))
	out.ofList(c)
	return c
}

func (r *root) parcelShow() *cobra.Command {
	return verb("show PARCEL", "Show a parcel, its charges and what is left of it", "", cobra.ExactArgs(1),
		r.reading(func(ctx context.Context, a *house.House, args []string) error {
			parcels, err := a.Stockroom.ParcelShow(ctx, stockroom.ParcelShow{Parcel: args[0]})
			if err != nil {
				return err
			}
			return r.show("parcel-show", &parcels)
		}))
}
