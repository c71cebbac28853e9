package answer

import (
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
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

// Text is the whole cost as a tree, and every price that follows from it.
func (d *DesignPrice) Text() string {
	var b strings.Builder
	b.WriteString(d.Cost.Text())
	for _, o := range d.Prices {
		fmt.Fprintf(&b, "%s price %s: %s; margin %s %% (%s %% before the price ladder)\n", o.Tier, o.List.Words(),
			o.Words, o.Margin.Fixed(2), o.Before.Fixed(2))
		for _, x := range o.Broken {
			fmt.Fprintf(&b, "  from %d pieces %s, margin %s %%\n", x.From, x.Price.Words(), x.Margin.Fixed(2))
		}
	}
	return b.String()
}

// Remark is the note, and who priced the design when the line did not.
func (d *DesignPrice) Remark() string {
	if d.Open {
		return strings.TrimSuffix("priced by the book; "+d.Note, "; ")
	}
	return d.Note
}
