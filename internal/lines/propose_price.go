package lines

import (
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/costing"
	"lotpaper/internal/num"
)

// priceInputs are the dealer's own numbers that prices follow from.
func (w *ProposalWriter) priceInputs() []answer.Input {
	c := w.Config
	in := func(key, label string, value num.Dec, unit string) answer.Input {
		return answer.Input{Key: key, Group: "Prices", Label: label, Value: value, Unit: unit, Source: "the book's setting " + key}
	}
	out := []answer.Input{in("margin", "Wanted margin, share of the trade price", c.Margin.Dec, "%")}
	if c.PriceBy == costing.Markup {
		out = append(out, in("markup", "Wanted markup on the cost", c.Markup.Dec, "%"))
	}
	if c.HasRetail {
		out = append(out, in("retail_markup", "Markup of retail on the trade price", c.RetailMarkup.Dec, "%"))
	}
	if c.MemoMarkup.Sign() > 0 {
		out = append(out, in("memo_markup", "Markup of a piece left on memo", c.MemoMarkup.Dec, "%"))
	}
	if c.Step.Sign() > 0 {
		out = append(out, in("step", "Price ladder, step", c.Step, "currency unit"), in("below", "Price ladder, below the step", c.Below, "currency unit"))
		out[len(out)-2].Source, out[len(out)-1].Source = "the book's setting price_step", "the book's setting price_below"
	}
	tax := in("tax", "Sales tax on the retail price", c.Tax.Dec, "%")
	tax.Source += "; the law of the place of sale decides"
	out = append(out, tax)
	for _, list := range c.Lists {
		if r, ok := w.Card.Find(costing.RateFX, string(list)); ok && list != w.currency {
			unit := string(w.currency) + "/" + string(list)
			if r.Per > 1 {
				unit = fmt.Sprintf("%s per %d %s", w.currency, r.Per, list)
			}
			out = append(out, answer.Input{Key: costing.RateFX + "/" + r.Name, Group: "Prices", Label: "Rate of exchange, " + r.Name, Value: r.Value, Unit: unit, On: r.On, Source: r.Source})
		}
	}
	return out
}

// priceTiers are a design's prices with their live formulas; cost is the key
// of what one unit costs.
func (w *ProposalWriter) priceTiers(d PricedDesign, cost string) []answer.PriceTier {
	c := w.Config
	key := func(tier string) string { return "price/" + d.Design + "/" + tier }
	trade := "{" + key("trade") + "}"
	var out []answer.PriceTier
	for _, o := range d.Prices {
		list := o.List.Currency()
		t := answer.PriceTier{Tier: o.Tier, Tax: "without tax", Price: answer.Node{Key: key(o.Tier), Label: capital(o.Tier) + " price", Amount: o.List, Words: o.Words, Source: "the line's file"}}
		of := func(factor string) string { return fmt.Sprintf("ROUND(%s*%s,%d)", trade, factor, w.currency.Digits()) }
		live := func(formula string) {
			t.Price.Formula, t.Price.Source = c.Ladder(formula, list.Digits()), "the book's settings"
			if c.Step.Sign() > 0 {
				t.Price.Words += ", on the price ladder"
			}
		}
		switch {
		case o.Tier == "trade" && d.Open:
			made := fmt.Sprintf("ROUND({%s}*100/(100-{margin}),%d)", cost, list.Digits())
			if c.PriceBy == costing.Markup {
				made = fmt.Sprintf("ROUND({%s}*(1+{markup}/100),%d)", cost, list.Digits())
			}
			live(made)
		case o.Tier == "retail":
			t.Tax = "tax on top"
			if c.TaxIn {
				t.Tax = "tax included"
				t.NetOf = fmt.Sprintf("ROUND({%s}/(1+{tax}/100),%d)", key(o.Tier), list.Digits())
			}
			if d.design.PriceRetail.Sign() <= 0 {
				made := of("(1+{retail_markup}/100)")
				if c.TaxIn {
					made = fmt.Sprintf("ROUND(%s*(1+{tax}/100),%d)", made, list.Digits())
				}
				live(made)
			}
		case o.Tier == "memo":
			live(of("(1+{memo_markup}/100)"))
		case list != w.currency:
			per := "1"
			if r, ok := w.Card.Find(costing.RateFX, string(list)); ok && r.Per > 1 {
				per = num.Int(r.Per).String()
			}
			live(fmt.Sprintf("ROUND(ROUND(%s*%s/{fx/%s},6),%d)", trade, per, list, list.Digits()))
			t.NetOf = fmt.Sprintf("ROUND({%s}*{fx/%s}/%s,%d)", key(o.Tier), list, per, w.currency.Digits())
		}
		if o.Tier == "trade" {
			for i, b := range o.Broken {
				t.Breaks = append(t.Breaks, answer.PriceBreak{From: b.From, Price: answer.Node{
					Key: fmt.Sprintf("%s/%d", key("trade"), b.From), Label: fmt.Sprintf("from %d", b.From), Amount: b.Price, Words: "trade price less " + c.Breaks[i].Percent.String() + " %",
					Formula: fmt.Sprintf("ROUND(%s*(100-%s)/100,%d)", trade, c.Breaks[i].Percent, list.Digits()), Source: "the book's setting price_breaks"}})
			}
		}
		out = append(out, t)
	}
	if d.Open {
		return out
	}
	if wanted, f := costing.PriceBy(d.Cost.Amount, costing.Margin, c.Margin); f == nil {
		out = append(out, answer.PriceTier{Tier: "at the wanted margin", Tax: "without tax", Price: answer.Node{
			Key: key("margin"), Label: "Trade price at the wanted margin", Amount: wanted.Price, Words: "cost / (1 - margin)",
			Formula: fmt.Sprintf("ROUND({%s}*100/(100-{margin}),%d)", cost, w.currency.Digits()), Source: "the book's setting margin"}})
	}
	return out
}
