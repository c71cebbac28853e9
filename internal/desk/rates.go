package desk

import (
	"context"

	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// LoadRates reads every rate of the book as a card for one day. Behind them
// stand the published defaults, which say that they are none of the book's own.
func LoadRates(ctx context.Context, tx store.ReadTx, on book.Date) (costing.RateCard, error) {
	rates, err := store.All[book.Rate](ctx, tx, "")
	return costing.RateCard{Currency: tx.Meta().Currency, On: on, Rates: append(rates, defaultRates()...)}, err
}

// DefaultSource starts the source of a rate that is not the book's own.
const DefaultSource = "default, not the book's own: "

func defaultRates() []book.Rate {
	rates := costing.DefaultRates()
	for i := range rates {
		rates[i].Source = DefaultSource + rates[i].Source
	}
	return rates
}

// RatesShow returns the rates: all of them, or those valid on a date; behind
// them, without a date, the defaults that stand in where the book has none.
func (desk *Desk) RatesShow(ctx context.Context, kind string, on book.Date) ([]book.Rate, error) {
	out := []book.Rate{}
	err := desk.View(ctx, func(tx store.ReadTx) error {
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
func (desk *Desk) PricesShow(ctx context.Context, on book.Date) ([]book.Price, error) {
	out := []book.Price{}
	err := desk.View(ctx, func(tx store.ReadTx) error {
		list, err := LoadPrices(ctx, tx, on)
		out = append(out, list.rows...)
		return err
	})
	return out, err
}

// FxRate is the book's rate for a foreign currency on a day.
func FxRate(ctx context.Context, tx store.ReadTx, currency num.Currency, on book.Date) (num.Rate, bool, error) {
	card, err := LoadRates(ctx, tx, on)
	if err != nil {
		return num.Rate{}, false, err
	}
	rate, ok, f := FxOf(card, currency)
	if f != nil {
		return rate, ok, f
	}
	return rate, ok, nil
}

// FxOf is a card's rate for a foreign currency.
func FxOf(card costing.RateCard, currency num.Currency) (num.Rate, bool, *fault.Fault) {
	r, ok := card.Find(costing.RateFX, string(currency))
	if !ok {
		return num.Rate{}, false, nil
	}
	rate, f := num.ParseRate(r.Value.String(), max(r.Per, 1))
	return rate, f == nil, f
}
