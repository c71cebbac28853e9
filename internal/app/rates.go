package app

import (
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// loadRates reads every rate of the book as a card for one day. Behind them
// stand the published defaults, which say that they are none of the book's own.
func loadRates(ctx context.Context, tx store.ReadTx, on book.Date) (costing.RateCard, error) {
	rates, err := store.All[book.Rate](ctx, tx, "")
	return costing.RateCard{Currency: tx.Meta().Currency, On: on, Rates: append(rates, defaultRates()...)}, err
}

// defaultSource starts the source of a rate that is not the book's own.
const defaultSource = "default, not the book's own: "

func defaultRates() []book.Rate {
	rates := costing.DefaultRates()
	for i := range rates {
		rates[i].Source = defaultSource + rates[i].Source
	}
	return rates
}

// defaultsUsed warns of every default that stands in for a rate of the book.
func defaultsUsed(trees ...*costing.Node) fault.List {
	var out fault.List
	for _, t := range trees {
		for _, in := range t.Rates() {
			source, isDefault := strings.CutPrefix(in.Source, defaultSource)
			if !isDefault {
				continue
			}
			kind, name, _ := strings.Cut(in.Key, "/")
			out.Add(fault.New(fault.Invalid, "rate-default", fmt.Sprintf("%s %s %s stands in for a rate that the book does not have (%s)", in.Name, in.Value, in.Unit, source),
				fmt.Sprintf("import your own: kind %s, name %s", kind, name)).AtRef(in.Key).AsWarning())
		}
	}
	return distinct(out)
}

// RatesShow returns the rates: all of them, or those valid on a date; behind
// them, without a date, the defaults that stand in where the book has none.
func (a *App) RatesShow(ctx context.Context, kind string, on book.Date) ([]book.Rate, error) {
	out := []book.Rate{}
	err := a.view(ctx, func(tx store.ReadTx) error {
		all, err := store.All[book.Rate](ctx, tx, "")
		if err != nil {
			return err
		}
		newest := map[string]book.Date{}
		for _, r := range all {
			if k := r.Kind + "/" + r.Name; r.On <= on && r.On > newest[k] {
				newest[k] = r.On
			}
		}
		for _, r := range all {
			if (kind == "" || r.Kind == kind) && (on == "" || newest[r.Kind+"/"+r.Name] == r.On) {
				out = append(out, r)
			}
		}
		own := costing.RateCard{Rates: all}
		for _, r := range defaultRates() {
			if _, has := own.Find(r.Kind, r.Name); !has && (kind == "" || r.Kind == kind) {
				out = append(out, r)
			}
		}
		return nil
	})
	return out, err
}

// PricesShow returns the price list as of a date; an empty date returns all.
func (a *App) PricesShow(ctx context.Context, on book.Date) ([]book.Price, error) {
	out := []book.Price{}
	err := a.view(ctx, func(tx store.ReadTx) error {
		list, err := loadPrices(ctx, tx, on)
		out = append(out, list.rows...)
		return err
	})
	return out, err
}

// fxRate is the book's rate for a foreign currency on a day.
func fxRate(ctx context.Context, tx store.ReadTx, currency num.Currency, on book.Date) (num.Rate, bool, error) {
	card, err := loadRates(ctx, tx, on)
	if err != nil {
		return num.Rate{}, false, err
	}
	rate, ok, f := fxOf(card, currency)
	if f != nil {
		return rate, ok, f
	}
	return rate, ok, nil
}

// fxOf is a card's rate for a foreign currency.
func fxOf(card costing.RateCard, currency num.Currency) (num.Rate, bool, *fault.Fault) {
	r, ok := card.Find(costing.RateFX, string(currency))
	if !ok {
		return num.Rate{}, false, nil
	}
	rate, f := num.ParseRate(r.Value.String(), max(r.Per, 1))
	return rate, f == nil, f
}
