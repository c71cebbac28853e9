package answer

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"lotpaper/internal/formula"
)

// table prints rows in aligned columns.
func table(b *strings.Builder, rows [][]string) {
	w := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	for _, r := range rows {
		fmt.Fprintln(w, "  "+strings.Join(r, "\t"))
	}
	w.Flush()
}

// heading prints the lines that head every text.
func (h Head) heading(b *strings.Builder) {
	fmt.Fprintf(b, "%s\n", h.Title)
	for _, l := range append(h.origin(), h.basis()...) {
		fmt.Fprintf(b, "%s: %s\n", l[0], l[1])
	}
}

// Text is the proposal for a terminal: the essence of the workbook.
func (p *Proposal) Text() string {
	var b strings.Builder
	p.heading(&b)
	t, err := p.figures()
	if err != nil {
		fmt.Fprintf(&b, "\n%v\n", err)
		return b.String()
	}
	show := func(key formula.Key) string {
		if m, err := t.money(key); err == nil {
			return m.String()
		}
		if d, err := t.dec(key, 1); err == nil {
			return d.Fixed(1)
		}
		v, _ := t.get(key)
		words, _ := v.Text()
		return words
	}
	fmt.Fprintf(&b, "\nThe line %s, in %s\n", p.Line, p.Currency)
	table(&b, [][]string{{"sales", show(ofLine(sales))}, {"cost of these pieces", show(ofLine(costs))},
		{"contribution", show(ofLine(contribution))}, {"fixed cost", show(ofLine(fixed))},
		{"result", show(ofLine(outcome))}})
	rows := [][]string{{"design", "piece", "planned", "cost"}}
	tiers := p.tiers()
	rows[0] = append(append(rows[0], tiers...), "margin %", "result", "")
	for i, d := range p.Designs {
		row := []string{d.Design, d.Piece, fmt.Sprintf("%d of %d", d.Planned, d.Wanted), show(d.Cost.Key)}
		for _, tier := range tiers {
			price := ""
			for _, x := range d.Prices {
				if x.Tier == tier {
					price = show(x.Price.Key)
				}
			}
			row = append(row, price)
		}
		share, _ := t.dec(ofDesign(margin, i), 1)
		rows = append(rows, append(row, share.Fixed(1), show(ofDesign(outcome, i)), show(ofDesign(warned, i))))
	}
	b.WriteString("\nDesigns\n")
	table(&b, rows)
	if w := p.warnings(); len(w) > 0 {
		b.WriteString("\nWhat must not be overlooked\n")
		for _, x := range w {
			fmt.Fprintf(&b, "  %s: %s\n", x.About, x.Text)
			if x.Mend != "" {
				fmt.Fprintf(&b, "    mend: %s\n", x.Mend)
			}
		}
	}
	if len(p.Short) > 0 {
		b.WriteString("\nWhat is missing\n")
		for _, x := range p.Short {
			fmt.Fprintf(&b, "  %s, %s: %s\n", x.Design, x.Position, x.words())
		}
	}
	if p.Plan.Status != "" {
		fmt.Fprintf(&b, "\nPlan: %s\n", p.Plan.words())
	}
	fmt.Fprintf(&b, "\n%s\n%s\n", cautionValue, cautionMarks)
	return b.String()
}
