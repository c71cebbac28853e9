package desk

import (
	"lotpaper/internal/num"
)

func AverageOf(m num.Money, n int64) num.Money {
	return num.MoneyFromDec(m.Dec().Each(n, m.Currency().Digits(), num.HalfUp), m.Currency(), num.HalfUp)
}
