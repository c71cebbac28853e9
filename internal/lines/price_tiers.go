package lines

import (
	"fmt"

	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// tiers are the prices that the book makes of a design, the trade price first.
func (b *basis) tiers(d book.Design) ([]costing.Tier, fault.List) {
	c, card := b.config, b.card
	var faults fault.List
	points := func(in num.Currency) costing.Points {
		return costing.Points{Step: num.MoneyFromDec(c.Step, in, num.HalfUp), Below: num.MoneyFromDec(c.Below, in,
			num.HalfUp), Up: c.Up}
	}
	trade := costing.Tier{Name: "trade", Fixed: d.PriceTrade, Breaks: c.Breaks}
	if trade.Fixed.Sign() <= 0 {
		trade.Fixed, trade.Basis, trade.Percent, trade.Key, trade.Points = num.Money{}, c.PriceBy, c.Margin, "margin",
			points(card.Currency)
		if c.PriceBy == costing.Markup {
			trade.Percent, trade.Key = c.Markup, "markup"
		}
	}
	out := []costing.Tier{trade}
	switch retail := (costing.Tier{Name: "retail", From: "trade", Basis: costing.Markup, Percent: c.RetailMarkup,
		Key: "retail_markup", Points: points(card.Currency), TaxIn: c.TaxIn, Tax: c.Tax}); {
	case d.PriceRetail.Sign() > 0:
		retail.Fixed = d.PriceRetail
		out = append(out, retail)
	case c.HasRetail:
		out = append(out, retail)
	}
	if c.MemoMarkup.Sign() > 0 {
		out = append(out, costing.Tier{Name: "memo", From: "trade", Basis: costing.Markup, Percent: c.MemoMarkup,
			Key: "memo_markup", Points: points(card.Currency)})
	}
	for _, list := range c.Lists {
		if list == card.Currency {
			continue
		}
		fx, f := listRate(card, list)
		faults.Add(f)
		if f == nil {
			out = append(out, costing.Tier{Name: "trade in " + string(list), From: "trade", Basis: costing.Markup,
				Points: points(list), Currency: list, FX: fx})
		}
	}
	return out, faults
}

// offered are the prices of a design, by its number in the line, at a cost. A
// retail price that the line sets is the wearer's: it includes the tax when the
// book says so, and is never rounded.
func (b *basis) offered(number int, d book.Design, cost num.Money) ([]costing.Offered,
	fault.List) {
	tiers, faults := b.tiers(d)
	if faults.Blocks() {
		return nil, faults
	}
	out, more := costing.Prices(number, cost, tiers)
	faults.Add(more...)
	if faults.Blocks() {
		return nil, faults
	}
	for i := range out {
		if list := out[i].List.Currency(); list != b.card.Currency {
			fx, _ := listRate(b.card, list)
			out[i].Words = fmt.Sprintf("the trade price at %s %s for one %s", fx.PerOne(), b.card.Currency, list)
		}
	}
	for i := range faults {
		faults[i] = faults[i].At(fault.Where{Ref: d.Name})
	}
	return out, faults
}

// listRate is the card's rate of a price list's currency.
func listRate(card costing.RateCard, list num.Currency) (num.Rate, *fault.Fault) {
	r, f := card.Need(costing.RateFX, string(card.Currency)+"/"+string(list), string(list))
	if f != nil {
		return num.Rate{}, f
	}
	rate, f := num.ParseRate(r.Value.String(), max(r.Per, 1))
	if f != nil {
		return num.Rate{}, f.At(fault.Where{Ref: costing.RateFX + "/" + r.Name})
	}
	return rate, nil
}
