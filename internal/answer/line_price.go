package answer

import (
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// LinePrice is what each design of a line costs and earns as planned.
type LinePrice struct {
	Line         string        `json:"line"`
	On           book.Date     `json:"on"` // of the rates
	Plan         LinePlan      `json:"plan"`
	Designs      []DesignPrice `json:"designs"`
	Cost         Amount        `json:"cost"`  // variable cost of all planned units
	Sales        Amount        `json:"sales"` // at trade prices
	Contribution Amount        `json:"contribution"`
	Fixed        Amount        `json:"fixed"`
	Earned       Amount        `json:"earned"`
	// Drop is the design that earns least below its fixed cost; empty: each earns
	// it. DropOrder are those that the line earns more without, the worst first.
	Drop      string     `json:"drop"`
	DropOrder []string   `json:"drop_order"`
	Words     string     `json:"words"`
	Sets      []SetPrice `json:"sets"`
	Caution   string     `json:"caution"`
	// Warnings are told beside the answer.
	Warnings fault.List `json:"-"`
}

// DesignPrice is what one design costs and earns as planned.
type DesignPrice struct {
	Design string `json:"design"`
	Wanted int64  `json:"wanted"`
	Made   int64  `json:"made"`
	// Cost is that of one sale unit: stones at their average over the planned
	// units.
	Cost           *costing.Node     `json:"cost"`
	Trade          Amount            `json:"trade_price"`
	TradeMargin    num.Percent       `json:"trade_margin_percent"`
	Open           bool              `json:"priced_by_book"`   // the line sets no trade price
	Retail         Amount            `json:"retail_price_net"` // before tax; zero: there is no retail price
	RetailMargin   num.Percent       `json:"retail_margin_percent"`
	Prices         []costing.Offered `json:"prices"` // every tier, the trade price first
	BreakEven      Units             `json:"break_even_units"`
	BreakEvenSales *Amount           `json:"break_even_sales"` // null: no quantity breaks even
	Contribution   Amount            `json:"contribution"`
	Fixed          Amount            `json:"fixed"`
	Earned         Amount            `json:"earned"` // contribution of the planned units less the fixed cost
	Note           string            `json:"note"`
}

// SetPrice is the price of designs that are sold together.
type SetPrice struct {
	Designs []string    `json:"designs"`
	Price   Amount      `json:"price"`
	Cost    Amount      `json:"cost"`
	Margin  num.Percent `json:"margin_percent"`
}

// Design returns the price of a design by its name in any case; nil when the
// line has no such design.
func (p *LinePrice) Design(name string) *DesignPrice {
	for i := range p.Designs {
		if strings.EqualFold(p.Designs[i].Design, name) {
			return &p.Designs[i]
		}
	}
	return nil
}

// Screen is the whole cost as a tree, and every price that follows from it.
func (d *DesignPrice) Screen() Screen {
	var b strings.Builder
	b.WriteString(d.Cost.Text())
	for _, o := range d.Prices {
		fmt.Fprintf(&b, "%s price %s: %s; margin %s %% (%s %% before the price ladder)\n", o.Tier, o.List.Words(),
			o.Words, o.Margin.Fixed(2), o.Before.Fixed(2))
		for _, x := range o.Broken {
			fmt.Fprintf(&b, "  from %d pieces %s, margin %s %%\n", x.From, x.Price.Words(), x.Margin.Fixed(2))
		}
	}
	return screenOf(b.String())
}

// remark is the note, and who priced the design when the line did not.
func (d *DesignPrice) remark() string {
	if d.Open {
		return strings.TrimSuffix("priced by the book; "+d.Note, "; ")
	}
	return d.Note
}

// ofRetail is a cell of the retail price, empty without one.
func (d *DesignPrice) ofRetail(c sheet.Cell) sheet.Cell {
	if d.Retail.IsZero() {
		return sheet.Empty()
	}
	return c
}

// right is a number in words.
func right(words string) sheet.Cell { return sheet.Text(words).Right() }

func (p *LinePrice) columns() []column[DesignPrice] {
	unit := p.Plan.unit
	return []column[DesignPrice]{
		{"design", "Design", 22, func(d *DesignPrice) sheet.Cell { return sheet.Text(d.Design) }},
		{"wanted", "Wanted", 8, func(d *DesignPrice) sheet.Cell { return sheet.Int(d.Wanted) }},
		{"made", "Made", 8, func(d *DesignPrice) sheet.Cell { return sheet.Int(d.Made) }},
		{"cost", unit("Cost"), 12, func(d *DesignPrice) sheet.Cell { return sheet.Money(d.Cost.Amount) }},
		{"trade", unit("Trade price"), 12, func(d *DesignPrice) sheet.Cell { return sheet.Money(d.Trade.Money) }},
		{"margin %", "Trade margin (%)", 10, func(d *DesignPrice) sheet.Cell {
			return sheet.Percent(d.TradeMargin,
				1)
		}},
		{"retail net", unit("Retail price, net"), 12, func(d *DesignPrice) sheet.Cell {
			return d.ofRetail(sheet.Money(d.Retail.Money))
		}},
		{"margin %", "Retail margin (%)", 10, func(d *DesignPrice) sheet.Cell {
			return d.ofRetail(sheet.Percent(d.RetailMargin, 1))
		}},
		{"break-even", "Break-even (pieces)", 11, func(d *DesignPrice) sheet.Cell {
			if d.BreakEven < 0 {
				return right(d.BreakEven.String())
			}
			return sheet.Int(int64(d.BreakEven))
		}},
		{"contributes", unit("Contribution"), 12, func(d *DesignPrice) sheet.Cell {
			return sheet.Money(d.Contribution.Money)
		}},
		{"fixed", unit("Fixed cost"), 12, func(d *DesignPrice) sheet.Cell { return sheet.Money(d.Fixed.Money) }},
		{"earns", unit("Earns"), 12, func(d *DesignPrice) sheet.Cell { return sheet.Money(d.Earned.Money) }},
		{"note", "Note", 40, func(d *DesignPrice) sheet.Cell { return sheet.Text(d.remark()) }},
	}
}

// List is what each design costs and earns.
func (p *LinePrice) List() Listing {
	head := p.Plan.Head
	head.Title = "Prices of the line " + p.Line
	return &list[DesignPrice]{head: head, notes: []string{p.Caution}, columns: p.columns(), rows: p.Designs,
		screen: p.Screen}
}

// tierRow is a price list of a design beyond trade and retail, or a quantity
// break.
type tierRow struct {
	design, tier, price, gross, net, margin, how string
}

var tierColumns = []column[tierRow]{
	screen("design", func(r *tierRow) sheet.Cell { return sheet.Text(r.design) }),
	screen("price list", func(r *tierRow) sheet.Cell { return sheet.Text(r.tier) }),
	screen("price", func(r *tierRow) sheet.Cell { return right(r.price) }),
	screen("buyer pays", func(r *tierRow) sheet.Cell { return right(r.gross) }),
	screen("net", func(r *tierRow) sheet.Cell { return right(r.net) }),
	screen("margin %", func(r *tierRow) sheet.Cell { return right(r.margin) }),
	screen("how", func(r *tierRow) sheet.Cell { return sheet.Text(r.how) }),
}

func (p *LinePrice) tierRows() []tierRow {
	var out []tierRow
	for _, d := range p.Designs {
		for _, o := range d.Prices {
			if o.Tier != "trade" && o.Tier != "retail" {
				out = append(out, tierRow{d.Design, o.Tier, o.List.Words(), o.Gross.Words(), o.Price.String(),
					o.Margin.Fixed(1), o.Words})
			}
			for _, b := range o.Broken {
				out = append(out, tierRow{d.Design, fmt.Sprintf("%s from %d", o.Tier, b.From), b.Price.Words(),
					b.Price.Words(), b.Price.String(), b.Margin.Fixed(1), "quantity break"})
			}
		}
	}
	return out
}

// Screen is what each design costs and earns, further price lists and sets, and
// what the line earns.
func (p *LinePrice) Screen() Screen {
	s := Screen{{Table: tableOf(p.columns(), p.Designs)}}
	if rows := p.tierRows(); len(rows) > 0 {
		s.table(tableOf(tierColumns, rows))
	}
	for _, x := range p.Sets {
		s.line("set of %s: %s, cost %s, margin %s %%", strings.Join(x.Designs, ", "), x.Price, x.Cost,
			x.Margin.Fixed(1))
	}
	s.line("planned units cost %s and sell for %s; fixed cost %s; the line earns %s", p.Cost.Words(), p.Sales.Words(),
		p.Fixed.Words(), p.Earned.Words())
	s.line("%s", p.Words)
	if len(p.DropOrder) > 1 {
		s.line("then %s", strings.Join(p.DropOrder[1:], ", "))
	}
	s.remark("%s", p.Caution)
	return s
}
