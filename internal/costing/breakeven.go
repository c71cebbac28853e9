package costing

import (
	"lotpaper/internal/fault"
	"lotpaper/internal/formula"
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
	b := BreakEven{Contribution: price.Sub(variable)}
	if b.Contribution.Sign() <= 0 && len(faults) == 0 {
		faults.Add(fault.New(fault.Invalid, "no-contribution", "a unit earns nothing: the price of "+price.Words()+
			" is not above the variable cost of "+variable.Words(), "raise the price or lower the variable cost; no "+
			"quantity breaks even").AtField("price"))
	}
	if len(faults) > 0 {
		return BreakEven{}, faults
	}
	of := func(k formula.Key) formula.Expr { return formula.Of(k, string(k)) }
	unit := of("price").Minus(of("variable"))
	exact := of("fixed").Over(unit)
	values, err := formula.Values(map[formula.Key]num.Dec{"price": price.Dec(), "variable": variable.Dec(),
		"fixed": fixed.Dec()}, []formula.Figure{
		{Key: "ratio", Expr: formula.PercentOf(unit, of("price"))}, {Key: "exact", Expr: exact},
		{Key: "units", Expr: breakEven(of("fixed"), unit)}, {Key: "sales", Expr: of("units").Times(of("price"))},
		{Key: "exact sales", Expr: exact.Times(of("price"))}})
	if err != nil {
		return BreakEven{}, fault.List{fault.New(fault.Invalid, "break-even-formula", err.Error(), "check the amounts")}
	}
	v, c := results(values), price.Currency()
	b.Ratio, b.Exact = num.Percent{Dec: v.dec("ratio", 2)}, v.dec("exact", 6)
	b.Units, b.Sales, b.ExactSales = v.units("units"), v.money("sales", c), v.money("exact sales", c)
	b.Formula = "units = " + exact.Words() + ", rounded up; sales = " + of("units").Times(of("price")).Words()
	return b, nil
}
