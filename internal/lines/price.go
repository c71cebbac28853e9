package lines

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/chance"
	"lotpaper/internal/costing"
	"lotpaper/internal/durability"
	"lotpaper/internal/fault"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/num"
)

// Price asks what each design of a line costs and earns as planned.
type Price struct {
	Plan
	Sets [][]string // designs that are sold together
}

// pricedDesign is one design of a plan with what it costs and earns.
type pricedDesign struct {
	lineplan.Design
	made      int64
	unit      costing.PieceInput // one sale unit: stones at their average over the planned units
	cost      *costing.Node
	trade     costing.Priced
	retail    costing.Priced // before tax; zero when there is no retail price
	prices    []costing.Offered
	open      bool // the line sets no trade price: the book's margin or markup made it
	breakEven costing.BreakEven
	result    costing.DesignResult
	note      string
}

// pricedLine is a plan with what it costs and earns.
type pricedLine struct {
	*basis
	plan    *solution
	designs []pricedDesign
	result  costing.LineResult
	told    fault.List // warnings, those of the basis first
}

// Price plans a line and prices what the plan makes.
func (room *Room) Price(ctx context.Context, r Price) (answer.LinePrice, error) {
	line, err := room.price(ctx, r.Plan)
	if err != nil {
		return answer.LinePrice{}, err
	}
	out := line.answer()
	for _, designs := range r.Sets {
		set, err := line.set(designs)
		if err != nil {
			return answer.LinePrice{}, err
		}
		out.Sets = append(out.Sets, set)
	}
	return out, nil
}

func (room *Room) price(ctx context.Context, r Plan) (*pricedLine, error) {
	b, p, err := room.plan(ctx, r)
	if err != nil {
		return nil, err
	}
	return b.price(p)
}

// answer returns the priced line as an answer.
func (l *pricedLine) answer() answer.LinePrice {
	amount := func(m num.Money) answer.Amount { return answer.Amount{Money: m} }
	out := answer.LinePrice{
		Line: l.line.Name, On: l.card.On, Plan: l.planAnswer(l.plan), Designs: []answer.DesignPrice{},
		Cost: amount(l.result.Variable), Sales: amount(l.result.Sales),
		Contribution: amount(l.result.Contribution), Fixed: amount(l.result.Fixed), Earned: amount(l.result.Profit),
		DropOrder: answer.List(l.result.Drop), Words: l.result.Words, Sets: []answer.SetPrice{},
		Caution: answer.CautionPrice, Warnings: l.told,
	}
	if len(l.result.Drop) > 0 {
		out.Drop = l.result.Drop[0]
	}
	for i := range l.designs {
		d := &l.designs[i]
		x := answer.DesignPrice{
			Design: d.Name, Wanted: d.Quantity, Made: d.made, Cost: d.cost, Trade: amount(d.trade.Price),
			TradeMargin: d.trade.Margin, Open: d.open, Retail: amount(d.retail.Price), RetailMargin: d.retail.Margin,
			Prices: d.prices, BreakEven: answer.Units(d.breakEven.Units), Contribution: amount(d.result.Contribution),
			Fixed: amount(d.result.Fixed), Earned: amount(d.result.Profit), Note: d.note,
		}
		if d.breakEven.Units >= 0 {
			sales := amount(d.breakEven.Sales)
			x.BreakEvenSales = &sales
		}
		if d.breakEven.Contribution.Sign() <= 0 {
			x.BreakEven = -1
		}
		out.Designs = append(out.Designs, x)
	}
	return out
}

// price prices a plan.
func (b *basis) price(p *solution) (*pricedLine, error) {
	out := &pricedLine{basis: b, plan: p}
	var l fault.List
	var trees []*costing.Node
	var designs []costing.LineDesign
	for _, d := range p.task.Designs {
		priced, faults := b.priceDesign(p, d)
		l.Add(faults...)
		if faults.Blocks() {
			continue
		}
		trees = append(trees, priced.cost)
		designs = append(designs, costing.LineDesign{Name: d.Name, Quantity: priced.made, Price: priced.trade.Price,
			Cost: priced.cost, Fixed: d.FixedCost})
		out.designs = append(out.designs, priced)
	}
	if l.Blocks() {
		return nil, distinct(l)
	}
	for path := range b.assume {
		l.Add(ambiguous(path, trees))
	}
	if l.Blocks() {
		return nil, l
	}
	var faults fault.List
	if out.result, faults = costing.LineOf(designs, num.Zero(b.currency)); faults.Blocks() {
		return nil, faults
	}
	for i := range out.designs {
		out.designs[i].result = out.result.Designs[i]
	}
	l.Add(defaultsUsed(trees...)...)
	out.told = distinct(append(slices.Clone(b.warnings), l...))
	return out, nil
}

// priceDesign costs one design with the average of the stones that its planned
// units take.
func (b *basis) priceDesign(p *solution, d lineplan.Design) (pricedDesign, fault.List) {
	out := pricedDesign{Design: d, made: p.Made[d.Name], unit: withoutStones(b.units[d.Name], d.Design),
		open: d.PriceTrade.Sign() <= 0}
	if out.made > 0 {
		out.unit.Stones = b.averageStones(p, d, out.made)
		out.unit.Returns, out.unit.ReturnsSource = b.returnsOf(p, d)
		out.unit = out.unit.Replace(costing.ByPath(b.assume))
	} else {
		out.note = "no unit is planned: cost and margin stand without stones"
	}
	node, faults := costing.PieceCost(out.unit, b.card)
	faults = ofDesign(faults, d.Name)
	if faults.Blocks() {
		return out, faults
	}
	out.cost = node
	offered, more := b.offered(out.unit.Number, d.Design, node.Amount)
	faults.Add(more...)
	if more.Blocks() {
		return out, faults
	}
	out.prices = offered
	out.trade = offered[0].Priced
	for _, o := range offered {
		if o.Tier == "retail" {
			out.retail = o.Priced
		}
	}
	if fixed := b.fixed[d.Name]; fixed.Sign() > 0 { // an offer holds prices still
		out.trade = costing.At(node.Amount, fixed)
	}
	even, evenFaults := costing.BreakEvenOf(out.trade.Price, node.Amount, d.FixedCost)
	if evenFaults.Blocks() {
		even.Units = -1
	}
	out.breakEven = even
	return out, faults
}

// ofDesign points faults that costing lays at a field of its calculators to the
// design that they are of.
func ofDesign(l fault.List, design string) fault.List {
	for i, f := range l {
		if f.Where.Field != "" {
			l[i] = f.At(fault.Where{Ref: design})
		}
	}
	return l
}

// lotUse is how much of one lot a design's position takes in the whole plan.
type lotUse struct {
	carats num.Carat
	cost   num.Money
}

// averageStones makes one line for each position: the stones of all planned
// units, divided by the units.
func (b *basis) averageStones(p *solution, d lineplan.Design, made int64) []costing.StoneInput {
	uses := map[string]map[string]*lotUse{}
	for _, piece := range p.Pieces {
		if piece.Design != d.Name {
			continue
		}
		for _, f := range piece.Fills {
			for _, s := range f.Stones {
				if uses[f.Position] == nil {
					uses[f.Position] = map[string]*lotUse{}
				}
				u := uses[f.Position][s.Lot]
				if u == nil {
					u = &lotUse{cost: num.Zero(b.currency)}
					uses[f.Position][s.Lot] = u
				}
				u.carats += s.Carats
				u.cost = u.cost.Add(b.bookCost(s.Lot, s.Pieces))
			}
		}
	}
	var out []costing.StoneInput
	for i, pos := range d.Positions {
		name := book.PositionName(pos, i)
		s := costing.StoneInput{Position: name, Pieces: pos.Count, Setting: pos.Setting,
			Length: cmp.Or(pos.LengthMax, pos.LengthMin), Basis: "book cost, average of the planned units",
			Cost: num.Zero(b.currency)}
		var lots, names []string
		var carats num.Carat
		for lot := range uses[name] {
			lots = append(lots, lot)
		}
		slices.Sort(lots)
		level := durability.Sound
		for _, lot := range lots {
			u := uses[name][lot]
			carats += u.carats
			s.Cost = s.Cost.Add(u.cost)
			if n := b.nameOf(lot); !slices.Contains(names, n) {
				names = append(names, n)
			}
			if !b.lots[lot].Owner.IsOwn() {
				s.Basis = "book cost, and the agreed price of stones on memo in; average of the planned units"
			}
			if j := b.judge.At(b.lots[lot].Lot, d.Design, d.Positions[i]); j.Err == nil {
				level = max(level, j.All.BreakLevel)
			}
		}
		s.Lot, s.Name = strings.Join(lots, ", "), strings.Join(names, ", ")
		s.Cost = s.Cost.Each(made, num.HalfUp)
		q := carats.Dec().Each(made, 3, num.HalfUp)
		s.Carats = num.CaratFromDec(q, num.HalfUp)
		if r, f := b.judge.Rate(durability.LossSetting, level); f == nil {
			s.Breakage, s.BreakageSource = r.Belief, r.Said()
		}
		if s.Breakage == (chance.Beta{}) {
			s.BreakageSource = ""
		}
		out = append(out, s)
	}
	return out
}

// returnsOf is the belief about the share of a design's pieces that come back
// damaged in the first year: that of its worst stone.
func (b *basis) returnsOf(p *solution, d lineplan.Design) (chance.Beta, string) {
	level := durability.Sound
	for i, pos := range d.Positions {
		for _, lot := range p.lotsIn(d.Name, book.PositionName(pos, i)) {
			if s, ok := b.lots[lot]; ok {
				if j := b.judge.At(s.Lot, d.Design, pos); j.Err == nil {
					level = max(level, j.All.ReturnLevel)
				}
			}
		}
	}
	r, f := b.judge.Rate(durability.LossReturn, level)
	if f != nil || r.Belief == (chance.Beta{}) {
		return chance.Beta{}, ""
	}
	return r.Belief, "pieces judged " + level.String() + ": " + r.Said()
}

// set prices designs that are sold together: their trade prices less the
// setting set_discount.
func (l *pricedLine) set(designs []string) (answer.SetPrice, error) {
	out := answer.SetPrice{Designs: []string{}}
	var prices []num.Money
	cost := num.Zero(l.currency)
	for _, name := range designs {
		i := slices.IndexFunc(l.designs, func(d pricedDesign) bool { return strings.EqualFold(d.Name, name) })
		if i < 0 {
			return out, fault.New(fault.NotFound, "design-unknown", "the line has no design "+name,
				cmp.Or(fault.DidYouMean(name, l.line.Designs), "see the line")).AtField("set").Do("line", "show",
				l.line.Name)
		}
		d := &l.designs[i]
		out.Designs = append(out.Designs, d.Name)
		prices, cost = append(prices, d.trade.Price), cost.Add(d.cost.Amount)
	}
	price, f := costing.Set(prices, l.config.SetDiscount)
	if f != nil {
		return out, f
	}
	at := costing.At(cost, price)
	out.Price, out.Cost, out.Margin = answer.Amount{Money: at.Price}, answer.Amount{Money: at.Cost}, at.Margin
	return out, nil
}

// defaultsUsed warns of every default that stands in for a rate of the book.
func defaultsUsed(trees ...*costing.Node) fault.List {
	var out fault.List
	for _, t := range trees {
		for _, in := range t.Rates() {
			source, isDefault := costing.DefaultSource(in.Source)
			if !isDefault {
				continue
			}
			kind, name, _ := strings.Cut(in.Path, "/")
			out.Add(fault.New(fault.Invalid, "rate-default",
				fmt.Sprintf("%s %s %s stands in for a rate that the book does not have (%s)", in.Name, in.Value,
					in.Unit, source),
				fmt.Sprintf("import your own: kind %s, name %s", kind, name)).AtRef(in.Path).AsWarning())
		}
	}
	return distinct(out)
}
