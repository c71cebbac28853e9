package answer

import (
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	paper "lotpaper/internal/page"
)

// Layout is the invoice, or the credit note, as a letter.
func (v *Invoice) Layout() *paper.Paper {
	credit := v.Of != ""
	facts := []paper.Fact{fact("Date", dayText(v.On))}
	add := func(label string, t paper.Text, there bool) {
		if there {
			facts = append(facts, fact(label, t))
		}
	}
	add("Pay by", dayText(v.Due), v.Due != "")
	add("To invoice", textOf(paper.Body, v.Of), credit)
	add("Reference", textOf(paper.Body, v.Sale), true)
	word := "Invoice"
	if credit {
		word = "Credit note"
	}
	p := v.letter(word, "", "", v.reader(v.Customer), facts...)
	each := func(l InvoiceLine) paper.Cell {
		if l.Amount == nil || credit {
			return paper.Cell{}
		}
		out := cellOf(valueText(paper.Body, paper.Money, l.Price.Dec(), max(v.Billed.Digits(), l.Price.Dec().Places())))
		if per(l.Basis) != "" {
			out.Text = append(out.Text, textOf(paper.Small, basisWords(l.Basis)))
		}
		return out
	}
	table := paper.Block{Table: paper.GoodsTable, Columns: []paper.Column{
		{Header: "Goods, and what is disclosed about them"}, {Header: "Pieces", Width: 12, Align: paper.Right},
		{Header: "Carats", Width: 15, Align: paper.Right}, {Header: "Price " + string(v.Billed), Width: 20,
			Align: paper.Right}, {Header: "Amount " + string(v.Billed), Width: 24, Align: paper.Right}}}
	for _, l := range v.Lines {
		name, more, _ := strings.Cut(l.Words, ", ")
		goods := cellOf(textOf(paper.Strong, name+", "+l.Lot))
		if more != "" {
			goods.Text = append(goods.Text, textOf(paper.Body, capital(more)))
		}
		row := paper.Row{Cells: []paper.Cell{goods, {}, {}, each(l), {}}}
		if l.Pieces > 0 {
			row.Cells[1] = countCell(l.Pieces)
		}
		if l.Carats > 0 {
			row.Cells[2] = cellOf(valueText(paper.Body, paper.Carats, l.Carats.Dec(), 3))
		}
		if l.Amount != nil {
			row.Cells[4] = cellOf(moneyText(paper.Body, *l.Amount))
		}
		table.Rows = append(table.Rows, row)
	}
	if v.Together != nil {
		table.Rows = append(table.Rows, paper.Row{Cells: []paper.Cell{{Span: 4,
			Text: []paper.Text{textOf(paper.Body, "Sold together, for one price")}},
			cellOf(moneyText(paper.Body, *v.Together))}})
	}
	p.Parts = []paper.Part{{Blocks: []paper.Block{table}, End: append([]paper.Block{v.sums(p, credit)},
		v.endTerms(credit)...)}}
	return p
}

// sums are what is to be paid, by tax.
func (v *Invoice) sums(p *paper.Paper, credit bool) paper.Block {
	b := paper.Block{Columns: []paper.Column{{}, {Width: 90, Align: paper.Right}, {Width: 30, Align: paper.Right}}}
	row := func(what string, m num.Money) {
		b.Rows = append(b.Rows, paper.Row{Cells: []paper.Cell{{}, say(paper.Body, what),
			cellOf(moneyText(paper.Body, m))}})
	}
	if v.taxed() {
		rate := unbroken("Tax " + v.Tax.Rate.String() + " %")
		row("Together without tax", v.Net)
		row(rate, v.Tax.Amount)
	}
	what := "To pay, " + string(v.Billed)
	switch {
	case credit:
		what = "Credited, " + string(v.Billed)
	case v.Due != "":
		what = "To pay by " + unbroken(p.Dates.Words(string(v.Due))) + ", " + string(v.Billed)
	}
	b.Rows = append(b.Rows, paper.Row{Pad: 1.2, Cells: []paper.Cell{{}, {Rule: paper.Firm,
		Text: []paper.Text{textOf(paper.Heading, what)}}, {Rule: paper.Firm,
		Text: []paper.Text{moneyText(paper.ToPay, v.Total)}}}})
	b.Rows[0].Space = 1.5
	return b
}

func (v *Invoice) endTerms(credit bool) []paper.Block {
	pay := ""
	if v.House.Bank != "" && !credit {
		pay = unbroken(v.Dealer) + ", " + v.House.Bank + ", naming " + v.Number
	}
	margin := ""
	if v.Tax != nil && v.Tax.Margin {
		margin = "Margin scheme, second-hand goods: the tax is in the price and is not shown"
	}
	property := "The goods stay ours until they are paid in full"
	if credit {
		property = ""
	}
	return terms(24, [2]string{"Pay to", pay}, [2]string{"Terms", joined(". ", v.Terms, v.House.Payment)},
		[2]string{"Tax", margin}, [2]string{"Returns", v.House.Returns}, [2]string{"Property", property},
		[2]string{"Note", v.Note}, [2]string{"Stones",
			"Nature and treatment are as they are known to us on the day of " +
				"this paper; stated means as it was told to us in writing. Weights are as the scale read them"})
}

// Layout is the receipt as a letter: what was handed over, and what is still out.
func (r *Receipt) Layout() *paper.Paper {
	p := r.letter("Receipt", "", r.heading()+".", []string{r.Party}, fact("Date", dayText(r.On)))
	table := paper.Block{Table: paper.MemoTable, Columns: []paper.Column{{Header: "Paper", Fit: true},
		{Header: "Stone"},
		{Header: "Measures, mm", Fit: true}, {Header: "Pieces", Width: 11, Align: paper.Right},
		{Header: "Carats", Width: 15, Align: paper.Right}, {Width: 3}, {Header: "What became of them", Width: 34}}}
	for _, l := range r.Lines {
		became := say(paper.Body, capital(l.Outcome))
		for _, more := range []struct {
			what string
			m    *num.Money
		}{{"owed ", l.Owed}, {"agreed price that falls away ", l.Agreed}} {
			if more.m != nil {
				became.Text = append(became.Text, textOf(paper.Small, more.what+unbroken(more.m.String())))
			}
		}
		if l.Note != "" {
			became.Text = append(became.Text, textOf(paper.Small, l.Note))
		}
		table.Rows = append(table.Rows, paper.Row{Cells: []paper.Cell{say(paper.Strong, l.Lot), l.stoneCell(),
			say(paper.Body, bareSize(l.Shape, l.Size)), countCell(l.Pieces),
			cellOf(valueText(paper.Body, paper.Carats, l.Carats.Dec(), 3)), {}, became}})
	}
	if len(r.Still) > 0 {
		table.Rows = append(table.Rows, paper.Row{Group: true, Cells: []paper.Cell{{Span: 7,
			Text: []paper.Text{textOf(paper.Label, r.stillWords())}}}})
		for _, s := range r.Still {
			table.Rows = append(table.Rows, paper.Row{Cells: []paper.Cell{say(paper.Strong, s.Lot), s.stoneCell(),
				say(paper.Body, bareSize(s.Shape, s.Size)), countCell(s.Pieces),
				cellOf(valueText(paper.Body, paper.Carats, s.Carats.Dec(), 3)), {}, {}}})
		}
	}
	accepted := ""
	if r.Accepted != "" {
		accepted = "Differences were accepted: " + r.Accepted
	}
	end := terms(24, [2]string{"Note", r.Note}, [2]string{"Accepted", accepted},
		[2]string{"Weights", "As the scale read them"})
	end = append(end, signatures(paper.Signature{Who: "For " + r.signer(), What: "date, signature"},
		paper.Signature{Who: "For " + r.Party, What: "name, date, signature"}))
	p.Parts = []paper.Part{{Blocks: []paper.Block{table}, End: end}}
	return p
}

// Layout is the statement as a letter, a table for each currency.
func (v *Statement) Layout() *paper.Paper {
	facts := []paper.Fact{fact("Date", dayText(v.On))}
	if v.From != "" {
		facts = append(facts, fact("From", dayText(v.From)))
	}
	p := v.letter("Statement", "", "What was invoiced, credited and paid, and what is open.",
		v.reader(v.Party), facts...)
	var part paper.Part
	for i := range v.Parts {
		part.Blocks = append(part.Blocks, v.Parts[i].blocks(v.From)...)
	}
	if len(v.Parts) == 0 {
		part.Blocks = lines(paper.Body, "Nothing was invoiced.")
	}
	pay := ""
	if v.House.Bank != "" {
		pay = unbroken(v.Dealer) + ", " + v.House.Bank
	}
	part.End = terms(24, [2]string{"Pay to", pay}, [2]string{"Terms", v.House.Payment})
	p.Parts = []paper.Part{part}
	return p
}

func (s *StatementPart) blocks(from book.Date) []paper.Block {
	money := func(m num.Money) paper.Cell {
		if m.IsZero() {
			return paper.Cell{}
		}
		return cellOf(moneyText(paper.Body, m))
	}
	in := " " + string(s.Currency)
	b := paper.Block{Table: paper.MemoTable, Columns: []paper.Column{{Header: "Date", Width: 24},
		{Header: "Paper", Width: 35},
		{Header: "What"}, {Header: "Due", Width: 24}, {Header: "Charged", Width: 19, Align: paper.Right},
		{Header: "Credited", Width: 19, Align: paper.Right}, {Header: "Open", Width: 19, Align: paper.Right}}}
	open := s.Before
	if from != "" {
		b.Rows = append(b.Rows, paper.Row{Cells: []paper.Cell{cellOf(shortDay(from)), {},
			say(paper.Body, "open before"),
			{}, {},
			{}, cellOf(moneyText(paper.Body, s.Before))}})
	}
	for _, l := range s.Lines {
		due := paper.Cell{}
		if l.Due != "" {
			due = cellOf(shortDay(l.Due))
		}
		b.Rows = append(b.Rows, paper.Row{Cells: []paper.Cell{cellOf(shortDay(l.On)), say(paper.Body, l.Document),
			say(paper.Body, l.Words), due, money(l.Charged), money(l.Credited), cellOf(moneyText(paper.Body, l.Open))}})
		open = l.Open
	}
	b.Rows = append(b.Rows, paper.Row{Total: true, Cells: []paper.Cell{{Span: 6,
		Text: []paper.Text{textOf(paper.Strong, "Open")}}, cellOf(moneyText(paper.ToPay, open))}})
	age := paper.Block{Table: paper.MemoTable}
	row := paper.Row{}
	for i, m := range s.Age.parts() {
		age.Columns = append(age.Columns, paper.Column{Header: ageWords[i], Align: paper.Right})
		row.Cells = append(row.Cells, cellOf(moneyText(paper.Body, m)))
	}
	age.Rows = []paper.Row{row}
	title := func(words string) paper.Block {
		return paper.Block{Rows: []paper.Row{{Space: 5, Keep: true, Cells: []paper.Cell{say(paper.Heading, words)}}}}
	}
	return []paper.Block{title("In" + in), b, title("How old it is"), age}
}
