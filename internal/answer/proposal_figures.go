package answer

import (
	"fmt"
	"strings"

	"lotpaper/internal/num"
)

// The figures that a proposal derives for each design and for the line. Their
// keys start with "=" so that they never meet a key of the model.
func plannedKey(d string) string { return "=planned/" + d }

func fixedKey(d string) string { return "=fixed/" + d }

func netKey(d string) string { return "=net/" + d } // first tier, without tax

func unitProfitKey(d string) string { return "=unit/" + d }

func marginKey(d string) string { return "=margin/" + d }

func salesKey(d string) string { return "=sales/" + d }

func costsKey(d string) string { return "=costs/" + d }

func contributionKey(d string) string { return "=contribution/" + d }

func resultKey(d string) string { return "=result/" + d }

func breakEvenKey(d string) string { return "=breakeven/" + d }

func lowKey(d string) string { return "=low/" + d } // number of prices under the cost

func warningKey(d string) string { return "=warning/" + d } // in words

func shareKey(node string) string { return "=share/" + node }

func stoneKey(i int) string { return fmt.Sprintf("=stone/%d", i) }

func statedKey(i int) string { return fmt.Sprintf("=stated/%d", i) }

func scaleKey(i int) string { return fmt.Sprintf("=scale/%d", i) }

// StonesKey is the list of the costs of all stones of a design, for formulas:
// SUM({=stones/R1}) / {=planned/R1}.
func StonesKey(design string) string { return "=stones/" + design }

// figures builds the proposal's tally and checks it: every formula must give
// the amount that its node states.
func (p *Proposal) figures() (*tally, error) {
	t := newTally(p.Currency)
	b := tallyBuilder{t: t}
	for _, in := range p.Inputs {
		b.input(in.Key, in.Value)
	}
	b.stones(p)
	lists := map[string][]string{}
	for _, d := range p.Designs {
		b.design(d)
		for _, k := range []func(string) string{salesKey, costsKey, contributionKey, fixedKey, resultKey, plannedKey, lowKey} {
			name := "=all/" + k("")
			lists[name] = append(lists[name], k(d.Design))
		}
	}
	for _, k := range []func(string) string{salesKey, costsKey, contributionKey, fixedKey, resultKey, plannedKey, lowKey} {
		name := "=all/" + k("")
		t.list(name, lists[name])
		b.formula(totalKey(k), "SUM({"+name+"})")
	}
	b.formula("=line/margin", fmt.Sprintf("IF({%s}=0,0,{%s}/{%s}*100)", totalKey(salesKey), totalKey(contributionKey), totalKey(salesKey)))
	b.formula("=line/warning", fmt.Sprintf(`IF({%s}>0,"A price is lower than its cost: see the column Warning on the sheet Pieces.","No price is lower than its cost.")`, totalKey(lowKey)))
	if b.err != nil {
		return nil, b.err
	}
	return t, p.check(t)
}

// totalKey is the sum of a figure over all designs.
func totalKey(k func(string) string) string { return "=line/" + k("") }

// tallyBuilder adds figures and keeps the first error.
type tallyBuilder struct {
	t   *tally
	err error
}

func (b *tallyBuilder) input(key string, v num.Dec) {
	if err := b.t.input(key, v); err != nil && b.err == nil {
		b.err = err
	}
}

func (b *tallyBuilder) formula(key, formula string) {
	if err := b.t.formula(key, formula); err != nil && b.err == nil {
		b.err = err
	}
}

// stones adds cost and weights of the stones, with their totals.
func (b *tallyBuilder) stones(p *Proposal) {
	all := map[string][]string{}
	lists := map[string][]string{}
	for i, s := range p.Stones {
		b.input(stoneKey(i), s.Cost.Dec())
		b.input(scaleKey(i), s.Carats.Dec())
		b.formula(statedKey(i), statedFormula("{"+scaleKey(i)+"}", p.Carats))
		lists[s.Design] = append(lists[s.Design], stoneKey(i))
		all["cost"] = append(all["cost"], stoneKey(i))
		all["scale"] = append(all["scale"], scaleKey(i))
	}
	for _, d := range p.Designs {
		b.t.list(StonesKey(d.Design), lists[d.Design])
	}
	b.t.list("=all/cost", all["cost"])
	b.t.list("=all/scale", all["scale"])
	b.formula("=stones/cost", "SUM({=all/cost})")
	b.formula("=stones/scale", "SUM({=all/scale})")
	b.formula("=stones/stated", statedFormula("{=stones/scale}", p.Carats))
	total := num.Zero(p.Currency)
	for _, s := range p.Stones {
		total = total.Add(s.Cost)
	}
	b.input("=stones/book", total.Dec())
	b.formula("=stones/check", fmt.Sprintf(`IF(ROUND({=stones/cost}-{=stones/book},%d)=0,"adds up to the book's cost","differs from the book's cost")`, p.Currency.Digits()))
}

// statedFormula states a scale reading in hundredths by the carat rule.
func statedFormula(of string, rule num.CaratRule) string {
	if rule == num.RuleHalfUp {
		return "ROUND(" + of + ",2)"
	}
	return "ROUNDDOWN(ROUND(" + of + "+0.001,3),2)"
}

// design adds the inputs, the tree, the prices and what follows from them.
func (b *tallyBuilder) design(d ProposalDesign) {
	name := d.Design
	for _, in := range d.Inputs {
		b.input(in.Key, in.Value)
	}
	b.input(plannedKey(name), num.Int(d.Planned))
	b.input(fixedKey(name), d.FixedCost.Dec())
	b.node(d.Cost, d.Cost.Key)
	cost := "{" + d.Cost.Key + "}"
	low, words := "0", `""`
	for i, tier := range d.Prices {
		b.node(tier.Price, "")
		net := "{" + tier.Price.Key + "}"
		if tier.NetOf != "" {
			net = "(" + tier.NetOf + ")"
		}
		if i == 0 {
			b.formula(netKey(name), net)
		}
		low += fmt.Sprintf("+IF(%s<%s,1,0)", net, cost)
		words = fmt.Sprintf(`IF(%s<%s,"the %s price is lower than the cost",%s)`, net, cost, strings.ReplaceAll(tier.Tier, `"`, "'"), words)
		for _, x := range tier.Breaks {
			b.node(x.Price, "")
		}
	}
	if len(d.Prices) == 0 {
		b.input(netKey(name), num.Dec{})
		words = `"no price"`
	}
	b.formula(lowKey(name), low)
	b.formula(warningKey(name), words)
	net, planned, fixed := "{"+netKey(name)+"}", "{"+plannedKey(name)+"}", "{"+fixedKey(name)+"}"
	b.formula(unitProfitKey(name), net+"-"+cost)
	unit := "{" + unitProfitKey(name) + "}"
	b.formula(marginKey(name), fmt.Sprintf("IF(%s=0,0,%s/%s*100)", net, unit, net))
	b.formula(salesKey(name), planned+"*"+net)
	b.formula(costsKey(name), planned+"*"+cost)
	b.formula(contributionKey(name), planned+"*"+unit)
	b.formula(resultKey(name), "{"+contributionKey(name)+"}-"+fixed)
	// Nine places keep every fraction of two amounts and drop the last bits of
	// a binary quotient.
	b.formula(breakEvenKey(name), fmt.Sprintf(`IF(%s=0,0,IF(%s>0,ROUNDUP(ROUND(%s/%s,9),0),"never"))`, fixed, unit, fixed, unit))
}

// node adds a node and all below it; whole is the key that shares are of.
func (b *tallyBuilder) node(n Node, whole string) {
	formula := n.Formula
	if formula == "" {
		for i, c := range n.Children {
			if i > 0 {
				formula += "+"
			}
			formula += "{" + c.Key + "}"
		}
	}
	if formula == "" {
		b.input(n.Key, n.Amount.Dec())
	} else {
		b.formula(n.Key, formula)
	}
	if whole != "" {
		b.formula(shareKey(n.Key), fmt.Sprintf("IF({%s}=0,0,{%s}/{%s}*100)", whole, n.Key, whole))
	}
	for _, c := range n.Children {
		b.node(c, whole)
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
			if c := tier.Price.Amount.Currency(); c != p.Currency && c != "" && tier.NetOf == "" {
				return fmt.Errorf("design %s: the %s price is in %s: how it becomes %s is not said", d.Design, tier.Tier, c, p.Currency)
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
