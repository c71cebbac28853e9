package costing

import (
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

// Held is an item of stock beside what it could still bring.
type Held struct {
	Name       string
	Cost       num.Money
	Price      num.Money // estimated selling price; HasPrice false: unknown
	HasPrice   bool
	Completion num.Money // cost still to come
	Selling    num.Money // cost of the sale
}

// Valued is an item at the lower of cost and net realisable value.
type Valued struct {
	Name      string    `json:"name"`
	Cost      num.Money `json:"cost"`
	NRV       num.Money `json:"nrv"`
	Known     bool      `json:"nrv_known"` // no price: valued at cost, and said
	Value     num.Money `json:"value"`
	WriteDown num.Money `json:"write_down"`
}

// The keys of an item's valuation.
const (
	itemCost  formula.Key = "cost"
	itemNRV   formula.Key = "nrv"
	itemValue formula.Key = "value"
)

// Worth is what an item stands at, as an expression of its cost and its net
// realisable value: the lower of the two, at least 0.
func Worth(cost, nrv formula.Expr) formula.Expr {
	return formula.Max(formula.Int(0), formula.Min(cost, nrv))
}

// WriteDown is what an item's value is less than its cost.
func WriteDown(cost, value formula.Expr) formula.Expr { return cost.Minus(value) }

// Value puts each item at the lower of cost and net realisable value (price -
// completion - selling), item by item as IAS 2 (Inventories) asks, never by
// whole classes. A write-down may be reversed later up to the cost: Value is
// computed anew each time. It is no appraisal for insurance or tax.
func Value(items []Held) (rows []Valued, total num.Money, writeDown num.Money) {
	of := func(k formula.Key) formula.Expr { return formula.Of(k, string(k)) }
	worth, down := Worth(of(itemCost), of(itemNRV)), WriteDown(of(itemCost), of(itemValue))
	for _, h := range items {
		c := h.Cost.Currency()
		amount := func(x formula.Expr, inputs ...Input) num.Money {
			d, _ := valueOf(x, c.Digits(), inputs...) // every key is there, nothing is divided
			return num.MoneyFromDec(d, c, num.HalfUp)
		}
		v := Valued{Name: h.Name, Cost: h.Cost, Value: h.Cost, Known: h.HasPrice}
		cost := Input{Key: itemCost, Value: h.Cost.Dec()}
		if h.HasPrice {
			v.NRV = h.Price.Sub(h.Completion).Sub(h.Selling)
			v.Value = amount(worth, cost, Input{Key: itemNRV, Value: v.NRV.Dec()})
		}
		v.WriteDown = amount(down, cost, Input{Key: itemValue, Value: v.Value.Dec()})
		rows = append(rows, v)
		total, writeDown = total.Add(v.Value), writeDown.Add(v.WriteDown)
	}
	return rows, total, writeDown
}
