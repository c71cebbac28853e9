package lines

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/costing"
	"lotpaper/internal/fault"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/num"
)

// setOpenMargins gives every design without a trade price the margin that a
// plan can work with: the book's price for the cost of a unit whose stones are
// worth what the fitting stones are worth on average, less that cost. What the
// design is sold for is worked out afterwards, from the stones that the plan
// took. It reports whether any design was priced so.
func (b *basis) setOpenMargins(model *lineplan.Model, designs []lineplan.Design) bool {
	any := false
	for i := range designs {
		d := &designs[i]
		if d.PriceTrade.Sign() > 0 {
			continue
		}
		any = true
		if fixed := b.fixed[d.Name]; fixed.Sign() > 0 {
			d.Margin = fixed.Sub(b.bare[d.Name])
			continue
		}
		cost := b.bare[d.Name]
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
				cost = cost.Add(num.FromMinor(sum/n, b.currency))
			}
		}
		price := num.Zero(b.currency)
		if offered, faults := b.offered(i+1, d.Design, cost); !faults.Blocks() && len(offered) > 0 {
			price = offered[0].Price
		}
		d.Margin = price.Sub(b.bare[d.Name])
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
var assumed = map[string]func(c *config.Config, v num.Dec){
	"margin":        func(c *config.Config, v num.Dec) { c.Margin = num.Percent{Dec: v} },
	"markup":        func(c *config.Config, v num.Dec) { c.Markup = num.Percent{Dec: v} },
	"retail_markup": func(c *config.Config, v num.Dec) { c.RetailMarkup, c.HasRetail = num.Percent{Dec: v}, true },
	"tax":           func(c *config.Config, v num.Dec) { c.Tax = num.Percent{Dec: v} },
	"step":          func(c *config.Config, v num.Dec) { c.Step = v },
	"below":         func(c *config.Config, v num.Dec) { c.Below = v },
}

// setAssumed carries assumptions about rates and settings into the basis, and
// refuses those about nothing.
func (b *basis) setAssumed() fault.List {
	var l fault.List
	known := b.card.Names()
	for name := range assumed {
		known = append(known, name)
	}
	for _, d := range b.line.Designs {
		known = append(known, "price/"+d)
		for _, own := range []string{"metal_g", "fineness", "labour_min", "findings"} {
			known = append(known, "design/"+d+"/"+own)
		}
	}
	for key, v := range b.assume {
		stones := false // of a position and lot: known once the plan is made
		for _, d := range b.line.Designs {
			stones = stones || strings.HasPrefix(key, "design/"+d+"/")
		}
		switch set := assumed[key]; {
		case key == "tax" && (v.Sign() < 0 || v.Cmp(num.Int(100)) > 0):
			l.Add(fault.New(fault.Invalid, "tax-range", "a tax must lie between 0 and 100 %, but is "+v.String(),
				"enter percent, e.g. 19").AtRef(key))
		case set != nil:
			set(&b.config, v)
		case !stones && !slices.Contains(known, key):
			l.Add(fault.New(fault.NotFound, "assume-unknown", fmt.Sprintf("nothing in this line is called %q", key),
				cmp.Or(fault.DidYouMean(key, known), "name a rate as kind/name, a design's own number as "+
					"design/NAME/metal_g, or margin, markup, tax")).AtRef(key))
		}
	}
	b.card = assumeRates(b.card, b.assume)
	return l
}

// assumeDesign carries assumptions about a design's price into it.
func (b *basis) assumeDesign(d *book.Design) {
	if v, ok := b.assume["price/"+d.Name]; ok {
		d.PriceTrade = num.MoneyFromDec(v, b.currency, num.HalfUp)
	}
	if v, ok := b.assume["design/"+d.Name+"/fixed_cost"]; ok {
		d.FixedCost = num.MoneyFromDec(v, b.currency, num.HalfUp)
	}
}
