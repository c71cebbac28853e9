package answer

import (
	"fmt"
	"strings"

	"lotpaper/internal/costing"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

func (p *Proposal) piecesPage() *page {
	d2 := p.digits()
	tiers := p.tiers()
	s := &page{Sheet: sheet.Sheet{Name: "Pieces", Title: "Pieces: cost, price and result", Landscape: true,
		FreezeCol: 1, Notes: []string{
			"Cost, prices and what a piece earns are per unit as it is sold: a pair of earrings is one. Sales, cost " +
				"and contribution are of all planned units, at the first price and without tax.",
			"Yellow cells may be changed: every other number follows."}}}
	cols := []sheet.Col{{Header: "Design", Width: 17}, {Header: "Piece", Width: 10}, {Header: "Wanted", Width: 8},
		{Header: "Planned", Width: 8.5}, {Header: p.unit("Cost"), Width: 9.5}}
	for _, t := range tiers {
		cols = append(cols, sheet.Col{Header: capital(t) + p.taxWords(t) + " (" + p.tierCurrency(t) + ")", Width: 10.5})
	}
	cols = append(cols, sheet.Col{Header: p.unit("Earns"), Width: 9.5}, sheet.Col{Header: "Margin (%)", Width: 8},
		sheet.Col{Header: p.unit("Sales, all"), Width: 11}, sheet.Col{Header: p.unit("Cost, all"), Width: 11},
		sheet.Col{Header: p.unit("Contribution, all"), Width: 13}, sheet.Col{Header: p.unit("Fixed cost"), Width: 10.5},
		sheet.Col{Header: p.unit("Result"), Width: 11}, sheet.Col{Header: "Break-even (pieces)", Width: 10},
		sheet.Col{Header: "Prices under cost", Width: 8}, sheet.Col{Header: "Warning", Width: 20})
	s.Columns = cols
	for i, d := range p.Designs {
		home := func(what costing.Result, places int) cell { return lives(ofDesign(what, i), places) }
		row := []cell{styled(d.Design, sheet.Strong), text(d.Piece), whole(d.Wanted), home(planned, 0).as(sheet.Input),
			shows(d.Cost.Key, d2)}
		for _, t := range tiers {
			row = append(row, p.priceCell(d, t))
		}
		s.add(append(row, home(unitProfit, d2), home(margin, 1), home(sales, d2), home(costs, d2),
			home(contribution, d2),
			home(fixed, d2).as(sheet.Input), home(outcome, d2), home(breakEven, 0), home(low, 0),
			cell{figure: ofDesign(warned, i), home: true, style: sheet.Strong})...)
	}
	total := func(what costing.Result, places int) cell { return lives(ofLine(what), places) }
	blank := text("")
	sums := []cell{total(planned, 0), blank}
	for range tiers {
		sums = append(sums, blank)
	}
	s.total(3, append(sums, blank, blank, total(sales, d2), total(costs, d2), total(contribution, d2), total(fixed, d2),
		total(outcome, d2), blank, total(low, 0))...)
	return s
}

// taxWords are what is said of the tax in a tier's price.
func (p *Proposal) taxWords(tier string) string {
	for _, d := range p.Designs {
		for _, t := range d.Prices {
			if t.Tier == tier && t.Tax != "" {
				return ", " + t.Tax
			}
		}
	}
	return ""
}

func (p *Proposal) buildUpPage() *page {
	s := &page{Sheet: sheet.Sheet{Name: "Cost build-up", Title: "Cost build-up, per unit as it is sold",
		Notes: []string{
			"Read from the top down: a cost, then what it is made of. Each amount is rounded to the minor unit of " +
				string(p.Currency) + " where it arises. Yellow cells may be changed; rates are changed on the sheet " +
				"Assumptions."},
		Columns: []sheet.Col{{Header: "Item", Width: 34}, {Header: "How it is reckoned", Width: 46},
			{Header: "Value", Width: 12}, {Header: "Unit", Width: 11}, {Header: "Share (%)", Width: 8.5},
			{Header: "Source", Width: 30}}}}
	for i, d := range p.Designs {
		if i > 0 {
			s.gap()
		}
		s.section(d.Design+": "+d.Piece+", "+d.Metal, 6)
		for _, in := range d.Inputs {
			s.add(text("   "+in.Label), text(""), lives(in.Key, max(in.Value.Places(), 0)).as(sheet.Input),
				text(in.Unit), text(""), text(in.dated()))
		}
		p.nodeRows(s, d.Cost, 0, true)
		for _, t := range d.Prices {
			label := t.Price.Label
			if t.Tax != "" {
				label += ", " + t.Tax
			}
			s.add(styled(label, sheet.Total), styled(t.Price.Words, sheet.Total), p.amount(t.Price, sheet.Total),
				styled(p.currencyOf(t.Price), sheet.Total), styled("", sheet.Total), styled(t.Price.Source,
					sheet.Total))
			for _, c := range t.Price.Children {
				p.nodeRows(s, c, 1, false)
			}
			for _, x := range t.Breaks {
				s.add(text(fmt.Sprintf("   from %d pieces", x.From)), text(x.Price.Words),
					p.amount(x.Price, sheet.Plain), text(p.currencyOf(x.Price)), text(""), text(x.Price.Source))
			}
		}
		s.add(text("   earned on the first price, without tax"), text("price - cost"), shows(ofDesign(unitProfit, i),
			p.digits()), text(string(p.Currency)), shows(ofDesign(margin, i), 1), text("margin: share of the price"))
		if len(d.Prices) > 0 {
			s.add(text("   first price, without tax"), text(""), lives(ofDesign(net, i), p.digits()),
				text(string(p.Currency)), text(""), text(""))
		}
	}
	return s
}

// dated is the source of an input with its date.
func (in Input) dated() string {
	if in.On == "" {
		return in.Source
	}
	return strings.TrimPrefix(in.Source+", "+string(in.On), ", ")
}

// nodeRows adds a node and what it is made of, indented by depth.
func (p *Proposal) nodeRows(s *page, n Node, depth int, shares bool) {
	style := sheet.Plain
	if len(n.Children) > 0 {
		style = sheet.Strong
	}
	share := text("")
	if shares {
		share = lives(shareOf(n.Key), 1)
	}
	s.add(styled(strings.Repeat("   ", depth)+capital(n.Label), style), text(n.Words), p.amount(n, style),
		text(p.currencyOf(n)), share, text(n.Source))
	for _, c := range n.Children {
		p.nodeRows(s, c, depth+1, shares)
	}
}

// amount is the cell of a node: a plain amount may be changed, others follow.
func (p *Proposal) amount(n Node, style sheet.Style) cell {
	if n.Formula.IsZero() {
		style = sheet.Input
	}
	return lives(n.Key, num.Currency(p.currencyOf(n)).Digits()).as(style)
}

// currencyOf is the currency of a node's amount.
func (p *Proposal) currencyOf(n Node) string {
	if c := n.Amount.Currency(); c != "" {
		return string(c)
	}
	return string(p.Currency)
}

// tierCurrency is the currency that a tier's prices are in.
func (p *Proposal) tierCurrency(tier string) string {
	for _, d := range p.Designs {
		for _, t := range d.Prices {
			if t.Tier == tier {
				return p.currencyOf(t.Price)
			}
		}
	}
	return string(p.Currency)
}
