package answer

import (
	"fmt"
	"strings"
	"unicode"

	"lotpaper/internal/costing"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Workbook is the proposal as a workbook with live formulas. It fails when a
// node's amount is not what its formula gives.
func (p *Proposal) Workbook() (*sheet.Workbook, error) {
	t, err := p.figures()
	if err != nil {
		return nil, fmt.Errorf("proposal %s: %w", p.Number, err)
	}
	drawn, err := scalePages(p.drawn)
	if err != nil {
		return nil, fmt.Errorf("proposal %s: %w", p.Number, err)
	}
	pages := []*page{p.summaryPage(), p.piecesPage(), p.buildUpPage(), p.stonesPage(), p.cautionsPage(),
		p.disclosurePage(), p.assumptionsPage()}
	pages = append(pages, drawn...)
	if p.Risk != nil || len(p.Moves) > 0 {
		risk, err := p.riskPage()
		if err != nil {
			return nil, err
		}
		pages = append(pages, risk)
	}
	return assemble(p.Head, t, pages)
}

func (p *Proposal) summaryPage() *page {
	const wide = 7
	s := &page{Sheet: sheet.Sheet{Name: "Summary", Title: p.Title, Columns: []sheet.Col{{Width: 24}, {Width: 13},
		{Width: 11}, {Width: 13}, {Width: 13}, {Width: 13}, {Width: 13}}}}
	lines := append(p.origin(), [2]string{"Line", p.Line})
	if p.Customer != "" {
		lines = append(lines, [2]string{"For", p.Customer})
	}
	s.pairs(wide-1, append(lines, [2]string{"Currency", string(p.Currency)}))
	s.gap()
	s.section("What must not be overlooked", wide)
	s.add(cell{figure: ofLine(warned), home: true, style: sheet.Strong}.across(wide)...)
	for _, w := range p.warnings() {
		s.add(append(styled(w.About, sheet.Strong).across(2), text(sentence(w.Text)+" "+sentence(w.Mend)).
			across(wide-2)...)...)
	}
	s.gap()
	s.section(p.unit("The line"), wide)
	for _, f := range []struct {
		label  string
		of     costing.Result
		places int
	}{
		{"Pieces planned", planned, 0}, {"Sales", sales, p.digits()}, {"Cost of these pieces", costs, p.digits()},
		{"Contribution", contribution, p.digits()}, {"Contribution, % of sales", margin, 1},
		{"Fixed cost of the designs", fixed, p.digits()}, {"Result", outcome, p.digits()},
	} {
		value := shows(ofLine(f.of), f.places)
		if f.of == margin {
			value = lives(ofLine(f.of), f.places)
		}
		if f.of == outcome {
			value = value.as(sheet.Total)
		}
		s.add(styled(f.label, sheet.Label), value)
	}
	if p.Plan.Status != "" {
		s.add(append([]cell{styled("Plan", sheet.Label)}, text(p.Plan.words()).across(wide-1)...)...)
	}
	s.gap()
	s.section("Designs", wide)
	head := []cell{styled("Design", sheet.Header), styled("Piece", sheet.Header), number("Planned"),
		number(p.unit("Cost"))}
	tiers := p.tiers()
	for _, tier := range tiers[:min(len(tiers), 2)] {
		head = append(head, number(capital(tier)+" ("+p.tierCurrency(tier)+")"))
	}
	s.add(append(head, number("Margin (%)"))...)
	for i, d := range p.Designs {
		row := []cell{text(d.Design), text(d.Piece), shows(ofDesign(planned, i), 0), shows(d.Cost.Key, p.digits())}
		for _, tier := range tiers[:min(len(tiers), 2)] {
			row = append(row, p.priceCell(d, tier))
		}
		s.add(append(row, shows(ofDesign(margin, i), 1))...)
	}
	if len(tiers) > 0 {
		s.notes(wide, "The margin is a share of the "+tiers[0]+" price without tax.")
	}
	if len(p.Short) > 0 {
		s.gap()
		s.section("What is missing", wide)
		for _, x := range p.Short {
			s.add(append(styled(x.Design+", "+x.Position, sheet.Strong).across(2), text(x.words()).
				across(wide-2)...)...)
		}
	}
	s.gap()
	s.section("Basis", wide)
	s.pairs(wide-1, p.basis())
	s.notes(wide, cautionValue, cautionMarks)
	return s
}

func number(header string) cell {
	return plain(sheet.Text(header).As(sheet.Header).Right())
}

// priceCell shows a design's price of a tier, or says that there is none.
func (p *Proposal) priceCell(d ProposalDesign, tier string) cell {
	for _, t := range d.Prices {
		if t.Tier == tier {
			return shows(t.Price.Key, num.Currency(p.currencyOf(t.Price)).Digits())
		}
	}
	return text("")
}

// tiers lists the tiers of all designs in their order.
func (p *Proposal) tiers() []string {
	var out []string
	seen := map[string]bool{}
	for _, d := range p.Designs {
		for _, t := range d.Prices {
			if !seen[t.Tier] {
				seen[t.Tier] = true
				out = append(out, t.Tier)
			}
		}
	}
	return out
}

// words say how good the plan is.
func (f PlanFacts) words() string {
	s := "worth " + f.Value.Words()
	if f.Bound.Sign() > 0 {
		s += ", proven within " + f.Gap.String() + " % of the best (no plan can be worth more than " +
			f.Bound.Words() + ")"
	}
	return s + "; search: " + f.Status
}

// words say what is missing and what to do.
func (x Shortage) words() string {
	s := fmt.Sprintf("%d missing: %s.", x.Missing, strings.TrimSuffix(x.Why, "."))
	if x.Worth.Sign() > 0 {
		s += " One such stone is worth " + x.Worth.Words() + " to the line."
	}
	if x.Order != "" {
		s += " Asked for in order " + x.Order + "."
	}
	return s
}

// sentence starts with a capital and ends with a stop.
func sentence(s string) string {
	s = capital(strings.TrimSpace(s))
	if s == "" || strings.HasSuffix(s, ".") {
		return s
	}
	return s + "."
}

func capital(s string) string {
	r := []rune(s)
	article := strings.HasPrefix(s, "a ")
	if len(r) < 2 || !unicode.IsLower(r[1]) && !article { // "n 1.62" and "pH 7" stay
		return s
	}
	return string(unicode.ToUpper(r[0])) + string(r[1:])
}
