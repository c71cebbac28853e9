package calc

import (
	"strconv"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// ShareRequest is a joint cost and the parts that bear it.
type ShareRequest struct {
	Total num.Money
	By    book.ShareKey
	Parts []costing.Part
}

// Share shares a joint cost over the parts of a parcel.
func Share(r ShareRequest) (answer.Calculation, error) {
	total, by, parts := r.Total, r.By, r.Parts
	s, faults := costing.ShareCost(total, by, parts)
	if faults.Blocks() {
		return none, faults
	}
	c := calculation(s.Formula+"; whole minor units by largest remainder, ties by order",
		"joint cost by relative sales value, net realisable value or units: Inventories, IAS 2.14")
	c.Input("total", total.String())
	c.Input("currency", string(total.Currency()))
	c.Input("by", string(by))
	given, rows := []answer.Figures{}, []answer.Figures{}
	check := num.Zero(total.Currency())
	for i, p := range s.Parts {
		in := parts[i]
		given = append(given, answer.Figures{fig("name", in.Name), fig("quantity", in.Quantity.String()),
			fig("price", in.Price.String()), fig("further", in.Further.String())})
		rows = append(rows, answer.Figures{fig("name", p.Name), fig("amount", p.Amount.String()),
			fig("each", p.Each.String()), fig("weight", p.Weight.String())})
		check = check.Add(p.Amount)
	}
	c.Inputs.Add("parts", given)
	c.Result.Add("parts", rows)
	c.Result.Add("sum", check.String())
	return *c, nil
}

// MarginRequest is a cost with one of margin, markup and price.
type MarginRequest struct {
	Cost    num.Money
	Basis   costing.Basis // empty: by Price
	Percent num.Percent
	Price   num.Money
}

// Margin is the price of a cost, with both of its percents.
func Margin(r MarginRequest) (answer.Calculation, error) {
	var p costing.Priced
	if r.Basis == "" {
		if r.Cost.Sign() < 0 || r.Price.Sign() <= 0 {
			return none, fault.New(fault.Invalid, "price-not-positive", "a price is more than 0 and a cost not "+
				"negative, but they are "+r.Price.String()+" and "+r.Cost.String(),
				"enter both as positive amounts").AtField("price")
		}
		p = costing.At(r.Cost, r.Price)
	} else {
		var f *fault.Fault
		if p, f = costing.PriceBy(r.Cost, r.Basis, r.Percent); f != nil {
			return none, f
		}
	}
	c := calculation(p.Formula, "margin is a share of the price, markup of the cost: Margin and markup (Monash "+
		"Business School, marketing dictionary: keystone)")
	c.Input("cost", r.Cost.String())
	c.Input("currency", string(r.Cost.Currency()))
	if r.Basis == "" {
		c.Input("price", r.Price.String())
	} else {
		c.Input(string(r.Basis)+"_percent", r.Percent.String())
	}
	c.Result.Add("price", p.Price.String())
	c.Result.Add("margin_percent", p.Margin.String())
	c.Result.Add("markup_percent", optional(p.Markup.String(), !p.Cost.IsZero()))
	c.Result.Add("profit", p.Profit.String())
	if p.Profit.Sign() < 0 {
		c.Note("the price is under the cost")
	}
	return *c, nil
}

// BreakEvenRequest is the price and cost of a unit, and the cost that does not
// grow with the units.
type BreakEvenRequest struct{ Price, Variable, Fixed num.Money }

// BreakEven is how much must be sold to earn the fixed cost.
func BreakEven(r BreakEvenRequest) (answer.Calculation, error) {
	price, variable, fixed := r.Price, r.Variable, r.Fixed
	b, faults := costing.BreakEvenOf(price, variable, fixed)
	if faults.Blocks() {
		return none, faults
	}
	c := calculation(b.Formula, "What is the break-even formula (AccountingCoach)")
	c.Input("price", price.String())
	c.Input("variable", variable.String())
	c.Input("fixed", fixed.String())
	c.Input("currency", string(price.Currency()))
	c.Result.Add("units", strconv.FormatInt(b.Units, 10))
	c.Result.Add("sales", b.Sales.String())
	c.Result.Add("contribution", b.Contribution.String())
	c.Result.Add("contribution_percent", b.Ratio.String())
	c.Result.Add("exact_units", b.Exact.String())
	c.Result.Add("exact_sales", b.ExactSales.String())
	return *c, nil
}

// FXRequest is an amount, the currency that it is wanted in and the rate.
type FXRequest struct {
	Amount num.Money
	Rate   num.Rate
	To     num.Currency
}

// FX turns an amount into another currency.
func FX(r FXRequest) (answer.Calculation, error) {
	amount, x, to := r.Amount, r.Rate, r.To
	e, f := costing.Exchange(amount, x, to)
	if f != nil {
		return none, f
	}
	c := calculation(e.Formula, "minor units: ISO 4217; the rate is yours")
	c.Input("amount", amount.String())
	c.Input("from", string(amount.Currency()))
	c.Input("to", string(to))
	c.Input("rate", x.String())
	c.Result.Add("amount", e.Amount.String())
	c.Result.Add("currency", string(to))
	c.Note("keep the foreign amount and the rate: the way back is never by division")
	return *c, nil
}
