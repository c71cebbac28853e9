package desk

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/fault"
	"lotpaper/internal/intake"
	"lotpaper/internal/sheet"
	"lotpaper/internal/store"
)

// LoadRates reads every rate of the book as a card for one day. Behind them
// stand the published defaults, which say that they are none of the book's own.
func LoadRates(ctx context.Context, tx store.ReadTx, on book.Date) (costing.RateCard, error) {
	rates, err := store.All[book.Rate](ctx, tx, "")
	return costing.RateCard{Currency: tx.Meta().Currency, On: on, Rates: append(rates, costing.DefaultRates()...)}, err
}

// RatesImport asks to read rates from a sheet.
type RatesImport struct {
	Write
	File Input
}

// RatesImport reads a sheet of dated rates into the book.
func (desk *Desk) RatesImport(ctx context.Context, r RatesImport) (answer.Imported, error) {
	return ImportRows(ctx, desk, r.Write, r.File, "rates",
		func(tx store.ReadTx, f *sheet.File) ([]intake.Rate, fault.List) {
			return intake.ReadRates(f, tx.Meta().Currency)
		},
		func(_ store.Tx, _ int, row intake.Rate) (book.Record, *fault.Fault, error) { return row.Rate, nil, nil })
}

// RatesShow asks for the rates: of one kind or all, valid on a date or all.
type RatesShow struct {
	Kind string
	On   book.Date
}

// RatesShow returns the rates, and behind them the defaults that stand in where
// the book has none.
func (desk *Desk) RatesShow(ctx context.Context, r RatesShow) (answer.RatesShow, error) {
	out := answer.RatesShow{Rates: []book.Rate{}}
	err := desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.Head, err = desk.ListHead(ctx, tx, "Rates"); err != nil {
			return err
		}
		all, err := store.All[book.Rate](ctx, tx, "")
		if err != nil {
			return err
		}
		newest := map[string]book.Date{}
		for _, x := range all {
			if k := x.Kind + "/" + x.Name; x.On <= r.On && x.On > newest[k] {
				newest[k] = x.On
			}
		}
		wanted := func(kind string) bool { return r.Kind == "" || r.Kind == kind }
		for _, x := range all {
			if wanted(x.Kind) && (r.On == "" || newest[x.Kind+"/"+x.Name] == x.On) {
				out.Rates = append(out.Rates, x)
			}
		}
		own := costing.RateCard{Rates: all}
		for _, x := range costing.DefaultRates() {
			if _, has := own.Find(x.Kind, x.Name); !has && wanted(x.Kind) {
				out.Rates = append(out.Rates, x)
			}
		}
		return nil
	})
	return out, err
}
