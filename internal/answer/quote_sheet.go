package answer

import (
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/formula"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// quoteLead says what to do with the workbook of a quote.
const quoteLead = "Enter the pieces you want in the yellow cells and send it back; it adds up by itself."

// Workbook is the quote with a live order: price and amount follow from the pieces
// that are entered. A second sheet has the terms.
func (q *Quote) Workbook() (*sheet.Workbook, error) {
	t := newTally(q.PriceCurrency)
	b, err := assemble(q.Head, t, []*page{q.orderPage(t), q.termsPage()})
	if err != nil {
		return nil, err
	}
	b.Letter = q.House.Paper == "Letter"
	return b, nil
}

// from are the quantities at which a price of any design begins.
func (q *Quote) from() []int64 {
	var out []int64
	for _, p := range q.Pieces {
		for _, s := range p.Steps {
			out = append(out, s.From)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// ofQuote is the key of a figure of the i-th design of a quote.
func ofQuote(what string, i int) formula.Key { return formula.At("=quote "+what, i) }

func (q *Quote) orderPage(t *tally) *page {
	unit := func(s string) string { return s + " (" + string(q.PriceCurrency) + ")" }
	digits, from := q.PriceCurrency.Digits(), q.from()
	s := &page{Sheet: sheet.Sheet{Name: "Quote", Title: "Quote " + q.Number + " for " + q.Party, Landscape: true,
		Protected: true, Columns: []sheet.Col{{Header: "Design", Width: 20}, {Header: "What it is", Width: 56},
			{Header: "Can be made", Width: 8}}}}
	s.Notes = about(q.Head, joined(", ", "Prices in "+string(q.PriceCurrency), q.PriceTier, q.taxWords())+". "+
		q.hold(), joined(" ", quoteLead, q.smallestWords()))
	for i, f := range from {
		header := fmt.Sprintf("Each, from %d", f)
		if len(from) == 1 && i == 0 {
			header = "Each"
		}
		s.Columns = append(s.Columns, sheet.Col{Header: unit(header), Width: 11})
	}
	s.Columns = append(s.Columns, sheet.Col{Header: "Your order (pieces)", Width: 9},
		sheet.Col{Header: unit("Price of one"), Width: 11}, sheet.Col{Header: unit("Amount"), Width: 15},
		sheet.Col{Header: "Please check", Width: 20})
	for i, p := range q.Pieces {
		row := []cell{styled(p.Design, sheet.Strong), text(p.words()), whole(p.Most)}
		for _, f := range from {
			at := slices.IndexFunc(p.Steps, func(s QuoteStep) bool { return s.From == f })
			if at < 0 {
				row = append(row, plain(sheet.Empty()))
				continue
			}
			key := formula.At("=quote step", i, at)
			t.input(key, p.Steps[at].Each.Dec())
			row = append(row, lives(key, digits))
		}
		q.orderFigures(t, i)
		order := lives(ofQuote("order", i), 0).as(sheet.Input)
		order.open = true
		s.add(append(row, order, lives(ofQuote("each", i), digits), lives(ofQuote("amount", i), digits),
			lives(ofQuote("check", i), 0))...)
	}
	q.totals(t, s)
	return s
}

// orderFigures are the price of one piece at the pieces that are ordered, what they
// cost together, and what is wrong with the order.
func (q *Quote) orderFigures(t *tally, i int) {
	p := q.Pieces[i]
	order := of(ofQuote("order", i))
	t.input(ofQuote("order", i), num.Int(0))
	each := of(formula.At("=quote step", i, len(p.Steps)-1))
	for k := len(p.Steps) - 2; k >= 0; k-- {
		each = formula.If(order.Less(formula.Int(p.Steps[k+1].From)), of(formula.At("=quote step", i, k)), each)
	}
	t.formula(ofQuote("each", i), each)
	t.formula(ofQuote("amount", i), order.Times(of(ofQuote("each", i))).Round(q.PriceCurrency.Digits()))
	t.formula(ofQuote("check", i), formula.If(order.More(formula.Int(p.Most)), formula.Text("only "+p.canBeMade()),
		formula.If(order.Equals(formula.Max(formula.Int(0), order.RoundDown(0))), formula.Text(""),
			formula.Text("whole pieces only"))))
}

// totals are the lines below the order.
func (q *Quote) totals(t *tally, s *page) {
	digits := q.PriceCurrency.Digits()
	line := func(words string, key formula.Key, style sheet.Style) {
		s.add(append(s.below(words, style), lives(key, digits).as(style), styled("", sheet.Note))...)
	}
	s.gap()
	t.sum("=quote/total", len(q.Pieces), func(i int) formula.Key { return ofQuote("amount", i) })
	total, rate := of("=quote/total"), q.Tax.Percent
	if rate.Sign() > 0 && !q.Tax.In {
		line("Total without tax", "=quote/total", sheet.Plain)
		t.formula("=quote/tax", total.Times(formula.Number(rate.Dec).Percent()).Round(digits))
		line("Tax "+rate.String()+" %", "=quote/tax", sheet.Plain)
		t.formula("=quote/pay", total.Plus(of("=quote/tax")))
		line(q.totalWords(), "=quote/pay", sheet.Total)
	} else {
		line(q.totalWords(), "=quote/total", sheet.Total)
	}
	if q.Smallest != nil {
		t.input("=quote/smallest", q.Smallest.Dec())
		t.formula("=quote/small", formula.If(total.Less(of("=quote/smallest")), formula.If(total.More(formula.Int(0)),
			formula.Text("less than the smallest order"), formula.Text("")), formula.Text("")))
		s.add(append(s.below("Smallest order, without tax", sheet.Note), lives("=quote/smallest", digits).
			as(sheet.Note), lives("=quote/small", 0).as(sheet.Strong))...)
	}
}

// below begins a line below a quote's order, up to the column of the amounts.
func (p *page) below(words string, style sheet.Style) []cell {
	var row []cell
	for range len(p.Columns) - 5 {
		row = append(row, styled("", sheet.Note))
	}
	return append(row, styled(words, style).across(3)...)
}

// totalWords name what the customer pays.
func (q *Quote) totalWords() string {
	if q.Tax.Percent.Sign() > 0 {
		return "Total to pay, " + string(q.PriceCurrency)
	}
	return joined(" ", "Total", q.taxWords()) + ", " + string(q.PriceCurrency)
}

// words are what a piece is made of, as one cell.
func (p *QuotePiece) words() string {
	out := fields(p.made())
	for _, s := range p.Stones {
		out = append(out, s.named(p.Most)+"; "+s.measured())
		if s.Care != "" {
			out = append(out, s.Care)
		}
	}
	return strings.Join(append(out, p.Safety...), "\n")
}

func (q *Quote) termsPage() *page {
	s := &page{Sheet: sheet.Sheet{Name: "Terms", Title: "Terms of " + q.Number, Protected: true,
		Columns: []sheet.Col{{Width: 14}, {Width: 40}, {Width: 40}}}}
	for _, l := range withValue(q.terms()) {
		s.add(append([]cell{styled(l[0], sheet.Label)}, text(sentence(l[1])).across(2)...)...)
	}
	return s
}
