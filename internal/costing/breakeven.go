package costing

import (
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// BreakEven is how much must be sold to earn the fixed cost.
type BreakEven struct {
	Contribution num.Money   `json:"contribution"` // of one unit: price - variable
	Ratio        num.Percent `json:"contribution_percent"`
	Units        int64       `json:"units"` // whole units, rounded up
	Sales        num.Money   `json:"sales"` // at the whole units
	Exact        num.Dec     `json:"exact_units"`
	ExactSales   num.Money   `json:"exact_sales"` // fixed / contribution ratio
	Formula      string      `json:"formula"`
}

// BreakEvenOf is fixed / (price - variable), in units (rounded up) and money.
func BreakEvenOf(price, variable, fixed num.Money) (BreakEven, fault.List) {
	var faults fault.List
	for _, x := range []struct {
		flag string
		m    num.Money
	}{{"price", price}, {"variable", variable}, {"fixed", fixed}} {
		if x.m.Sign() < 0 {
			faults.Add(fault.New(fault.Invalid, x.flag+"-negative", "the "+x.flag+" amount must not be negative, but "+
				"is "+
				x.m.Words(), "enter a positive amount").AtField(x.flag))
		}
	}
	b := BreakEven{Contribution: price.Sub(variable), Formula: "units = fixed / (price - variable), rounded up; " +
		"sales = units x price"}
	if b.Contribution.Sign() <= 0 && len(faults) == 0 {
		faults.Add(fault.New(fault.Invalid, "no-contribution", "a unit earns nothing: the price of "+price.Words()+
			" is not above the variable cost of "+variable.Words(), "raise the price or lower the variable cost; no "+
			"quantity breaks even").AtField("price"))
	}
	if len(faults) > 0 {
		return BreakEven{}, faults
	}
	b.Ratio = num.PercentOf(b.Contribution.Dec(), price.Dec(), 2)
	b.Exact = fixed.Dec().Over(b.Contribution.Dec(), 6, num.HalfUp)
	up := fixed.Dec().Over(b.Contribution.Dec(), 0, num.Ceiling)
	b.Units = int64(up.Float())
	sales := fixed.Dec().Mul(price.Dec()).Over(b.Contribution.Dec(), price.Currency().Digits(), num.HalfUp)
	b.ExactSales = num.MoneyFromDec(sales, price.Currency(), num.HalfUp)
	b.Sales = price.Times(up, num.HalfUp)
	return b, nil
}
