package lines

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/num"
)

// openPrices gives every design without a trade price the one that a plan can
// work with: the book's price for the cost of a unit whose stones are worth
// what the fitting stones are worth on average. What the design is sold for is
// worked out afterwards, from the stones that the plan took. It tells whether
// any design was priced so.
func (p *Planned) openPrices(model *lineplan.Model) bool {
	any := false
	for i := range p.Designs {
		d := &p.Designs[i]
		if d.PriceTrade.Sign() > 0 {
			continue
		}
		any = true
		if fixed := p.fixedPrice(d.Name); fixed.Sign() > 0 {
			d.Margin = fixed.Sub(p.bare[d.Name])
			continue
		}
		cost := p.bare[d.Name]
		for _, pos := range model.Problem.Designs[i].Positions {
			sum, n := int64(0), int64(0) // of whole positions, in minor units
			for _, e := range pos.Entries {
				sum, n = sum+e.Cost*int64(pos.Count), n+1
			}
			for _, e := range pos.Edges {
				sum, n = sum+e.Cost, n+1
			}
			for _, ref := range pos.References {
				for _, slot := range ref.Slots {
					part := int64(0)
					for _, e := range slot.Entries {
						part += e.Cost
					}
					if len(slot.Entries) > 0 {
						sum += part * int64(slot.Count) / int64(len(slot.Entries))
					}
				}
				n++
			}
			if n > 0 {
				cost = cost.Add(num.FromMinor(sum/n, p.currency))
			}
		}
		price := num.Zero(p.currency)
		if offered, faults := p.Config.Offered(p.Card, i+1, d.Design, cost); !faults.Blocks() && len(offered) > 0 {
			price = offered[0].Price
		}
		d.Margin = price.Sub(p.bare[d.Name])
	}
	return any
}

// assumeRates is the card with the assumed rates, which say that they are.
func assumeRates(card costing.RateCard, assume map[string]num.Dec) costing.RateCard {
	own := card
	card = card.Replace(costing.ByPath(assume))
	for i := range card.Rates {
		r := &card.Rates[i]
		if _, ok := assume[r.Kind+"/"+r.Name]; ok {
			if before, known := own.Find(r.Kind, r.Name); known {
				r.Source = "assumed, instead of " + before.Value.String()
			}
		}
	}
	return card
}

// assumed are the settings that an assumption may replace.
var assumed = map[string]func(c *desk.Config, v num.Dec){
	"margin":        func(c *desk.Config, v num.Dec) { c.Margin = num.Percent{Dec: v} },
	"markup":        func(c *desk.Config, v num.Dec) { c.Markup = num.Percent{Dec: v} },
	"retail_markup": func(c *desk.Config, v num.Dec) { c.RetailMarkup, c.HasRetail = num.Percent{Dec: v}, true },
	"tax":           func(c *desk.Config, v num.Dec) { c.Tax = num.Percent{Dec: v} },
	"step":          func(c *desk.Config, v num.Dec) { c.Step = v },
	"below":         func(c *desk.Config, v num.Dec) { c.Below = v },
}

// checkAssumed refuses assumptions about nothing, and carries those about
// settings into the configuration of this plan.
func (p *Planned) checkAssumed(line book.Line) fault.List {
	var l fault.List
	known := p.Card.Names()
	for name := range assumed {
		known = append(known, name)
	}
	for _, d := range line.Designs {
		known = append(known, "price/"+d)
		for _, own := range []string{"metal_g", "fineness", "labour_min", "findings"} {
			known = append(known, "design/"+d+"/"+own)
		}
	}
	for key, v := range p.assume {
		stones := false // of a position and lot: known once the plan is made
		for _, d := range line.Designs {
			stones = stones || strings.HasPrefix(key, "design/"+d+"/")
		}
		switch set := assumed[key]; {
		case key == "tax" && (v.Sign() < 0 || v.Cmp(num.Int(100)) > 0):
			l.Add(fault.New(fault.Invalid, "tax-range", "a tax lies between 0 and 100 %, but is "+v.String(),
				"enter percent, e.g. 19").AtRef(key))
		case set != nil:
			set(&p.Config, v)
		case !stones && !slices.Contains(known, key):
			l.Add(fault.New(fault.NotFound, "assume-unknown", fmt.Sprintf("nothing in this line is called %q", key),
				cmp.Or(fault.DidYouMean(key, known), "name a rate as kind/name, a design's own number as "+
					"design/NAME/metal_g, or margin, markup, tax")).AtRef(key))
		}
	}
	return l
}

// assumeDesign carries assumptions about a design's price into it.
func (p *Planned) assumeDesign(d *book.Design) {
	if v, ok := p.assume["price/"+d.Name]; ok {
		d.PriceTrade = num.MoneyFromDec(v, p.currency, num.HalfUp)
	}
	if v, ok := p.assume["design/"+d.Name+"/fixed_cost"]; ok {
		d.FixedCost = num.MoneyFromDec(v, p.currency, num.HalfUp)
	}
}

// PricedSet is pieces that are sold together.
type PricedSet struct {
	Designs []string
	Price   costing.Priced
}

// Set prices designs that are sold together: their trade prices less the
// setting set_discount.
func (l *LinePrice) Set(designs []string) (PricedSet, error) {
	out := PricedSet{}
	var prices []num.Money
	cost := num.Zero(l.currency)
	for _, name := range designs {
		name = strings.TrimSpace(name)
		found := false
		for i := range l.Designs {
			if d := &l.Designs[i]; strings.EqualFold(d.Design, name) {
				found = true
				out.Designs = append(out.Designs, d.Design)
				prices, cost = append(prices, d.Trade.Price), cost.Add(d.Cost.Amount)
			}
		}
		if !found {
			var names []string
			for _, d := range l.Designs {
				names = append(names, d.Design)
			}
			return out, fault.New(fault.NotFound, "design-unknown", "the line has no design "+name,
				cmp.Or(fault.DidYouMean(name, names), "see the line")).AtField("set").Do("line", "show", l.Line)
		}
	}
	price, f := costing.Set(prices, l.Config.SetDiscount)
	if f != nil {
		return out, f
	}
	out.Price = costing.At(cost, price)
	return out, nil
}
