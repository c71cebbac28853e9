package desk

import (
	"fmt"

	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// netOf is a price without the tax that it includes; a tax is never negative.
func netOf(price num.Money, tax num.Percent) num.Money {
	q := price.Dec().Over(num.Int(1).Add(tax.Fraction()), price.Currency().Digits(), num.HalfUp)
	return num.MoneyFromDec(q, price.Currency(), num.HalfUp)
}

// tiers are the prices that the book makes of a design, the trade price first.
func (c Config) tiers(card costing.RateCard, d book.Design) ([]costing.Tier, fault.List) {
	var faults fault.List
	points := func(in num.Currency) costing.Points {
		return costing.Points{Step: num.MoneyFromDec(c.Step, in, num.HalfUp), Below: num.MoneyFromDec(c.Below, in, num.HalfUp), Up: c.Up}
	}
	trade := costing.Tier{Name: "trade", Fixed: d.PriceTrade, Breaks: c.Breaks}
	if trade.Fixed.Sign() <= 0 {
		trade.Fixed, trade.Basis, trade.Percent, trade.Points = num.Money{}, c.PriceBy, c.Margin, points(card.Currency)
		if c.PriceBy == costing.Markup {
			trade.Percent = c.Markup
		}
	}
	out := []costing.Tier{trade}
	if d.PriceRetail.Sign() <= 0 && c.HasRetail {
		out = append(out, costing.Tier{Name: "retail", From: "trade", Basis: costing.Markup, Percent: c.RetailMarkup, Points: points(card.Currency), TaxIn: c.TaxIn, Tax: c.Tax})
	}
	if c.MemoMarkup.Sign() > 0 {
		out = append(out, costing.Tier{Name: "memo", From: "trade", Basis: costing.Markup, Percent: c.MemoMarkup, Points: points(card.Currency)})
	}
	for _, list := range c.Lists {
		if list == card.Currency {
			continue
		}
		fx, f := listRate(card, list)
		faults.Add(f)
		if f == nil {
			out = append(out, costing.Tier{Name: "trade in " + string(list), From: "trade", Basis: costing.Markup, Points: points(list), Currency: list, FX: fx})
		}
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
		return num.Rate{}, f.AtRef(costing.RateFX + "/" + r.Name)
	}
	return rate, nil
}

// Offered are a design's prices at a cost. A retail price that the line sets
// is the wearer's: it includes the tax when the book says so, and is never
// rounded.
func (c Config) Offered(card costing.RateCard, d book.Design, cost num.Money) ([]costing.Offered, fault.List) {
	tiers, faults := c.tiers(card, d)
	if faults.Blocks() {
		return nil, faults
	}
	out, more := costing.Prices(cost, tiers)
	faults.Add(more...)
	if faults.Blocks() {
		return nil, faults
	}
	for i := range out {
		if list := out[i].List.Currency(); list != card.Currency {
			fx, _ := listRate(card, list)
			out[i].Words = fmt.Sprintf("the trade price at %s %s for one %s", fx.PerOne(), card.Currency, list)
		}
	}
	if d.PriceRetail.Sign() > 0 {
		o := c.setRetail(d.PriceRetail, cost)
		if o.Price.Cmp(cost) < 0 {
			faults.Add(fault.New(fault.Invalid, "price-below-cost", fmt.Sprintf("the retail price without tax, %s, is under the cost of %s", o.Price.Words(), cost.Words()), "raise the price, or drop the design; the loss stays visible in the proposal").AsWarning())
		}
		out = append(out[:1:1], append([]costing.Offered{o}, out[1:]...)...)
	}
	for i := range faults {
		faults[i] = faults[i].AtRef(d.Name)
	}
	return out, faults
}

// setRetail is a retail price that the line sets.
func (c Config) setRetail(price, cost num.Money) costing.Offered {
	o := costing.Offered{Tier: "retail", List: price, Words: "price set by hand"}
	net := price
	switch {
	case c.Tax.Sign() == 0:
		o.Gross = price
		o.Tax = num.Zero(price.Currency())
	case c.TaxIn:
		net = netOf(price, c.Tax)
		o.Tax, o.Gross = price.Sub(net), price
		o.Words += "; tax of " + c.Tax.String() + " % in it"
	default:
		o.Tax = price.Times(c.Tax.Fraction(), num.HalfUp)
		o.Gross = price.Add(o.Tax)
		o.Words += "; tax of " + c.Tax.String() + " % on top"
	}
	o.Priced = costing.At(cost, net)
	o.Before = o.Margin
	return o
}

// Ladder brings a price to the book's price points.
func (c Config) Ladder(price string, digits int) string {
	switch {
	case c.Step.Sign() <= 0:
		return price
	case c.Up:
		return fmt.Sprintf("ROUND(ROUNDUP(ROUND((%s+{below})/{step},9),0)*{step}-{below},%d)", price, digits)
	}
	return fmt.Sprintf("ROUND(ROUND((%s+{below})/{step},0)*{step}-{below},%d)", price, digits)
}
