package answer

import (
	"fmt"

	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

// The figures that a proposal derives for each design and for the line.
const (
	planned      = "planned"
	fixed        = "fixed"
	net          = "net"  // first tier, without tax
	unitProfit   = "unit" // per unit
	margin       = "margin"
	sales        = "sales"
	costs        = "costs"
	contribution = "contribution"
	outcome      = "result"
	breakEven    = "breakeven"
	low          = "low"     // number of prices under the cost
	warned       = "warning" // in words
)

// ofDesign is the key of a figure of the i-th design. It starts with "=", so
// that it never meets a key of the model.
func ofDesign(what string, i int) formula.Key { return formula.At("="+what, i) }

// ofLine is the key of a figure of the line: the sum of that of all designs.
func ofLine(what string) formula.Key { return formula.Key("=line/" + what) }

// ofStone is the key of a figure of the i-th row of stones.
func ofStone(what string, i int) formula.Key { return formula.At("=stone "+what, i) }

// ofStones is the key of a figure of all stones.
func ofStones(what string) formula.Key { return formula.Key("=stones/" + what) }

// shareOf is the key of a node's share of its design's cost.
func shareOf(node formula.Key) formula.Key { return "=share/" + node }

// of reads a figure.
func of(k formula.Key) formula.Expr { return formula.Of(k, "") }

// percentOf is a part in percent of a whole, 0 where there is none.
func percentOf(part, whole formula.Expr) formula.Expr {
	zero := formula.Int(0)
	return formula.If(whole.Equals(zero), zero, part.Over(whole).Times(formula.Int(100)))
}

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
	for _, what := range []string{sales, costs, contribution, fixed, outcome, planned, low} {
		t.sum(ofLine(what), len(p.Designs), func(i int) formula.Key { return ofDesign(what, i) })
	}
	t.formula(ofLine(margin), percentOf(of(ofLine(contribution)), of(ofLine(sales))))
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
	list := "list of " + key
	members := make([]formula.Key, n)
	for i := range members {
		members[i] = member(i)
	}
	t.list(list, members)
	t.formula(key, formula.Sum(of(list)))
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
	at := func(what string) formula.Key { return ofDesign(what, i) }
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
	t.formula(at(unitProfit), of(at(net)).Minus(cost))
	unit := of(at(unitProfit))
	t.formula(at(margin), percentOf(unit, of(at(net))))
	t.formula(at(sales), of(at(planned)).Times(of(at(net))))
	t.formula(at(costs), of(at(planned)).Times(cost))
	t.formula(at(contribution), of(at(planned)).Times(unit))
	t.formula(at(outcome), of(at(contribution)).Minus(of(at(fixed))))
	// Nine places keep every fraction of two amounts and drop the last bits of
	// a binary quotient.
	pieces := of(at(fixed)).Over(unit).Round(9).RoundUp(0)
	t.formula(at(breakEven), formula.If(of(at(fixed)).Equals(zero), zero, formula.If(unit.More(zero), pieces,
		formula.Text("never"))))
}

// node adds a node and all below it; whole is the key that shares are of.
func (t *tally) node(n Node, whole formula.Key) {
	x := n.Formula
	if x.IsZero() && len(n.Children) > 0 {
		x = of(n.Children[0].Key)
		for _, c := range n.Children[1:] {
			x = x.Plus(of(c.Key))
		}
	}
	if x.IsZero() {
		t.input(n.Key, n.Amount.Dec())
	} else {
		t.formula(n.Key, x)
	}
	if whole != "" {
		t.formula(shareOf(n.Key), percentOf(of(n.Key), of(whole)))
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
