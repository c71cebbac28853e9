package lines

import (
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/costing"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

// priceInputs are the dealer's own numbers that prices follow from.
func (w *proposalWriter) priceInputs() []answer.Input {
	c := w.config
	in := func(key formula.Key, label string, value num.Dec, unit string) answer.Input {
		return answer.Input{Key: key, Group: "Prices", Label: label, Value: value, Unit: unit,
			Source: "the book's setting " + string(key)}
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
		out = append(out, in("step", "Price ladder, step", c.Step, "currency unit"),
			in("below", "Price ladder, below the step", c.Below, "currency unit"))
		out[len(out)-2].Source, out[len(out)-1].Source = "the book's setting price_step",
			"the book's setting price_below"
	}
	tax := in("tax", "Sales tax on the retail price", c.Tax.Dec, "%")
	tax.Source += "; the law of the place of sale decides"
	out = append(out, tax)
	for _, list := range c.Lists {
		if r, ok := w.card.Find(costing.RateFX, string(list)); ok && list != w.currency {
			unit := string(w.currency) + "/" + string(list)
			if r.Per > 1 {
				unit = fmt.Sprintf("%s per %d %s", w.currency, r.Per, list)
			}
			out = append(out, answer.Input{Key: formula.Key(costing.RateFX + "/" + r.Name), Group: "Prices",
				Label: "Rate of exchange, " + r.Name, Value: r.Value, Unit: unit, On: r.On, Source: r.Source})
		}
	}
	return out
}

// priceTiers are a design's prices with their live formulas.
func (w *proposalWriter) priceTiers(d *pricedDesign) []answer.PriceTier {
	c := w.config
	tier := func(o costing.Offered) answer.PriceTier {
		price := answer.Node{Key: o.Key, Label: capital(o.Tier) + " price", Amount: o.List, Words: o.Words,
			Formula: o.ListExpr, Source: "the line's file"}
		if !o.ListExpr.IsZero() {
			price.Source = "the book's settings"
			if c.Step.Sign() > 0 {
				price.Words += ", on the price ladder"
			}
		}
		return answer.PriceTier{Tier: o.Tier, Tax: "without tax", NetOf: o.NetExpr, Price: price}
	}
	var out []answer.PriceTier
	for _, o := range d.prices {
		t := tier(o)
		if o.Tier == "retail" {
			t.Tax = "tax on top"
			if c.TaxIn {
				t.Tax = "tax included"
			}
		}
		for i, b := range o.Broken {
			t.Breaks = append(t.Breaks, answer.PriceBreak{From: b.From, Price: answer.Node{
				Key: formula.At(string(o.Key), i), Label: fmt.Sprintf("from %d", b.From), Amount: b.Price,
				Words:   "trade price less " + c.Breaks[i].Percent.String() + " %",
				Formula: b.Expr, Source: "the book's setting price_breaks"}})
		}
		out = append(out, t)
	}
	if d.open {
		return out
	}
	wanted := []costing.Tier{{Name: "at the wanted margin", Basis: costing.Margin, Percent: c.Margin, Key: "margin"}}
	if offered, faults := costing.Prices(d.unit.Number, d.cost.Amount, wanted); !faults.Blocks() {
		t := tier(offered[0])
		t.Price.Key, t.Price.Label = formula.At("wanted", d.unit.Number), "Trade price at the wanted margin"
		t.Price.Words, t.Price.Source = "cost / (1 - margin)", "the book's setting margin"
		out = append(out, t)
	}
	return out
}
