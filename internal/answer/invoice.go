package answer

import (
	"errors"
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Invoice is what a customer owes for a sale, or is credited for what came back
// of one. It holds no cost.
type Invoice struct {
	Head
	Sale     string `json:"sale"`
	Of       string `json:"of"` // a credit note's invoice; empty: this is an invoice
	Customer string `json:"customer"`
	Addressee
	Due      book.Date     `json:"due"` // empty on a credit note
	Terms    string        `json:"terms"`
	Billed   num.Currency  `json:"billed_in"`
	Lines    []InvoiceLine `json:"lines"`
	Together *num.Money    `json:"together"` // one price of the lines that have none of their own; null: each has one
	Tax      *InvoiceTax   `json:"tax"`      // null: none is charged
	Net      num.Money     `json:"net"`
	Total    num.Money     `json:"total"`
	Note     string        `json:"note"`
}

// InvoiceLine is one line of an invoice or a credit note.
type InvoiceLine struct {
	Lot    string         `json:"lot"`
	Words  string         `json:"words"` // what it is
	Pieces int64          `json:"pieces"`
	Carats num.Carat      `json:"carats"`
	Basis  book.LineBasis `json:"basis"`
	Price  num.UnitPrice  `json:"price"`
	Amount *num.Money     `json:"amount"` // null: it is sold together with others
}

// InvoiceTax is how an invoice is taxed.
type InvoiceTax struct {
	Rate   num.Percent `json:"rate"`
	In     bool        `json:"in"`     // the prices include it
	Margin bool        `json:"margin"` // margin scheme: not shown
	Amount num.Money   `json:"amount"`
}

const invoiceSchema = "lotpaper/invoice/1"

// JSON is the model's canonical form.
func (v *Invoice) JSON() ([]byte, error) { return encode(invoiceSchema, v) }

// GoodsLine says in words what is sold: its name, shape, size and color, and what is
// disclosed of it; of a finished piece, its metal and its stones.
func GoodsLine(g Goods, rule num.CaratRule) string {
	l := g.Lot
	return strings.Join(fields(TradeName(l), l.Shape, measureWords(l.Shape, SizeWords(l)), l.Color, g.disclosed(rule)),
		", ")
}

// per says what a price is for.
func per(b book.LineBasis) string {
	switch b {
	case book.LinePerCarat:
		return "ct"
	case book.LinePerPiece:
		return "piece"
	}
	return ""
}

// Workbook is the invoice as a workbook of one sheet.
func (v *Invoice) Workbook() (*sheet.Workbook, error) {
	const wide = 8
	t := newTally(v.Billed)
	d := v.Billed.Digits()
	unit := func(header string) string { return header + " (" + string(v.Billed) + ")" }
	s := &page{Sheet: sheet.Sheet{Name: v.Title, Title: v.Title, Columns: []sheet.Col{{Width: 14}, {Width: 12},
		{Width: 26}, {Width: 8}, {Width: 10}, {Width: 11}, {Width: 7}, {Width: 13}}}}
	s.pairs(wide-1, withValue([][2]string{{"Number", v.Number}, {"Invoice", v.Of}, {"Date", string(v.On)},
		{"From", v.Dealer}, {"To", v.to(v.Customer)}}))
	s.pairs(wide-1, v.particulars())
	s.pairs(wide-1, withValue([][2]string{{"Our reference", v.Sale}, {"Terms", v.Terms}, {"Due", string(v.Due)}}))
	s.gap()
	s.add(styled("Lot", sheet.Header), styled("Stones", sheet.Header), styled("", sheet.Header), number("Pieces"),
		number("Weight (ct)"), number(unit("Price")), styled("per", sheet.Header), number(unit("Amount")))
	all, sum := v.lines(s, t)
	if v.Together != nil {
		t.input("together", v.Together.Dec())
		s.add(append(append(styled("Sold together, for one price", sheet.Strong).across(3), empties(4)...),
			lives("together", d))...)
		all = all.Plus(of("together"))
		sum = sum.Add(*v.Together)
	}
	var pieces int64
	var carats num.Carat
	for _, l := range v.Lines {
		pieces += l.Pieces
		carats += l.Carats
	}
	t.formula("all", all)
	s.total(3, whole(pieces), plain(sheet.Carats(carats)), text(""), text(""), lives("all", d))
	v.totals(s, t)
	s.gap()
	for _, words := range fields(v.Note) {
		s.add(text(sentence(words)).across(wide)...)
	}
	if v.Tax != nil && v.Tax.Margin {
		s.notes(wide, "Margin scheme, second-hand goods: the tax is in the price and is not shown.")
	}
	s.notes(wide,
		"Nature and treatment are as they are known to us on the day of this paper; weights are as the scale "+
			"read them.")
	wrong := t.gives("all", sum)
	for key, want := range map[formula.Key]num.Money{"total": v.Total, "net": v.Net} {
		wrong = errors.Join(wrong, t.gives(key, want))
	}
	if v.taxed() {
		wrong = errors.Join(wrong, t.gives("tax", v.Tax.Amount))
	}
	if wrong != nil {
		return nil, fmt.Errorf("%s of %s: %w", strings.ToLower(v.Title), v.Sale, wrong)
	}
	return assemble(v.Head, t, []*page{s})
}

// taxed reports whether the invoice shows a tax.
func (v *Invoice) taxed() bool { return v.Tax != nil && !v.Tax.Margin }

// lines adds the lines, those with a price of their own first, and returns the
// sum of their amounts.
func (v *Invoice) lines(s *page, t *tally) (formula.Expr, num.Money) {
	d := v.Billed.Digits()
	sum := num.Zero(v.Billed)
	var priced []formula.Key
	var apart [][]cell
	for i, l := range v.Lines {
		row := append([]cell{text(l.Lot)}, text(l.Words).across(2)...)
		if l.Pieces == 0 {
			row = append(row, empties(2)...)
		} else {
			t.input(formula.At("pieces", i), num.Int(l.Pieces))
			t.input(formula.At("carats", i), l.Carats.Dec())
			row = append(row, lives(formula.At("pieces", i), 0), lives(formula.At("carats", i), 3))
		}
		if l.Amount == nil {
			apart = append(apart, append(row, empties(3)...))
			continue
		}
		amount, price := formula.At("amount", i), formula.At("price", i)
		sum = sum.Add(*l.Amount)
		priced = append(priced, amount)
		of := map[book.LineBasis]formula.Key{book.LinePerCarat: formula.At("carats", i),
			book.LinePerPiece: formula.At("pieces", i)}[l.Basis]
		if of == "" || v.Of != "" { // a credit takes its part of what was invoiced
			t.input(amount, l.Amount.Dec())
			s.add(append(row, text(""), text(""), lives(amount, d))...)
			continue
		}
		t.input(price, l.Price.Dec())
		t.formula(amount, formula.Of(price, "").Times(formula.Of(of, "")).Round(d))
		each := lives(price, d)
		each.format = sheet.UnitCost
		s.add(append(row, each, text(per(l.Basis)), lives(amount, d))...)
	}
	for _, row := range apart {
		s.add(row...)
	}
	t.list("amounts", priced)
	if len(priced) == 0 {
		return formula.Int(0), sum
	}
	return formula.Sum(of("amounts")), sum
}

// totals adds the net price, the tax and the total.
func (v *Invoice) totals(s *page, t *tally) {
	d := v.Billed.Digits()
	row := func(words string, c cell, style sheet.Style) {
		s.add(append(append(empties(4), styled(words, sheet.Label).across(3)...), c.as(style))...)
	}
	switch rate := of("rate"); {
	case !v.taxed():
		t.formula("total", of("all"))
		t.formula("net", of("all"))
		row("Total", lives("total", d), sheet.Strong)
		return
	case v.Of != "": // what the invoice shared out
		t.input("tax", v.Tax.Amount.Dec())
	case v.Tax.In:
		t.input("rate", v.Tax.Rate.Dec)
		t.formula("tax", of("all").Times(rate).Over(formula.Int(100).Plus(rate)).Round(d))
	default:
		t.input("rate", v.Tax.Rate.Dec)
		t.formula("tax", of("all").Times(rate.Percent()).Round(d))
	}
	words := "Tax"
	if v.Of == "" {
		row("Tax, percent", lives("rate", max(2, v.Tax.Rate.Places())), sheet.Plain)
	} else {
		words = "Tax at " + v.Tax.Rate.String() + " %"
	}
	if v.Tax.In {
		t.formula("total", of("all"))
		t.formula("net", of("all").Minus(of("tax")))
		row(words+", in the total", lives("tax", d), sheet.Plain)
		row("Without tax", lives("net", d), sheet.Plain)
	} else {
		t.formula("net", of("all"))
		t.formula("total", of("all").Plus(of("tax")))
		row("Without tax", lives("net", d), sheet.Plain)
		row(words, lives("tax", d), sheet.Plain)
	}
	row("Total", lives("total", d), sheet.Strong)
}
