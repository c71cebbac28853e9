package lines

import (
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/chance"
	"lotpaper/internal/costing"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// riskModel is a line with its luck, and what of it is counted in words.
type riskModel struct {
	*costing.Model
	counted []string
	not     []string // what might matter and is not counted, with the reason
}

// modelBuilder builds the risk model of a priced line.
type modelBuilder struct {
	*pricedLine
	counts map[string]bool // doubts
	out    *riskModel
	mixed  map[string]mixture // by lot
}

// model is the line as planned with everything uncertain about it. only names
// the doubts that are counted; none: all of them. idle counts the fixed cost
// of designs that are not made.
func (l *pricedLine) model(only []string, idle bool) (*riskModel, fault.List) {
	m := &modelBuilder{pricedLine: l, counts: map[string]bool{}, mixed: map[string]mixture{},
		out: &riskModel{Model: &costing.Model{Currency: l.currency, Shared: num.Zero(l.currency),
			Beliefs: map[string]chance.Beta{}, Drivers: map[string]costing.Driver{}}}}
	for _, k := range doubts {
		m.counts[k] = len(only) == 0 || slices.Contains(only, k)
	}
	for _, k := range only {
		if !slices.Contains(doubts, k) && k != "none" {
			return nil, fault.List{fault.New(fault.Usage, "doubt-unknown", fmt.Sprintf("there is no doubt %q", k),
				"count some of "+strings.Join(doubts, ", ")+", or none").AtField("only")}
		}
	}
	for i := range l.designs {
		d := &l.designs[i]
		switch {
		case d.made > 0:
			m.addDesign(d)
		case idle:
			m.out.Designs = append(m.out.Designs, costing.ModelDesign{Name: d.Name, Price: d.trade.Price,
				Base: d.cost.Amount, Fixed: d.FixedCost})
		}
	}
	m.describe()
	return m.out, nil
}

// belief enters a rate under a name that is the same for the same estimate.
func (m *modelBuilder) belief(name string, b chance.Beta) string {
	if b == (chance.Beta{}) {
		return ""
	}
	name += fmt.Sprintf(" (%g of %g)", b.A, b.A+b.B)
	m.out.Beliefs[name] = b
	return name
}

// addDesign adds a design: one part for each mixture of doubtful lots that its
// units take, because only those units may turn out to be something else.
func (m *modelBuilder) addDesign(d *pricedDesign) {
	base := costing.ModelDesign{Name: d.Name, Price: d.trade.Price, Base: d.cost.Amount}
	if metal := d.cost.Part("metal"); metal != nil && m.counts["metal"] && m.config.VolatilityMetal > 0 {
		base.Exposed = append(base.Exposed, costing.Exposed{Driver: d.unit.Metal, Amount: metal.Amount})
		base.Base = base.Base.Sub(metal.Amount)
		m.out.Drivers[d.unit.Metal] = costing.Driver{Volatility: m.config.VolatilityMetal, Months: m.config.Months}
	}
	m.addForeign(d, &base)
	dearest := m.addBreakage(d, &base)
	m.addSales(d, &base)
	m.addReturns(d, &base, dearest)
	for i, part := range m.parts(d) {
		x := base
		x.Quantity = part.units
		x.Stones = append(slices.Clone(base.Stones), part.stones...)
		if part.name != "" {
			x.Name += " with " + part.name
		}
		if i == 0 {
			x.Fixed = d.FixedCost
		}
		m.out.Designs = append(m.out.Designs, x)
	}
}

// addBreakage adds the breakage of a design's stones and returns what replacing the
// dearest one costs, its setting with it.
func (m *modelBuilder) addBreakage(d *pricedDesign, x *costing.ModelDesign) (dearest num.Money) {
	dearest = num.Zero(m.currency)
	lines := d.cost.Part("stones")
	for i, s := range d.unit.Stones {
		each := eachOf(s.Cost, s.Pieces)
		if cost := each.Add(m.fee(s)); cost.Cmp(dearest) > 0 {
			dearest = cost
		}
		if s.Breakage == (chance.Beta{}) || !m.counts["breakage"] {
			continue // what is expected to break stays in the cost
		}
		if lines != nil && i < len(lines.Parts) {
			if loss := lines.Parts[i].Part("expected setting loss"); loss != nil {
				x.Base = x.Base.Sub(loss.Amount)
			}
		}
		x.Stones = append(x.Stones, costing.ModelStone{Pieces: s.Pieces, Each: each,
			Breakage: m.belief("breakage/"+s.Setting+"/"+s.Name, s.Breakage)})
	}
	return dearest
}

// eachOf is the cost of one of n stones, to six decimals.
func eachOf(cost num.Money, n int64) num.Money {
	q := cost.Dec().Each(n, 6, num.HalfUp)
	return num.UnitPriceFromDec(q, cost.Currency(), num.HalfUp).Money
}

// fee is what setting one such stone costs.
func (m *modelBuilder) fee(s costing.StoneInput) num.Money {
	r, f := m.card.SettingFee(s.Setting, s.Length)
	if f != nil {
		return num.Zero(m.currency)
	}
	return num.UnitPriceFromDec(r.Value, m.currency, num.HalfUp).Money
}

// addForeign moves with the rate of exchange what is billed abroad, and the
// stones that are still to be paid in another currency because they are only
// here on memo.
func (m *modelBuilder) addForeign(d *pricedDesign, x *costing.ModelDesign) {
	if !m.counts["fx"] || m.config.VolatilityFX == 0 {
		return
	}
	wander := func(currency string) {
		m.out.Drivers[currency] = costing.Driver{Volatility: m.config.VolatilityFX, Months: m.config.Months}
	}
	for _, a := range m.config.Abroad {
		if a.Currency != m.currency {
			x.Billed = append(x.Billed, costing.Exposed{Driver: string(a.Currency),
				Amount: x.Price.Times(a.Percent.Fraction(), num.HalfUp)})
			wander(string(a.Currency))
		}
	}
	owed := map[string]num.Money{}
	for _, piece := range m.plan.Pieces {
		if piece.Design != d.Name {
			continue
		}
		for _, f := range piece.Fills {
			for _, s := range f.Stones {
				lot := m.lots[s.Lot]
				if lot.Owner.IsOwn() || lot.Foreign == nil {
					continue
				}
				c := string(lot.Foreign.Amount.Currency())
				owed[c] = owed[c].Add(m.bookCost(s.Lot, s.Pieces))
			}
		}
	}
	var currencies []string
	for c := range owed {
		currencies = append(currencies, c)
	}
	slices.Sort(currencies)
	for _, c := range currencies {
		amount := owed[c].Each(d.made, num.HalfUp)
		x.Exposed = append(x.Exposed, costing.Exposed{Driver: c, Amount: amount})
		x.Base = x.Base.Sub(amount)
		wander(c)
	}
}

// addSales adds the luck of selling, the same for the whole line: an unsold piece
// is broken up, and brings its metal and its stones less the haircut.
func (m *modelBuilder) addSales(d *pricedDesign, x *costing.ModelDesign) {
	if !m.counts["sales"] || m.config.SellThrough.Cmp(num.Int(100)) >= 0 {
		return
	}
	x.SellThrough = m.belief("sell-through", chance.BetaOf(m.config.SellThrough.Float()/100, m.config.SellTrials))
	worth := num.Zero(m.currency)
	if metal := d.cost.Part("metal", "metal in the piece"); metal != nil {
		worth = worth.Add(metal.Amount)
	}
	for _, s := range d.unit.Stones {
		worth = worth.Add(s.Cost)
	}
	x.Salvage = worth.Times(num.Int(1).Sub(m.config.Haircut.Fraction()), num.HalfUp)
}

// addReturns adds pieces that come back damaged in the first year of wear: the
// dearest stone is replaced and set again.
func (m *modelBuilder) addReturns(d *pricedDesign, x *costing.ModelDesign, dearest num.Money) {
	node := d.cost.Part("expected returns")
	if node == nil || !m.counts["returns"] {
		return // what is expected to come back stays in the cost
	}
	x.Base = x.Base.Sub(node.Amount)
	x.Returns, x.ReturnCost = m.belief("returns/first year", d.unit.Returns), dearest
}

// waitsForCutter reports whether a cutter is to bring stones of the dealer's own
// material.
func (m *modelBuilder) waitsForCutter() bool {
	for _, o := range m.ordered {
		if o.ours {
			return true
		}
	}
	return false
}

// describe says in words what is counted and what is not.
func (m *modelBuilder) describe() {
	c := m.config
	add := func(format string, args ...any) { m.out.counted = append(m.out.counted, fmt.Sprintf(format, args...)) }
	uses := func(prefix string) bool {
		for name := range m.out.Beliefs {
			if strings.HasPrefix(name, prefix) {
				return true
			}
		}
		return false
	}
	if uses("others/") {
		add("stones that turn out not to be what they are sold as (by the lots' random tests)")
	}
	if uses("breakage/") {
		add("breakage in setting (estimates and the book's own record)")
	}
	if uses("returns/") {
		add("pieces that come back damaged in the first year (their dearest stone is replaced)")
	}
	switch {
	case uses("cutter "):
		add("breakage and yield of cutters on stones still to come (estimates and the book's own record)")
	case m.waitsForCutter() && m.counts["cutter"]:
		m.out.not = append(m.out.not, "breakage and yield of cutters: there is neither a record nor an estimate "+
			"(setting cutter_breakage)")
	}
	var metals, currencies []string
	for name := range m.out.Drivers {
		if len(name) == 3 && strings.ToUpper(name) == name {
			currencies = append(currencies, name)
		} else {
			metals = append(metals, name)
		}
	}
	slices.Sort(metals)
	slices.Sort(currencies)
	if len(metals) > 0 {
		add("prices of %s over %g months (%g %% a year, setting volatility_metal)", strings.Join(metals, ", "),
			c.Months, 100*c.VolatilityMetal)
	}
	if len(currencies) > 0 {
		add("exchange rates of %s (%g %% a year, setting volatility_fx): sales billed there (setting sales_abroad), "+
			"and stones on memo still to be paid", strings.Join(currencies, ", "), 100*c.VolatilityFX)
	}
	if uses("sell-through") {
		add("sales of %s %% of the pieces, as sure as after %g pieces; an unsold piece is broken up", c.SellThrough,
			c.SellTrials)
	} else {
		m.out.not = append(m.out.not, "every planned piece is taken as sold (setting sell_through)")
	}
	if !m.counts["identity"] {
		return
	}
	why := map[string][]string{}
	for lot, x := range m.mixed {
		if x.not != "" {
			why[x.not] = append(why[x.not], lot)
		}
	}
	var reasons []string
	for r := range why {
		reasons = append(reasons, r)
	}
	slices.Sort(reasons)
	for _, r := range reasons {
		slices.Sort(why[r])
		lots := why[r]
		named := strings.Join(lots[:min(len(lots), 12)], ", ")
		if len(lots) > 12 {
			named += fmt.Sprintf(" and %d more", len(lots)-12)
		}
		m.out.not = append(m.out.not, fmt.Sprintf("what %s may be instead: %s", named, r))
	}
}
