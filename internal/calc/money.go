package calc

import (
	"strconv"

	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Share shares a joint cost over the parts of a parcel.
func Share(total num.Money, by book.ShareKey, parts []costing.Part) (*Calculation, error) {
	s, faults := costing.ShareCost(total, by, parts)
	if faults.Blocks() {
		return nil, faults
	}
	c := calculation(s.Formula+"; whole minor units by largest remainder, ties by order",
		"joint cost by relative sales value, net realisable value or units: Inventories, IAS 2.14")
	c.in("total", total.String())
	c.in("currency", string(total.Currency()))
	c.in("by", string(by))
	given, rows := []Figures{}, []Figures{}
	check := num.Zero(total.Currency())
	for i, p := range s.Parts {
		in := parts[i]
		given = append(given, Figures{{"name", in.Name}, {"quantity", in.Quantity.String()},
			{"price", in.Price.String()}, {"further", in.Further.String()}})
		rows = append(rows, Figures{{"name", p.Name}, {"amount", p.Amount.String()}, {"each", p.Each.String()},
			{"weight", p.Weight.String()}})
		check = check.Add(p.Amount)
	}
	c.Inputs.Add("parts", given)
	c.Result.Add("parts", rows)
	c.Result.Add("sum", check.String())
	return c, nil
}

// MarginRequest is a cost with one of margin, markup and price.
type MarginRequest struct {
	Cost    num.Money
	Basis   costing.Basis // empty: by Price
	Percent num.Percent
	Price   num.Money
}

// Margin is the price of a cost, with both of its percents.
func Margin(m MarginRequest) (*Calculation, error) {
	var p costing.Priced
	if m.Basis == "" {
		if m.Cost.Sign() < 0 || m.Price.Sign() <= 0 {
			return nil, fault.New(fault.Invalid, "price-not-positive", "a price is more than 0 and a cost not "+
				"negative, but they are "+m.Price.String()+" and "+m.Cost.String(),
				"enter both as positive amounts").AtField("price")
		}
		p = costing.At(m.Cost, m.Price)
	} else {
		var f *fault.Fault
		if p, f = costing.PriceBy(m.Cost, m.Basis, m.Percent); f != nil {
			return nil, f
		}
	}
	c := calculation(p.Formula, "margin is a share of the price, markup of the cost: Margin and markup (Monash "+
		"Business School, marketing dictionary: keystone)")
	c.in("cost", m.Cost.String())
	c.in("currency", string(m.Cost.Currency()))
	if m.Basis == "" {
		c.in("price", m.Price.String())
	} else {
		c.in(string(m.Basis)+"_percent", m.Percent.String())
	}
	c.Result.Add("price", p.Price.String())
	c.Result.Add("margin_percent", p.Margin.String())
	c.Result.Add("markup_percent", optional(p.Markup.String(), !p.Cost.IsZero()))
	c.Result.Add("profit", p.Profit.String())
	if p.Profit.Sign() < 0 {
		c.note("the price is under the cost")
	}
	return c, nil
}

// BreakEven is how much must be sold to earn the fixed cost.
func BreakEven(price, variable, fixed num.Money) (*Calculation, error) {
	b, faults := costing.BreakEvenOf(price, variable, fixed)
	if faults.Blocks() {
		return nil, faults
	}
	c := calculation(b.Formula, "What is the break-even formula (AccountingCoach)")
	c.in("price", price.String())
	c.in("variable", variable.String())
	c.in("fixed", fixed.String())
	c.in("currency", string(price.Currency()))
	c.Result.Add("units", strconv.FormatInt(b.Units, 10))
	c.Result.Add("sales", b.Sales.String())
	c.Result.Add("contribution", b.Contribution.String())
	c.Result.Add("contribution_percent", b.Ratio.String())
	c.Result.Add("exact_units", b.Exact.String())
	c.Result.Add("exact_sales", b.ExactSales.String())
	return c, nil
}

// FX turns an amount into another currency.
func FX(amount num.Money, x num.Rate, to num.Currency) (*Calculation, error) {
	e, f := costing.Exchange(amount, x, to)
	if f != nil {
		return nil, f
	}
	c := calculation(e.Formula, "minor units: ISO 4217; the rate is yours")
	c.in("amount", amount.String())
	c.in("from", string(amount.Currency()))
	c.in("to", string(to))
	c.in("rate", x.String())
	c.Result.Add("amount", e.Amount.String())
	c.Result.Add("currency", string(to))
	c.note("keep the foreign amount and the rate: the way back is never by division")
	return c, nil
}
