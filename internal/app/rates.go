package app

import (
	"context"

	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// loadRates reads every rate of the book as a card for one day.
func loadRates(ctx context.Context, tx store.ReadTx, on book.Date) (costing.RateCard, error) {
	rates, err := store.All[book.Rate](ctx, tx, "")
	return costing.RateCard{Currency: tx.Meta().Currency, On: on, Rates: rates}, err
}

// RatesShow returns the rates: all of them, or those valid on a date.
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
	r, ok := card.Find(costing.RateFX, string(currency))
	if !ok {
		return num.Rate{}, false, nil
	}
	per := r.Per
	if per == 0 {
		per = 1
	}
	rate, f := num.ParseRate(r.Value.String(), per)
	if f != nil {
		return num.Rate{}, false, f
	}
	return rate, true, nil
}
