package costing

import (
	"fmt"
	"slices"

	"lotpaper/internal/fault"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

// LineDesign is one design of a line with what is made of it and sold at.
type LineDesign struct {
	Name     string
	Quantity int64     // pieces made
	Price    num.Money // net of tax, one unit
	Cost     *Node     // of one unit
	Fixed    num.Money // models, moulds, photography, minimum charges
}

// DesignResult is what a design brings into the line.
type DesignResult struct {
	Name         string      `json:"name"`
	Quantity     int64       `json:"quantity"`
	Price        num.Money   `json:"price"`
	Unit         num.Money   `json:"unit_cost"`
	Sales        num.Money   `json:"sales"`
	Variable     num.Money   `json:"variable"`
	Contribution num.Money   `json:"contribution"` // sales - variable
	Fixed        num.Money   `json:"fixed"`
	Profit       num.Money   `json:"profit"`           // contribution - fixed: what dropping it would lose
	Margin       num.Percent `json:"margin_percent"`   // of the price, per unit
	BreakEven    int64       `json:"break_even_units"` // -1: no quantity breaks even
	Short        int64       `json:"short_units"`      // break-even less quantity, when above 0
}

// LineResult is a line's economics, exact.
type LineResult struct {
	Designs      []DesignResult `json:"designs"` // in the order given
	Sales        num.Money      `json:"sales"`
	Variable     num.Money      `json:"variable"`
	Contribution num.Money      `json:"contribution"`
	Fixed        num.Money      `json:"fixed"`  // of the designs
	Shared       num.Money      `json:"shared"` // of the line: not saved by dropping a design
	Profit       num.Money      `json:"profit"`
	Drop         []string       `json:"drop"` // designs that the line earns more without, the worst first
	Words        string         `json:"words"`
}

// LineOf adds up a line: contribution by design and in all, break-even of each,
// and which design to drop first. The fixed cost of a design is saved when it
// is dropped; shared is not.
func LineOf(designs []LineDesign, shared num.Money) (LineResult, fault.List) {
	var faults fault.List
	r := LineResult{Shared: shared}
	for _, d := range designs {
		switch {
		case d.Cost == nil:
			faults.Add(fault.New(fault.Invalid, "cost-missing", "the design "+d.Name+" has no cost",
				"give every rate that its cost needs").AtRef(d.Name))
			continue
		case d.Quantity < 0 || d.Price.Sign() < 0 || d.Fixed.Sign() < 0:
			faults.Add(fault.New(fault.Invalid, "design-negative", "quantity, price and fixed cost of "+d.Name+
				" must not be negative", "enter positive numbers").AtRef(d.Name))
			continue
		}
		r.Designs = append(r.Designs, DesignResult{Name: d.Name, Quantity: d.Quantity, Price: d.Price,
			Unit: d.Cost.Amount, Fixed: d.Fixed})
	}
	if faults.Blocks() {
		return LineResult{}, faults
	}
	if err := r.compute(shared.Currency()); err != nil {
		faults.Add(fault.New(fault.Invalid, "line-formula", "the line cannot be worked out: "+err.Error(),
			"check prices and costs"))
		return LineResult{}, faults
	}
	for _, d := range r.Designs {
		if d.BreakEven < 0 {
			faults.Add(belowCost(d.Name, d.Price, d.Unit))
		}
	}
	worst := slices.Clone(r.Designs)
	slices.SortStableFunc(worst, func(a, b DesignResult) int { return a.Profit.Cmp(b.Profit) })
	for _, d := range worst {
		if d.Profit.Sign() < 0 {
			r.Drop = append(r.Drop, d.Name)
		}
	}
	switch {
	case len(r.Drop) > 0:
		r.Words = fmt.Sprintf("drop %s first: it loses %s", r.Drop[0], worst[0].Profit.Neg().Words())
	case len(worst) > 0:
		r.Words = fmt.Sprintf("every design earns its own fixed cost; the weakest is %s with %s", worst[0].Name,
			worst[0].Profit.Words())
	default:
		r.Words = "the line has no design"
	}
	return r, faults
}

// compute works out the line's figures from what its designs have given.
func (r *LineResult) compute(c num.Currency) error {
	const shared, after = formula.Key("=line/shared"), formula.Key("=line/after shared")
	given := map[formula.Key]num.Dec{shared: r.Shared.Dec()}
	var figures []formula.Figure
	for i, d := range r.Designs {
		for key, value := range d.given(i) {
			given[key] = value
		}
		figures = append(figures, DesignResults(i, unitCost(i))...)
	}
	figures = append(append(figures, LineResults(len(r.Designs))...), formula.Figure{Key: after,
		Expr: formula.Of(Earned.OfLine(), "").Minus(formula.Of(shared, ""))})
	values, err := formula.Values(given, figures)
	if err != nil {
		return err
	}
	v := results(values)
	for i := range r.Designs {
		d := &r.Designs[i]
		d.Sales, d.Variable = v.money(SalesAll.Of(i), c), v.money(CostsAll.Of(i), c)
		d.Contribution, d.Profit = v.money(Contribution.Of(i), c), v.money(Earned.Of(i), c)
		d.Margin = num.Percent{Dec: v.dec(MarginShare.Of(i), 2)}
		if d.BreakEven = v.units(BreakEvenAt.Of(i)); d.BreakEven >= 0 {
			d.Short = max(0, d.BreakEven-d.Quantity)
		}
	}
	r.Sales, r.Variable, r.Fixed = v.money(SalesAll.OfLine(), c), v.money(CostsAll.OfLine(), c),
		v.money(FixedCost.OfLine(), c)
	r.Contribution, r.Profit = v.money(Contribution.OfLine(), c), v.money(after, c)
	return nil
}

// unitCost is the key of what one unit of the i-th design costs.
func unitCost(i int) formula.Key { return formula.At("=unit cost", i) }

// given are the numbers that the results of the i-th design follow from.
func (d *DesignResult) given(i int) map[formula.Key]num.Dec {
	return map[formula.Key]num.Dec{PlannedUnits.Of(i): num.Int(d.Quantity), NetPrice.Of(i): d.Price.Dec(),
		FixedCost.Of(i): d.Fixed.Dec(), unitCost(i): d.Unit.Dec()}
}

// LineInput is a line before its costs are known: what each design takes, how
// many are made and at what price they sell.
type LineInput struct {
	Pieces []LinePiece
	Card   RateCard
	Shared num.Money
}

// LinePiece is one design of a line.
type LinePiece struct {
	PieceInput
	Quantity int64
	Price    num.Money // net of tax, one unit
	Fixed    num.Money
}

// Cost works out the tree of every design. The designs are numbered from 1.
func (l LineInput) Cost() ([]LineDesign, fault.List) {
	var faults fault.List
	out := make([]LineDesign, 0, len(l.Pieces))
	for i, p := range l.Pieces {
		tree, f := PieceCost(l.piece(i), l.Card)
		faults.Add(f...)
		out = append(out, LineDesign{Name: p.Design, Quantity: p.Quantity, Price: p.Price, Cost: tree, Fixed: p.Fixed})
	}
	return out, faults
}

// Sensitivity moves every input of the line over its range, ranked by effect.
// Ranges given by the user stand before the assumed ones; prices and quantities
// of designs are moved too.
func (l LineInput) Sensitivity(ranges ...Swing) ([]Moved, fault.List) {
	base, faults := l.Cost()
	if faults.Blocks() {
		return nil, faults
	}
	trees := make([]*Node, len(base))
	for i, d := range base {
		trees[i] = d.Cost
	}
	swings := slices.Clone(ranges)
	add := func(s Swing) {
		if !slices.ContainsFunc(swings, func(o Swing) bool { return o.Key == s.Key }) {
			swings = append(swings, s)
		}
	}
	for _, s := range Swings(trees...) {
		add(s)
	}
	for i := range base {
		add(SwingOf(l.PriceOf(i)))
		add(SwingOf(l.QuantityOf(i)))
	}
	line, lineFaults := LineOf(base, l.Shared)
	if lineFaults.Blocks() {
		return nil, lineFaults
	}
	return Sensitivity(swings, func(replaced map[formula.Key]num.Dec) (num.Money, fault.List) {
		return l.profit(base, line, replaced)
	})
}

// piece is the i-th design with its number.
func (l LineInput) piece(i int) PieceInput {
	in := l.Pieces[i].PieceInput
	in.Number = i + 1
	return in
}

// PriceOf is the price of the i-th design as an input.
func (l LineInput) PriceOf(i int) Input {
	p := l.Pieces[i]
	return Input{Key: formula.At("price of", i+1), Path: "price/" + p.Design, Name: p.Design + ": price",
		Value: p.Price.Dec(), Unit: string(l.Card.Currency), Kind: OfDesign}
}

// QuantityOf is how many of the i-th design are made, as an input.
func (l LineInput) QuantityOf(i int) Input {
	p := l.Pieces[i]
	return Input{Key: formula.At("quantity of", i+1), Path: "quantity/" + p.Design, Name: p.Design +
		": quantity made and sold", Value: num.Int(p.Quantity), Unit: "units", Kind: OfDesign}
}

// profit is the profit of a line with some inputs replaced; only designs that
// use one of them are costed and reckoned again.
func (l LineInput) profit(base []LineDesign, line LineResult, replaced map[formula.Key]num.Dec) (num.Money,
	fault.List) {
	card := l.Card.Replace(ByKey(replaced))
	total := line.Profit
	for i := range base {
		d := line.Designs[i]
		given := d.given(i)
		price, dearer := replaced[l.PriceOf(i).Key]
		quantity, more := replaced[l.QuantityOf(i).Key]
		if dearer {
			given[NetPrice.Of(i)] = num.MoneyFromDec(price, card.Currency, num.HalfUp).Dec()
		}
		if more {
			given[PlannedUnits.Of(i)] = quantity
		}
		costed := false
		for key := range replaced {
			if costed = base[i].Cost.uses(key); costed {
				break
			}
		}
		if costed {
			tree, faults := PieceCost(l.piece(i).Replace(ByKey(replaced)), card)
			if faults.Blocks() {
				return num.Money{}, faults
			}
			given[unitCost(i)] = tree.Amount.Dec()
		}
		if !costed && !dearer && !more {
			continue
		}
		values, err := formula.Values(given, DesignResults(i, unitCost(i)))
		if err != nil {
			return num.Money{}, fault.List{fault.New(fault.Invalid, "line-formula",
				"the line cannot be worked out: "+err.Error(), "check prices and costs").AtRef(d.Name)}
		}
		total = total.Add(results(values).money(Earned.Of(i), card.Currency)).Sub(d.Profit)
	}
	return total, nil
}
