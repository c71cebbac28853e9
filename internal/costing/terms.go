package costing

import (
	"fmt"
	"strings"

	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Terms are how a parcel is paid and how its line turns back into money.
type Terms struct {
	CashDiscount num.Percent // off the price when it is paid at once
	PayDays      int64       // days until the price is paid; with a cash discount 0
	SellMonths   num.Dec     // mean months until the line is sold
	MoneyCost    num.Percent // interest a year on what is paid out
}

// Cost is what a price costs in all: less the cash discount, plus simple
// interest from the day of payment to the mean day of sale (365 days, months
// of 365/12 days), rounded half up to the minor unit.
func (t Terms) Cost(price num.Money) num.Money {
	paid := price.Times(num.Int(1).Sub(t.CashDiscount.Fraction()), num.HalfUp)
	return paid.Add(t.interest(paid))
}

func (t Terms) interest(paid num.Money) num.Money {
	days := t.SellMonths.Mul(num.Int(365)).Over(num.Int(12), 6, num.HalfUp)
	if days = days.Sub(num.Int(t.PayDays)); days.Sign() <= 0 {
		return num.Zero(paid.Currency())
	}
	d := paid.Dec().Mul(t.MoneyCost.Fraction()).Mul(days).Over(num.Int(365), paid.Currency().Digits(), num.HalfUp)
	return num.MoneyFromDec(d, paid.Currency(), num.HalfUp)
}

// Words says the terms on one line.
func (t Terms) Words() string {
	parts := []string{fmt.Sprintf("paid after %d days", t.PayDays)}
	if t.CashDiscount.Sign() > 0 {
		parts = append(parts, t.CashDiscount.String()+" % cash discount")
	}
	parts = append(parts, fmt.Sprintf("money at %s %% a year until the line is sold, %s months on average", t.MoneyCost, t.SellMonths))
	return strings.Join(parts, ", ")
}

// Check reports terms that cannot be.
func (t Terms) Check() fault.List {
	var faults fault.List
	if t.CashDiscount.Sign() < 0 || t.CashDiscount.Cmp(hundred) >= 0 {
		faults.Add(fault.New(fault.Invalid, "discount-range", "a cash discount lies between 0 and under 100 %, but is "+t.CashDiscount.String(), "enter percent, e.g. 3"))
	}
	if t.PayDays < 0 || t.SellMonths.Sign() < 0 || t.MoneyCost.Sign() < 0 {
		faults.Add(fault.New(fault.Invalid, "terms-negative", "days, months and the cost of money are not negative", "enter positive numbers"))
	}
	return faults
}
