package costing

import (
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

// Value puts each item at the lower of cost and net realisable value (price -
// completion - selling), item by item as IAS 2 (Inventories) asks, never by
// whole classes. A write-down may be reversed later up to the cost: Value is
// computed anew each time. It is no appraisal for insurance or tax.
func Value(items []Held) (rows []Valued, total num.Money, writeDown num.Money) {
	for _, h := range items {
		v := Valued{Name: h.Name, Cost: h.Cost, Value: h.Cost, Known: h.HasPrice,
			WriteDown: num.Zero(h.Cost.Currency())}
		if h.HasPrice {
			v.NRV = h.Price.Sub(h.Completion).Sub(h.Selling)
			if v.NRV.Cmp(h.Cost) < 0 {
				v.Value = v.NRV
				if v.Value.Sign() < 0 {
					v.Value = num.Zero(h.Cost.Currency())
				}
				v.WriteDown = h.Cost.Sub(v.Value)
			}
		}
		rows = append(rows, v)
		total, writeDown = total.Add(v.Value), writeDown.Add(v.WriteDown)
	}
	return rows, total, writeDown
}
