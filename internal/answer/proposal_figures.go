package answer

import (
	"fmt"

	"lotpaper/internal/costing"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

// The figures that a proposal derives for each design and for the line: those
// of costing, and two of its own.
const (
	planned      = costing.PlannedUnits
	fixed        = costing.FixedCost
	net          = costing.NetPrice // of the first tier
	unitProfit   = costing.UnitEarns
	margin       = costing.MarginShare
	sales        = costing.SalesAll
	costs        = costing.CostsAll
	contribution = costing.Contribution
	outcome      = costing.Earned
	breakEven    = costing.BreakEvenAt

	low    costing.Result = "low"     // number of prices under the cost
	warned costing.Result = "warning" // in words
)

// ofDesign is the key of a figure of the i-th design.
func ofDesign(what costing.Result, i int) formula.Key { return what.Of(i) }

// ofLine is the key of a figure of the line: the sum of that of all designs.
func ofLine(what costing.Result) formula.Key { return what.OfLine() }

// ofStone is the key of a figure of the i-th row of stones.
func ofStone(what string, i int) formula.Key { return formula.At("=stone "+what, i) }

// ofStones is the key of a figure of all stones.
func ofStones(what string) formula.Key { return formula.Key("=stones/" + what) }

// shareOf is the key of a node's share of its design's cost.
func shareOf(node formula.Key) formula.Key { return "=share/" + node }

// of reads a figure.
func of(k formula.Key) formula.Expr { return formula.Of(k, "") }

// figures builds the proposal's tally and checks it: every formula must give
// the amount that its node states.
func (p *Proposal) figures() (*tally, error) {
	t := newTally(p.Currency)
	for _, in := range p.Inputs {
		t.input(in.Key, in.Value)
	}
	t.stones(p)
	for i, d := range p.Designs {
		t.design(i, d)
	}
	t.reckon(costing.LineResults(len(p.Designs))...)
	t.reckon(formula.SumOf(ofLine(low), len(p.Designs), low.Of))
	t.formula(ofLine(warned), formula.If(of(ofLine(low)).More(formula.Int(0)),
		formula.Text("A price is lower than its cost: see the column Warning on the sheet Pieces."),
		formula.Text("No price is lower than its cost.")))
	if t.err != nil {
		return nil, t.err
	}
	return t, p.check(t)
}

// sum adds the sum of n figures, which lie below each other in one column.
func (t *tally) sum(key formula.Key, n int, member func(int) formula.Key) {
	t.reckon(formula.SumOf(key, n, member))
}

// stones adds cost and weights of the stones, with their totals.
func (t *tally) stones(p *Proposal) {
	total := num.Zero(p.Currency)
	for i, s := range p.Stones {
		t.input(ofStone("cost", i), s.Cost.Dec())
		t.input(ofStone("scale", i), s.Carats.Dec())
		t.formula(ofStone("stated", i), stated(of(ofStone("scale", i)), p.Carats))
		total = total.Add(s.Cost)
	}
	for _, what := range []string{"cost", "scale"} {
		t.sum(ofStones(what), len(p.Stones), func(i int) formula.Key { return ofStone(what, i) })
	}
	t.formula(ofStones("stated"), stated(of(ofStones("scale")), p.Carats))
	t.input(ofStones("book"), total.Dec())
	off := of(ofStones("cost")).Minus(of(ofStones("book"))).Round(p.Currency.Digits())
	t.formula(ofStones("check"), formula.If(off.Equals(formula.Int(0)), formula.Text("adds up to the book's cost"),
		formula.Text("differs from the book's cost")))
}

// stated is a scale reading in hundredths by the carat rule.
func stated(scale formula.Expr, rule num.CaratRule) formula.Expr {
	if rule == num.RuleHalfUp {
		return scale.Round(2)
	}
	return scale.Plus(formula.Number(num.Scaled(1, 3))).Round(3).RoundDown(2)
}

// design adds the inputs, the tree, the prices and what follows from them.
func (t *tally) design(i int, d ProposalDesign) {
	at := func(what costing.Result) formula.Key { return ofDesign(what, i) }
	zero, one := formula.Int(0), formula.Int(1)
	for _, in := range d.Inputs {
		t.input(in.Key, in.Value)
	}
	t.input(at(planned), num.Int(d.Planned))
	t.input(at(fixed), d.FixedCost.Dec())
	t.node(d.Cost, d.Cost.Key)
	cost := of(d.Cost.Key)
	under, words := zero, formula.Text("")
	for k, tier := range d.Prices {
		t.node(tier.Price, "")
		price := tier.NetOf
		if price.IsZero() {
			price = of(tier.Price.Key)
		}
		if k == 0 {
			t.formula(at(net), price)
		}
		under = under.Plus(formula.If(price.Less(cost), one, zero))
		words = formula.If(price.Less(cost), formula.Text("the "+tier.Tier+" price is lower than the cost"), words)
		for _, x := range tier.Breaks {
			t.node(x.Price, "")
		}
	}
	if len(d.Prices) == 0 {
		t.input(at(net), num.Dec{})
		words = formula.Text("no price")
	}
	t.formula(at(low), under)
	t.formula(at(warned), words)
	t.reckon(costing.DesignResults(i, d.Cost.Key)...)
}

// node adds a node and all below it; whole is the key that shares are of.
func (t *tally) node(n Node, whole formula.Key) {
	if n.Formula.IsZero() {
		t.input(n.Key, n.Amount.Dec())
	} else {
		t.formula(n.Key, n.Formula)
	}
	if whole != "" {
		t.formula(shareOf(n.Key), formula.PercentOf(of(n.Key), of(whole)))
	}
	for _, c := range n.Children {
		t.node(c, whole)
	}
}

// check compares every node's amount with what its formula gives, and makes
// sure that the other figures can be computed.
func (p *Proposal) check(t *tally) error {
	var walk func(n Node) error
	walk = func(n Node) error {
		d, err := t.dec(n.Key, 12)
		if err != nil {
			return err
		}
		if d.Cmp(n.Amount.Dec()) != 0 {
			return fmt.Errorf("%s is %s, but its formula gives %s", n.Key, n.Amount.Words(), d)
		}
		for _, c := range n.Children {
			if err := walk(c); err != nil {
				return err
			}
		}
		return nil
	}
	for _, d := range p.Designs {
		nodes := []Node{d.Cost}
		for _, tier := range d.Prices {
			if c := tier.Price.Amount.Currency(); c != p.Currency && c != "" && tier.NetOf.IsZero() {
				return fmt.Errorf("design %s: the %s price is in %s: how it becomes %s is not said", d.Design,
					tier.Tier, c, p.Currency)
			}
			nodes = append(nodes, tier.Price)
			for _, x := range tier.Breaks {
				nodes = append(nodes, x.Price)
			}
		}
		for _, n := range nodes {
			if err := walk(n); err != nil {
				return fmt.Errorf("design %s: %w", d.Design, err)
			}
		}
	}
	for _, key := range t.order {
		if _, err := t.get(key); err != nil {
			return err
		}
	}
	return nil
}
