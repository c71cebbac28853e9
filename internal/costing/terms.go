package costing

import (
	"fmt"
	"strings"

	"lotpaper/internal/fault"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

// Terms are how a parcel is paid and how its line turns back into money.
type Terms struct {
	CashDiscount num.Percent // off the price when it is paid at once
	PayDays      int64       // days until the price is paid; with a cash discount 0
	SellMonths   num.Dec     // mean months until the line is sold
	MoneyCost    num.Percent // interest a year on what is paid out
}

// The keys of terms.
const (
	DiscountKey formula.Key = "discount"
	DaysKey     formula.Key = "days"
	MonthsKey   formula.Key = "months"
	InterestKey formula.Key = "interest"
)

// CostOf is what a price costs in all, as an expression of the terms: less the
// cash discount, plus simple interest from the day of payment to the mean day
// of sale (365 days, months of 365/12 days), rounded half up to digits.
func CostOf(price formula.Expr, digits int) formula.Expr {
	percent := func(k formula.Key, words string) formula.Expr { return formula.Of(k, words).Percent() }
	year := formula.Int(365)
	days := formula.Of(MonthsKey, "months").Times(year).Over(formula.Int(12)).Round(6).
		Minus(formula.Of(DaysKey, "days"))
	paid := price.Times(formula.Int(1).Minus(percent(DiscountKey, "discount"))).Round(digits)
	return paid.Plus(paid.Times(percent(InterestKey, "interest")).Times(formula.Max(formula.Int(0), days)).Over(year).
		Round(digits))
}

// Cost is what a price costs by the terms.
func (t Terms) Cost(price num.Money) num.Money {
	c := price.Currency()
	d, _ := valueOf(CostOf(formula.Of("price", "price"), c.Digits()), c.Digits(),
		Input{Key: "price", Value: price.Dec()}, Input{Key: DiscountKey, Value: t.CashDiscount.Dec},
		// every key is there, no divisor is 0
		Input{Key: DaysKey, Value: num.Int(t.PayDays)}, Input{Key: MonthsKey, Value: t.SellMonths},
		Input{Key: InterestKey, Value: t.MoneyCost.Dec})
	return num.MoneyFromDec(d, c, num.HalfUp)
}

// Words says the terms on one line.
func (t Terms) Words() string {
	parts := []string{fmt.Sprintf("paid after %d days", t.PayDays)}
	if t.CashDiscount.Sign() > 0 {
		parts = append(parts, t.CashDiscount.String()+" % cash discount")
	}
	parts = append(parts, fmt.Sprintf("money at %s %% a year until the line is sold, %s months on average", t.MoneyCost,
		t.SellMonths))
	return strings.Join(parts, ", ")
}

// Check reports terms that cannot be.
func (t Terms) Check() fault.List {
	var faults fault.List
	if t.CashDiscount.Sign() < 0 || t.CashDiscount.Cmp(hundred) >= 0 {
		faults.Add(fault.New(fault.Invalid, "discount-range", "a cash discount must lie between 0 and under 100 %, "+
			"but is "+
			t.CashDiscount.String(), "enter percent, e.g. 3"))
	}
	if t.PayDays < 0 || t.SellMonths.Sign() < 0 || t.MoneyCost.Sign() < 0 {
		faults.Add(fault.New(fault.Invalid, "terms-negative", "days, months and the cost of money must not be negative",
			"enter positive numbers"))
	}
	return faults
}
