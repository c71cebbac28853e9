package costing

import (
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Part is one product of a joint cost: a grade of a parcel.
type Part struct {
	Name     string
	Quantity num.Dec // pieces or carats, as the key asks
	Price    num.Dec // per unit; value and nrv
	Further  num.Dec // cost per unit still to come; nrv
}

// Shared is a part with its share of the joint cost.
type Shared struct {
	Name   string    `json:"name"`
	Weight num.Dec   `json:"weight"` // by which the cost was shared
	Amount num.Money `json:"amount"`
	Each   num.Dec   `json:"each"` // Amount / quantity, 6 decimals
}

// Sharing is a joint cost shared out.
type Sharing struct {
	Total   num.Money     `json:"total"`
	By      book.ShareKey `json:"by"`
	Parts   []Shared      `json:"parts"` // amounts add up to Total exactly
	Formula string        `json:"formula"`
}

var shareWords = map[book.ShareKey]string{
	book.ByValue:  "total x quantity x price / sum",
	book.ByNRV:    "total x quantity x (price - further cost) / sum",
	book.ByCarats: "total x carats / sum",
	book.ByPieces: "total x pieces / sum",
}

// ShareCost shares a joint cost over parts by relative sales value, net
// realisable value, carats or pieces, at the minor unit by largest remainder.
// A part whose further cost is above its price takes no share.
func ShareCost(total num.Money, by book.ShareKey, parts []Part) (Sharing, fault.List) {
	var faults fault.List
	words, ok := shareWords[by]
	if !ok {
		faults.Add(fault.New(fault.Usage, "share-key",
			"a cost is shared by value, nrv, carats or pieces, but not by \""+string(by)+"\"",
			"write value, nrv, carats or pieces").AtField("by"))
		return Sharing{}, faults
	}
	if len(parts) == 0 {
		faults.Add(fault.New(fault.Invalid, "parts-missing", "a cost is shared over at least one part",
			"add a part, NAME=QUANTITYxPRICE").AtField("part"))
	}
	if total.Sign() < 0 {
		faults.Add(fault.New(fault.Invalid, "total-negative", "a cost to share must not be negative, but is "+
			total.Words(),
			"enter it as a positive amount").AtField("total"))
	}
	weights := make([]num.Dec, len(parts))
	sum := num.Dec{}
	for i, p := range parts {
		if p.Quantity.Sign() <= 0 || p.Price.Sign() < 0 || p.Further.Sign() < 0 {
			faults.Add(fault.New(fault.Invalid, "part-negative", "the part "+p.Name+" has a quantity above 0, and a "+
				"price and further cost of at least 0", "correct the part").AtField("part"))
		}
		w := p.Quantity
		switch by {
		case book.ByValue:
			w = p.Quantity.Mul(p.Price)
		case book.ByNRV:
			w = p.Quantity.Mul(p.Price.Sub(p.Further))
			if w.Sign() < 0 {
				w = num.Dec{}
			}
		}
		weights[i] = w
		sum = sum.Add(w)
	}
	if len(faults) == 0 && sum.IsZero() {
		faults.Add(fault.New(fault.Invalid, "share-zero", "no part has a value to share the cost by",
			"give prices, or share by carats or pieces").AtField("part"))
	}
	if len(faults) > 0 {
		return Sharing{}, faults
	}
	s := Sharing{Total: total, By: by, Formula: words}
	for i, amount := range total.Share(weights) {
		each := amount.Dec().Over(parts[i].Quantity, 6, num.HalfUp)
		s.Parts = append(s.Parts, Shared{parts[i].Name, weights[i], amount, each})
	}
	return s, nil
}

// ParsePart reads NAME=QTYxPRICE-FURTHER; price and further cost are optional.
func ParsePart(s string) (Part, *fault.Fault) {
	bad := func(why string) *fault.Fault {
		return fault.New(fault.Usage, "part-format", "a part is NAME=QUANTITYxPRICE-FURTHER, but is \""+s+"\": "+why,
			"write e.g. I=70x800-250, or A=12.5 to share by carats or pieces").AtField("part")
	}
	name, rest, found := strings.Cut(s, "=")
	if !found || strings.TrimSpace(name) == "" {
		return Part{}, bad("there is no name and =")
	}
	p := Part{Name: strings.TrimSpace(name)}
	quantity, price, priced := strings.Cut(rest, "x")
	price, further, more := strings.Cut(price, "-")
	for _, f := range []struct {
		given bool
		text  string
		to    *num.Dec
	}{{true, quantity, &p.Quantity}, {priced, price, &p.Price}, {more, further, &p.Further}} {
		if !f.given {
			continue
		}
		d, flt := num.ParseDec(f.text)
		if flt != nil {
			return Part{}, bad(flt.What)
		}
		*f.to = d
	}
	return p, nil
}
