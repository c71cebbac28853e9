package costing

import (
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Exchanged is a foreign amount in the book's currency, with the rate kept.
type Exchanged struct {
	Foreign num.Money `json:"foreign"`
	Rate    num.Rate  `json:"rate"`
	On      book.Date `json:"on"`
	Amount  num.Money `json:"amount"`
	Source  string    `json:"source"`
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

// Exchange turns an amount into the card's currency at the card's dated rate.
func (c RateCard) Exchange(amount num.Money) (Exchanged, *fault.Fault) {
	if amount.Currency() == c.Currency || amount.Currency() == "" {
		return Exchanged{Foreign: amount, Amount: num.Zero(c.Currency).Add(amount), On: c.On,
			Formula: "already in the book's currency"}, nil
	}
	r, f := c.Need(RateFX, string(c.Currency)+"/"+string(amount.Currency()), string(amount.Currency()))
	if f != nil {
		return Exchanged{}, f
	}
	per := r.Per
	if per == 0 {
		per = 1
	}
	x, f := num.ParseRate(r.Value.String(), per)
	if f != nil {
		return Exchanged{}, f.At(fault.Where{Ref: RateFX + "/" + r.Name})
	}
	e, f := Exchange(amount, x, c.Currency)
	e.On, e.Source = r.On, r.Source
	return e, f
}
