package costing

import (
	"cmp"
	"fmt"
	"slices"

	"lotpaper/internal/fault"
	"lotpaper/internal/formula"
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
	of, by := Input{Key: "cost", Value: cost.Dec()}, Input{Key: "percent", Value: percent.Dec}
	x, f := priceBy(formula.Of(of.Key, "cost"), basis, by)
	if f != nil {
		return Priced{}, f
	}
	c := cost.Currency()
	d, _ := valueOf(x, c.Digits(), of, by)
	p := At(cost, num.MoneyFromDec(d, c, num.HalfUp))
	p.Formula = "price = " + x.Words()
	return p, nil
}

// priceBy is PriceBy as an expression, before rounding.
func priceBy(cost formula.Expr, basis Basis, by Input) (formula.Expr, *fault.Fault) {
	percent := formula.Of(by.Key, string(basis))
	switch p := by.Value; {
	case basis == Margin && (p.Sign() < 0 || p.Cmp(hundred) >= 0):
		return cost, fault.New(fault.Invalid, "margin-range", "a margin must lie between 0 and under 100 % of the "+
			"price, "+
			"but is "+p.String()+" %", "a percentage of the cost is a markup: give it as the markup").AtField("margin")
	case basis == Margin:
		return cost.Times(formula.Number(hundred)).Over(formula.Number(hundred).Minus(percent)).
			Named("cost / (1 - margin)"), nil
	case basis == Markup && p.Sign() < 0:
		return cost, fault.New(fault.Invalid, "markup-negative", "a markup must not be negative, but is "+
			p.String()+" %",
			"enter a positive percentage of the cost").AtField("markup")
	case basis == Markup:
		return cost.Times(formula.Int(1).Plus(percent.Percent())), nil
	}
	return cost, fault.New(fault.Invalid, "basis-unknown", "a percentage must be a margin on the price or a markup "+
		"on the "+
		"cost, but is \""+string(basis)+"\"", "say margin or markup")
}

func checkCost(cost num.Money) *fault.Fault {
	if cost.Sign() < 0 {
		return fault.New(fault.Invalid, "cost-negative", "a cost must not be negative, but is "+cost.Words(),
			"enter the cost as a positive amount").AtField("cost")
	}
	return nil
}

// At is what a given price earns on a cost.
func At(cost, price num.Money) Priced {
	p := Priced{Cost: cost, Price: price, Profit: price.Sub(cost), Formula: "margin = (price - cost) / price; markup " +
		"= (price - cost) / cost"}
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
	Name    string // trade, retail, memo ...
	Basis   Basis  // of Percent, on the piece's cost or on the price of From
	Percent num.Percent
	Key     formula.Key // of Percent; empty: the tier's own
	// name of an earlier tier whose price is this one's cost (keystone on trade); empty: the piece's cost
	From     string
	Fixed    num.Money    // what the buyer sees, set by the user; Percent is then not used
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
	Tier string      `json:"tier"`
	Key  formula.Key `json:"-"` // of List
	// ListExpr is how List follows from the cost and the tiers before; none for
	// a price set by hand. NetExpr is how Price follows from List.
	ListExpr formula.Expr `json:"-"`
	NetExpr  formula.Expr `json:"-"`
	Priced                // net of tax, in the book's currency, after rounding to the ladder
	Before   num.Percent  `json:"margin_before_rounding"`
	List     num.Money    `json:"list"`  // what the buyer sees, in the list's currency
	Tax      num.Money    `json:"tax"`   // contained in List or on top of it, list currency
	Gross    num.Money    `json:"gross"` // what the buyer pays, list currency
	Broken   []BrokenAt   `json:"breaks,omitempty"`
	Words    string       `json:"words"`
}

// BrokenAt is the net price of one unit from a quantity on.
type BrokenAt struct {
	From   int64        `json:"from"`
	Price  num.Money    `json:"price"`
	Margin num.Percent  `json:"margin_percent"`
	Expr   formula.Expr `json:"-"`
}

// The keys of what prices follow from, beside the percentages of the tiers.
const (
	TaxKey   formula.Key = "tax"
	StepKey  formula.Key = "step"
	BelowKey formula.Key = "below"
)

// Prices works out the tiers in their order, for the design of a number in its
// line. A price under the cost is a warning, never a block: it stays visible.
func Prices(number int, cost num.Money, tiers []Tier) ([]Offered, fault.List) {
	if f := checkCost(cost); f != nil {
		return nil, fault.List{f}
	}
	p := pricer{number: number, cost: cost, inputs: []Input{{Key: nodeKey(number), Value: cost.Dec()}}}
	for _, t := range tiers {
		p.tier(t)
	}
	return p.out, p.faults
}

// pricer works out the prices of one design.
type pricer struct {
	number int
	cost   num.Money
	inputs []Input // what the expressions read
	out    []Offered
	faults fault.List
}

// reads lets expressions read a number, called words.
func (p *pricer) reads(k formula.Key, value num.Dec, words string) formula.Expr {
	p.inputs = append([]Input{{Key: k, Value: value}}, p.inputs...) // the last tier's counts
	return formula.Of(k, words)
}

// money is what an expression gives, rounded half up to the minor unit of c.
func (p *pricer) money(x formula.Expr, c num.Currency) num.Money {
	d, err := valueOf(x, c.Digits(), p.inputs...)
	if err != nil {
		p.faults.Add(fault.New(fault.Invalid, "price-formula", "a price cannot be worked out: "+err.Error(),
			"check the book's settings"))
	}
	return num.MoneyFromDec(d, c, num.HalfUp)
}

func indexOf(offered []Offered, tier string) int {
	return slices.IndexFunc(offered, func(o Offered) bool { return o.Tier == tier })
}

// check refuses a tier that cannot be.
func (p *pricer) check(t Tier, list num.Currency) fault.List {
	var faults fault.List
	if t.Tax.Sign() < 0 || t.Tax.Cmp(hundred) > 0 {
		faults.Add(fault.New(fault.Invalid, "tax-range", "a tax must lie between 0 and 100 %, but is "+t.Tax.String(),
			"enter percent, e.g. 19").AtRef(t.Name))
	}
	if book := p.cost.Currency(); list != book && t.FX == (num.Rate{}) {
		faults.Add(fault.New(fault.Invalid, "fx-missing", fmt.Sprintf("a price list in %s needs a rate of %s per %s",
			list, book, list), "import a dated rate: kind fx, name "+string(list)).AtRef(t.Name))
	}
	if t.From != "" && indexOf(p.out, t.From) < 0 {
		faults.Add(fault.New(fault.Invalid, "tier-from", "the tier \""+t.Name+"\" builds on \""+t.From+
			"\", which is not an earlier tier", "name an earlier tier, or leave it empty").AtRef(t.Name))
	}
	return faults
}

// tier works out one tier.
func (p *pricer) tier(t Tier) {
	book, list := p.cost.Currency(), cmp.Or(t.Currency, p.cost.Currency())
	if faults := p.check(t, list); faults.Blocks() {
		p.faults.Add(faults...)
		return
	}
	o := Offered{Tier: t.Name, Key: formula.At("price", p.number, len(p.out)), List: t.Fixed,
		Words: "price set by hand"}
	if t.Fixed.IsZero() {
		if f := p.list(t, &o, list); f != nil {
			p.faults.Add(f.At(fault.Where{Ref: t.Name}))
			return
		}
	}
	tax := p.reads(TaxKey, t.Tax.Dec, "tax").Percent()
	net := p.reads(o.Key, o.List.Dec(), t.Name+" price")
	if t.TaxIn {
		net = net.Over(formula.Int(1).Plus(tax)).Round(list.Digits())
		o.NetExpr = net
		o.Tax, o.Gross = o.List.Sub(p.money(net, list)), o.List
	} else {
		o.Tax = o.List.Times(t.Tax.Fraction(), num.HalfUp)
		o.Gross = o.List.Add(o.Tax)
	}
	if t.Tax.Sign() > 0 {
		o.Words += "; tax of " + t.Tax.String() + " % " + map[bool]string{true: "in it", false: "on top"}[t.TaxIn]
	}
	if list != book {
		fx, per := p.exchange(t)
		net = net.Times(fx).Over(per).Round(book.Digits())
		o.NetExpr = net
	}
	o.Priced = At(p.cost, p.money(net, book))
	if !t.Fixed.IsZero() {
		o.Before = o.Margin
	}
	for _, b := range t.Breaks {
		if b.Percent.Sign() < 0 || b.Percent.Cmp(hundred) >= 0 || b.From < 1 {
			p.faults.Add(fault.New(fault.Invalid, "break-range", "a quantity break is 0 to under 100 % from a "+
				"quantity of at least 1", "correct the break from "+fmt.Sprint(b.From)).AtRef(t.Name))
			continue
		}
		x := net.Times(formula.Number(hundred).Minus(formula.Number(b.Percent.Dec))).Over(formula.Number(hundred)).
			Round(book.Digits())
		less := p.money(x, book)
		o.Broken = append(o.Broken, BrokenAt{b.From, less, At(p.cost, less).Margin, x})
		if less.Cmp(p.cost) < 0 {
			p.faults.Add(belowCost(fmt.Sprintf("%s from %d on", t.Name, b.From), less, p.cost))
		}
	}
	if o.Price.Cmp(p.cost) < 0 {
		p.faults.Add(belowCost(t.Name, o.Price, p.cost))
	}
	p.out = append(p.out, o)
}

// list works out what the buyer sees: in the list's currency, with the tax if
// it is in, on the ladder.
func (p *pricer) list(t Tier, o *Offered, list num.Currency) *fault.Fault {
	book := p.cost.Currency()
	base, on := formula.Of(nodeKey(p.number), "cost"), ""
	if i := indexOf(p.out, t.From); i >= 0 {
		from := p.out[i]
		on = " on the " + t.From + " price"
		key := from.Key
		if !from.NetExpr.IsZero() { // its list price is not its net price
			key += "/net"
		}
		base = p.reads(key, from.Price.Dec(), "cost")
	}
	by := Input{Key: cmp.Or(t.Key, formula.At("percent", p.number, len(p.out))), Value: t.Percent.Dec}
	p.reads(by.Key, by.Value, "")
	x, f := priceBy(base, t.Basis, by)
	if f != nil {
		return f
	}
	o.Words = "price = " + x.Words() + ", " + string(t.Basis) + " " + t.Percent.String() + " %" + on
	if x = x.Round(book.Digits()); t.Basis == Markup && t.Percent.IsZero() {
		x = base // a list in another currency is the same price
	}
	o.Before = At(p.cost, p.money(x, book)).Margin
	if list != book {
		fx, per := p.exchange(t)
		x = x.Times(per).Over(fx).Round(6)
	}
	if t.TaxIn {
		x = x.Times(formula.Int(1).Plus(p.reads(TaxKey, t.Tax.Dec, "tax").Percent()))
	}
	if list != book || t.TaxIn {
		x = x.Round(list.Digits())
	}
	o.ListExpr = p.ladder(x, t.Points, list)
	o.List = p.money(o.ListExpr, list)
	return nil
}

// exchange is a tier's rate of exchange, and how many units it is quoted per.
func (p *pricer) exchange(t Tier) (fx, per formula.Expr) {
	value, n := t.FX.Quoted()
	return p.reads(formula.Key(RateFX+"/"+string(t.Currency)), value, "rate of exchange"), formula.Int(n)
}

// ladder brings a price to a price point. Nine places keep every fraction of
// two amounts and drop the last bits of a binary quotient.
func (p *pricer) ladder(x formula.Expr, at Points, c num.Currency) formula.Expr {
	if at.Step.Sign() <= 0 {
		return x
	}
	step, below := p.reads(StepKey, at.Step.Dec(), "step"), p.reads(BelowKey, at.Below.Dec(), "below")
	steps := x.Plus(below).Over(step)
	if at.Up {
		steps = steps.Round(9).RoundUp(0)
	} else {
		steps = steps.Round(0)
	}
	return steps.Times(step).Minus(below).Round(c.Digits())
}

func belowCost(what string, price, cost num.Money) *fault.Fault {
	return fault.New(fault.Invalid, "price-below-cost", fmt.Sprintf("the %s price of %s is under the cost of %s", what,
		price.Words(), cost.Words()),
		"raise the price, or drop the design; the loss stays visible in the proposal").AtRef(what).AsWarning()
}

// Set is the price of several pieces sold together: the sum of their prices
// less a discount, rounded half up to the minor unit.
func Set(prices []num.Money, discount num.Percent) (num.Money, *fault.Fault) {
	total := num.Money{}
	for _, p := range prices {
		total = total.Add(p)
	}
	if discount.Sign() < 0 || discount.Cmp(hundred) >= 0 {
		return num.Money{}, fault.New(fault.Invalid, "discount-range",
			"a discount must lie between 0 and under 100 %, "+
				"but is "+discount.String(), "enter percent, e.g. 10")
	}
	return total.Times(num.Int(1).Sub(discount.Fraction()), num.HalfUp), nil
}
