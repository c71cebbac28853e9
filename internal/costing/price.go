package costing

import (
	"fmt"

	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Basis says which of the two percents is meant: a margin is a share of the
// price, a markup a share of the cost.
type Basis string

// The bases.
const (
	Margin Basis = "margin"
	Markup Basis = "markup"
)

// Priced is a price with both of its percents.
type Priced struct {
	Cost    num.Money   `json:"cost"`
	Price   num.Money   `json:"price"`
	Profit  num.Money   `json:"profit"`
	Margin  num.Percent `json:"margin_percent"` // of the price, 2 decimals; 0 when the price is 0
	Markup  num.Percent `json:"markup_percent"` // of the cost, 2 decimals; 0 when the cost is 0
	Formula string      `json:"formula"`
}

// PriceBy is the price of a cost by margin (cost / (1 - margin)) or markup
// (cost x (1 + markup)), rounded half up to the minor unit.
func PriceBy(cost num.Money, basis Basis, percent num.Percent) (Priced, *fault.Fault) {
	if f := checkCost(cost); f != nil {
		return Priced{}, f
	}
	c := cost.Currency()
	switch basis {
	case Margin:
		if percent.Sign() < 0 || percent.Cmp(hundred) >= 0 {
			return Priced{}, fault.New(fault.Invalid, "margin-range", "a margin lies between 0 and under 100 % of the price, but is "+percent.String()+" %", "a percentage of the cost is a markup: use --markup "+percent.String()).AtFlag("margin")
		}
		d := cost.Dec().Mul(hundred).Over(hundred.Sub(percent.Dec), c.Digits(), num.HalfUp)
		p := At(cost, num.MoneyFromDec(d, c, num.HalfUp))
		p.Formula = "price = cost / (1 - margin)"
		return p, nil
	case Markup:
		if percent.Sign() < 0 {
			return Priced{}, fault.New(fault.Invalid, "markup-negative", "a markup is not negative, but is "+percent.String()+" %", "enter a positive percentage of the cost").AtFlag("markup")
		}
		p := At(cost, cost.Times(num.Int(1).Add(percent.Fraction()), num.HalfUp))
		p.Formula = "price = cost x (1 + markup)"
		return p, nil
	}
	return Priced{}, fault.New(fault.Invalid, "basis-unknown", "a percentage is a margin on the price or a markup on the cost, but is \""+string(basis)+"\"", "say margin or markup")
}

func checkCost(cost num.Money) *fault.Fault {
	if cost.Sign() < 0 {
		return fault.New(fault.Invalid, "cost-negative", "a cost is not negative, but is "+cost.Words(), "enter the cost as a positive amount").AtFlag("cost")
	}
	return nil
}

// At is what a given price earns on a cost.
func At(cost, price num.Money) Priced {
	p := Priced{Cost: cost, Price: price, Profit: price.Sub(cost), Formula: "margin = (price - cost) / price; markup = (price - cost) / cost"}
	p.Margin = num.PercentOf(p.Profit.Dec(), price.Dec(), 2)
	p.Markup = num.PercentOf(p.Profit.Dec(), cost.Dec(), 2)
	return p
}

// Points is a ladder of price points: multiples of Step less Below (step 5,
// below 0.05: 19.95, 24.95), reached upwards or to the nearest. A zero Step
// leaves prices as they are.
type Points struct {
	Step, Below num.Money
	Up          bool
}

// Tier is a class of buyers and what they pay.
type Tier struct {
	Name     string // trade, retail, memo ...
	Basis    Basis  // of Percent, on the piece's cost or on the price of From
	Percent  num.Percent
	From     string       // name of an earlier tier whose price is this one's cost (keystone on trade); empty: the piece's cost
	Fixed    num.Money    // a price that the user set; Percent is then not used
	Points   Points       // ladder for the price the buyer sees
	TaxIn    bool         // the price the buyer sees contains the tax
	Tax      num.Percent  // sales tax or VAT on the price
	Currency num.Currency // of the price list; empty: the book's
	FX       num.Rate     // book units per unit of Currency
	Breaks   []Break      // quantity breaks, by rising quantity
}

// Break is a discount from a quantity on.
type Break struct {
	From    int64       `json:"from"`
	Percent num.Percent `json:"percent"`
}

// Offered is one tier's price of a piece.
type Offered struct {
	Tier   string      `json:"tier"`
	Priced             // net of tax, in the book's currency, after rounding to the ladder
	Before num.Percent `json:"margin_before_rounding"`
	List   num.Money   `json:"list"`  // what the buyer sees, in the list's currency
	Tax    num.Money   `json:"tax"`   // contained in List or on top of it, list currency
	Gross  num.Money   `json:"gross"` // what the buyer pays, list currency
	Broken []BrokenAt  `json:"breaks,omitempty"`
	Words  string      `json:"words"`
}

// BrokenAt is the net price of one unit from a quantity on.
type BrokenAt struct {
	From   int64       `json:"from"`
	Price  num.Money   `json:"price"`
	Margin num.Percent `json:"margin_percent"`
}

// Prices works out the tiers in their order. A price under the cost is a
// warning, never a block: it stays visible.
func Prices(cost num.Money, tiers []Tier) ([]Offered, fault.List) {
	var faults fault.List
	var out []Offered
	if f := checkCost(cost); f != nil {
		return nil, fault.List{f}
	}
	for _, t := range tiers {
		base := cost
		if t.From != "" {
			i := indexOf(out, t.From)
			if i < 0 {
				faults.Add(fault.New(fault.Invalid, "tier-from", "the tier \""+t.Name+"\" builds on \""+t.From+"\", which is not an earlier tier", "name an earlier tier, or leave it empty").AtRef(t.Name))
				continue
			}
			base = out[i].Price
		}
		o, f := t.price(cost, base)
		faults.Add(f...)
		if !f.Blocks() {
			out = append(out, o)
		}
	}
	return out, faults
}

func indexOf(offered []Offered, tier string) int {
	for i, o := range offered {
		if o.Tier == tier {
			return i
		}
	}
	return -1
}

func (t Tier) price(cost, base num.Money) (Offered, fault.List) {
	var faults fault.List
	book := cost.Currency()
	if t.Tax.Sign() < 0 || t.Tax.Cmp(hundred) > 0 {
		faults.Add(fault.New(fault.Invalid, "tax-range", "a tax lies between 0 and 100 %, but is "+t.Tax.String(), "enter percent, e.g. 19").AtRef(t.Name))
	}
	list := t.Currency
	if list == "" {
		list = book
	}
	if list != book && t.FX == (num.Rate{}) {
		faults.Add(fault.New(fault.Invalid, "fx-missing", fmt.Sprintf("a price list in %s needs a rate of %s per %s", list, book, list), "import a dated rate: kind fx, name "+string(list)).AtRef(t.Name))
	}
	net := t.Fixed
	before := At(cost, net)
	words := "price set by hand"
	if net.IsZero() {
		p, f := PriceBy(base, t.Basis, t.Percent)
		if f != nil {
			faults.Add(f.AtRef(t.Name))
			return Offered{}, faults
		}
		net, before = p.Price, At(cost, p.Price)
		words = p.Formula + ", " + string(t.Basis) + " " + t.Percent.String() + " %"
		if t.From != "" {
			words += " on the " + t.From + " price"
		}
	}
	if faults.Blocks() {
		return Offered{}, faults
	}
	// What the buyer sees: in the list's currency, with the tax if it is in.
	gross := num.Int(1).Add(t.Tax.Fraction())
	seen := net.Dec()
	if list != book {
		seen = seen.Over(t.FX.PerOne(), 6, num.HalfUp)
	}
	if t.TaxIn {
		seen = seen.Mul(gross)
	}
	o := Offered{Tier: t.Name, Before: before.Margin}
	o.List = num.MoneyFromDec(seen, list, num.HalfUp).Ladder(t.Points.Step, t.Points.Below, t.Points.Up)
	if t.TaxIn {
		d := o.List.Dec().Over(gross, list.Digits(), num.HalfUp)
		o.Tax = o.List.Sub(num.MoneyFromDec(d, list, num.HalfUp))
		o.Gross = o.List
		words += "; tax of " + t.Tax.String() + " % in it"
	} else {
		o.Tax = o.List.Times(t.Tax.Fraction(), num.HalfUp)
		o.Gross = o.List.Add(o.Tax)
		if t.Tax.Sign() > 0 {
			words += "; tax of " + t.Tax.String() + " % on top"
		}
	}
	after := o.Gross.Sub(o.Tax)
	if list != book {
		after = after.Convert(t.FX, book, num.HalfUp)
	}
	o.Priced = At(cost, after)
	o.Words = words
	for _, b := range t.Breaks {
		if b.Percent.Sign() < 0 || b.Percent.Cmp(hundred) >= 0 || b.From < 1 {
			faults.Add(fault.New(fault.Invalid, "break-range", "a quantity break is 0 to under 100 % from a quantity of at least 1", "correct the break from "+fmt.Sprint(b.From)).AtRef(t.Name))
			continue
		}
		p := after.Times(num.Int(1).Sub(b.Percent.Fraction()), num.HalfUp)
		o.Broken = append(o.Broken, BrokenAt{b.From, p, At(cost, p).Margin})
		if p.Cmp(cost) < 0 {
			faults.Add(belowCost(fmt.Sprintf("%s from %d on", t.Name, b.From), p, cost))
		}
	}
	if after.Cmp(cost) < 0 {
		faults.Add(belowCost(t.Name, after, cost))
	}
	return o, faults
}

func belowCost(what string, price, cost num.Money) *fault.Fault {
	return fault.New(fault.Invalid, "price-below-cost", fmt.Sprintf("the %s price of %s is under the cost of %s", what, price.Words(), cost.Words()), "raise the price, or drop the design; the loss stays visible in the proposal").AtRef(what).AsWarning()
}

// Set is the price of several pieces sold together: the sum of their prices
// less a discount, rounded half up to the minor unit.
func Set(prices []num.Money, discount num.Percent) (num.Money, *fault.Fault) {
	total := num.Money{}
	for _, p := range prices {
		total = total.Add(p)
	}
	if discount.Sign() < 0 || discount.Cmp(hundred) >= 0 {
		return num.Money{}, fault.New(fault.Invalid, "discount-range", "a discount lies between 0 and under 100 %, but is "+discount.String(), "enter percent, e.g. 10")
	}
	return total.Times(num.Int(1).Sub(discount.Fraction()), num.HalfUp), nil
}
