package costing

import (
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Exchanged is a foreign amount in the book's currency, with the rate kept.
type Exchanged struct {
	Foreign num.Money `json:"foreign"`
	Rate    num.Rate  `json:"rate"`
	Amount  num.Money `json:"amount"`
	Formula string    `json:"formula"`
}

// Exchange turns an amount into currency to at rate x (units of to per 1, 100
// or 1000 foreign units), rounded half up to the minor unit. The foreign
// amount and the rate are kept: the way back is never by division.
func Exchange(amount num.Money, x num.Rate, to num.Currency) (Exchanged, *fault.Fault) {
	if amount.Currency() == to {
		if !x.IsOne() {
			return Exchanged{}, fault.New(fault.Invalid, "fx-same", "an amount in "+string(to)+" needs no rate into "+
				string(to), "leave the rate out").AtField("rate")
		}
	} else if x == (num.Rate{}) {
		return Exchanged{}, fault.New(fault.Invalid, "fx-missing", "no rate is known from "+string(amount.Currency())+
			" to "+string(to), "give the rate, in "+string(to)+" per "+string(amount.Currency())+
			", or import a dated rate: kind fx, name "+string(amount.Currency())).AtField("rate")
	}
	return Exchanged{Foreign: amount, Rate: x, Amount: amount.Convert(x, to, num.HalfUp),
		Formula: "amount x rate, rounded half up to the minor unit of " + string(to)}, nil
}
