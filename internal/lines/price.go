package lines

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/chance"
	"lotpaper/internal/costing"
	"lotpaper/internal/desk"
	"lotpaper/internal/durability"
	"lotpaper/internal/fault"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/num"
)

// PricedDesign is what one design costs and earns as planned.
type PricedDesign struct {
	Design    string
	Wanted    int64
	Made      int64
	Unit      costing.PieceInput
	Cost      *costing.Node // of one sale unit: stones at their average over the planned units
	Trade     costing.Priced
	Retail    costing.Priced    // before tax; zero when there is no retail price
	Prices    []costing.Offered // every tier, the trade price first
	Open      bool              // the line sets no trade price: the book's margin or markup made it
	BreakEven costing.BreakEven
	Result    costing.DesignResult
	Earned    num.Money // contribution of the planned units less the design's fixed cost
	Note      string
	design    book.Design
}

// LinePrice is a line priced as planned.
type LinePrice struct {
	*Planned
	Line    string
	Designs []PricedDesign
	Result  costing.LineResult
	Cost    num.Money // variable cost of all planned units
	Sales   num.Money // at trade prices
	Fixed   num.Money
	Earned  num.Money
	Drop    string // the design that earns least below its fixed cost; empty: each earns it
}

// LinePrice plans a line and prices what the plan makes.
func (room *Room) LinePrice(ctx context.Context, r LinePlan) (*LinePrice, error) {
	p, err := room.LinePlan(ctx, r)
	if err != nil {
		return nil, err
	}
	return priceLine(r.Line, p)
}

func priceLine(line string, p *Planned) (*LinePrice, error) {
	out := &LinePrice{Planned: p, Line: line}
	var l fault.List
	var trees []*costing.Node
	var designs []costing.LineDesign
	for _, d := range p.Designs {
		priced, faults := p.price(d)
		l.Add(faults...)
		if faults.Blocks() {
			continue
		}
		trees = append(trees, priced.Cost)
		designs = append(designs, priced.lineDesign())
		out.Designs = append(out.Designs, priced)
	}
	if l.Blocks() {
		return nil, distinct(l)
	}
	for path := range p.assume {
		l.Add(ambiguous(path, trees))
	}
	if l.Blocks() {
		return nil, l
	}
	var faults fault.List
	if out.Result, faults = costing.LineOf(designs, num.Zero(p.currency)); faults.Blocks() {
		return nil, faults
	}
	for i := range out.Designs {
		out.Designs[i].Result = out.Result.Designs[i]
		out.Designs[i].Earned = out.Result.Designs[i].Profit
	}
	out.Cost, out.Sales, out.Fixed, out.Earned = out.Result.Variable, out.Result.Sales, out.Result.Fixed,
		out.Result.Profit
	if len(out.Result.Drop) > 0 {
		out.Drop = out.Result.Drop[0]
	}
	l.Add(defaultsUsed(trees...)...)
	p.Warnings = distinct(append(p.Warnings, l...))
	return out, nil
}

// lineDesign is the design in the line's economics: what is made, at the trade
// price.
func (d *PricedDesign) lineDesign() costing.LineDesign {
	return costing.LineDesign{Name: d.Design, Quantity: d.Made, Price: d.Trade.Price, Cost: d.Cost,
		Fixed: d.design.FixedCost}
}

// price costs one design with the average of the stones that its planned
// units take.
func (p *Planned) price(d lineplan.Design) (PricedDesign, fault.List) {
	out := PricedDesign{Design: d.Name, Wanted: d.Quantity, Made: p.Plan.Made[d.Name], Unit: p.Units[d.Name],
		design: d.Design, Open: d.PriceTrade.Sign() <= 0}
	out.Unit = withoutStones(out.Unit, d.Design)
	if out.Made > 0 {
		out.Unit.Stones = p.averageStones(d, out.Made)
		out.Unit.Returns, out.Unit.ReturnsSource = p.returnsOf(d)
		out.Unit = out.Unit.Replace(costing.ByPath(p.assume))
	} else {
		out.Note = "no unit is planned: cost and margin stand without stones"
	}
	node, faults := costing.PieceCost(out.Unit, p.Card)
	faults = ofDesign(faults, d.Name)
	if faults.Blocks() {
		return out, faults
	}
	out.Cost = node
	offered, more := p.Config.Offered(p.Card, out.Unit.Number, d.Design, node.Amount)
	faults.Add(more...)
	if more.Blocks() {
		return out, faults
	}
	out.Prices = offered
	out.Trade = offered[0].Priced
	for _, o := range offered {
		if o.Tier == "retail" {
			out.Retail = o.Priced
		}
	}
	if fixed := p.fixedPrice(d.Name); fixed.Sign() > 0 { // an offer holds prices still
		out.Trade = costing.At(node.Amount, fixed)
	}
	even, evenFaults := costing.BreakEvenOf(out.Trade.Price, node.Amount, d.FixedCost)
	if evenFaults.Blocks() {
		even.Units = -1
	}
	out.BreakEven = even
	return out, faults
}

// ofDesign points faults that costing lays at a flag of its calculators to the
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
	pieces int64
	carats num.Carat
	cost   num.Money
}

// averageStones makes one line for each position: the stones of all planned
// units, divided by the units.
func (p *Planned) averageStones(d lineplan.Design, made int64) []costing.StoneInput {
	uses := map[string]map[string]*lotUse{}
	for _, piece := range p.Plan.Pieces {
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
					u = &lotUse{cost: num.Zero(p.currency)}
					uses[f.Position][s.Lot] = u
				}
				u.pieces += s.Pieces
				u.carats += s.Carats
				u.cost = u.cost.Add(p.bookCost(s.Lot, s.Pieces))
			}
		}
	}
	var out []costing.StoneInput
	for i, pos := range d.Positions {
		name := book.PositionName(pos, i)
		s := costing.StoneInput{Position: name, Pieces: pos.Count, Setting: pos.Setting, Length: pos.LengthMax,
			Basis: "book cost, average of the planned units", Cost: num.Zero(p.currency)}
		if s.Length == 0 {
			s.Length = pos.LengthMin
		}
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
			if n := p.nameOf(lot); !slices.Contains(names, n) {
				names = append(names, n)
			}
			if !p.Stones[lot].Owner.IsOwn() {
				s.Basis = "book cost, and the agreed price of stones on memo in; average of the planned units"
			}
			if j := p.Judge.At(p.Stones[lot].Lot, d.Design, d.Positions[i]); j.Err == nil {
				level = max(level, j.All.Verdict().BreakLevel)
			}
		}
		s.Lot, s.Name = strings.Join(lots, ", "), strings.Join(names, ", ")
		s.Cost = desk.AverageOf(s.Cost, made)
		q := carats.Dec().Each(made, 3, num.HalfUp)
		s.Carats = num.CaratFromDec(q, num.HalfUp)
		if r, f := p.Judge.Rate(durability.LossSetting, level); f == nil {
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
func (p *Planned) returnsOf(d lineplan.Design) (chance.Beta, string) {
	level := durability.Sound
	for i, pos := range d.Positions {
		for _, lot := range p.lotsIn(d.Name, book.PositionName(pos, i)) {
			if s, ok := p.Stones[lot]; ok {
				if j := p.Judge.At(s.Lot, d.Design, pos); j.Err == nil {
					level = max(level, j.All.Verdict().ReturnLevel)
				}
			}
		}
	}
	r, f := p.Judge.Rate(durability.LossReturn, level)
	if f != nil || r.Belief == (chance.Beta{}) {
		return chance.Beta{}, ""
	}
	return r.Belief, "pieces judged " + level.String() + ": " + r.Said()
}

// bookCost is what n pieces of a lot carry in the book, by average; for a lot
// on memo in, its agreed price, because it must be bought to be used; for a
// lot of a parcel that an offer is for, what the pieces bring as leftovers.
func (p *Planned) bookCost(lot string, n int64) num.Money {
	if left, ok := p.offered.leftover(lot, n); ok {
		return left
	}
	s, ok := p.Stones[lot]
	if !ok || s.Pieces == 0 {
		for _, st := range p.Input.Stones { // only on offer
			if st.Lot == lot {
				return st.Value.Times(num.Int(n), num.HalfUp)
			}
		}
		return num.Zero(p.currency)
	}
	cost := s.Cost
	if !s.Owner.IsOwn() && strings.HasPrefix(string(s.Owner), "memo-in/") {
		cost = s.Agreed
	}
	if cost.Currency() == "" {
		cost = num.Zero(p.currency)
	}
	q := cost.Dec().Mul(num.Int(n)).Each(s.Pieces, p.currency.Digits(), num.HalfUp)
	return num.MoneyFromDec(q, p.currency, num.HalfUp)
}

func (p *Planned) nameOf(lot string) string {
	if s, ok := p.Stones[lot]; ok {
		return s.Name()
	}
	for _, st := range p.Input.Stones {
		if st.Lot == lot {
			return cmp.Or(st.Variety, st.Species)
		}
	}
	return lot
}

// defaultsUsed warns of every default that stands in for a rate of the book.
func defaultsUsed(trees ...*costing.Node) fault.List {
	var out fault.List
	for _, t := range trees {
		for _, in := range t.Rates() {
			source, isDefault := strings.CutPrefix(in.Source, desk.DefaultSource)
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
