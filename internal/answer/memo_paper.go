package answer

import (
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	paper "lotpaper/internal/page"
)

// Layout is the note as a letter: what is out until when, and what it is worth.
func (n *MemoNote) Layout() *paper.Paper {
	var pieces int64
	var carats num.Carat
	value, priced := num.Zero(n.PriceCurrency), 0
	for _, l := range n.Lines {
		pieces, carats = pieces+l.Pieces, carats+l.Carats
		if l.Value != nil {
			value, priced = value.Add(*l.Value), priced+1
		}
	}
	all := len(n.Lines) > 0 && priced == len(n.Lines)
	facts := []paper.Fact{fact("Date", dayText(n.On))}
	if n.Due != "" {
		facts = append(facts, fact("Choose by", dayText(n.Due)))
	}
	facts = append(facts, fact("Stones", textOf(paper.Body, n.countWords(pieces, carats))))
	if all {
		facts = append(facts, fact("Value, "+string(n.PriceCurrency), moneyText(paper.Body, value)))
	}
	p := n.letter("Memo note", n.Memo, "On approval: look at them, show them, choose. Nothing is sold before we have "+
		"your word in writing; until then the stones are ours.", n.reader(n.Party), facts...)

	basis, one := n.oneBasis()
	head := "Price " + string(n.PriceCurrency)
	if one {
		head = capital(strings.TrimPrefix(basis, "for ")) + " " + string(n.PriceCurrency)
	}
	table := paper.Block{Table: paper.MemoTable, Columns: []paper.Column{{Header: "Paper", Fit: true},
		{Header: "Stone"}, {Header: "Measures, mm", Fit: true}, {Header: "Pieces", Width: 11, Align: paper.Right},
		{Header: "Carats", Width: 13, Align: paper.Right}, {Header: head, Width: 18, Align: paper.Right},
		{Header: "Together " + string(n.PriceCurrency), Width: 18, Align: paper.Right},
		{Header: "Kept", Width: 10, Align: paper.Right}}}
	for _, l := range n.Lines {
		price, together := say(paper.Small, "to be agreed"), paper.Cell{}
		if l.Price != nil {
			price = cellOf(valueText(paper.Body, paper.Money, l.Price.Amount.Dec(),
				max(n.PriceCurrency.Digits(), l.Price.Amount.Dec().Places())))
			if !one {
				price.Text = append(price.Text, textOf(paper.Small, basisWords(l.Price.Basis)))
			}
			together = cellOf(moneyText(paper.Body, *l.Value))
		}
		table.Rows = append(table.Rows, paper.Row{Cells: []paper.Cell{say(paper.Strong, l.Lot), l.stoneCell(),
			say(paper.Body, bareSize(l.Shape, l.Size)), countCell(l.Pieces), n.weighedCell(l.Carats, l.Price), price,
			together, cellOf(paper.Text{Mark: paper.Tick})}})
	}
	total := paper.Row{Total: true, Cells: []paper.Cell{{Span: 3, Text: []paper.Text{textOf(paper.Strong, "All")}},
		cellOf(valueText(paper.Strong, paper.Count, num.Int(pieces), 0)), n.statedCell(paper.Strong, carats), {}, {},
		{}}}
	if all {
		total.Cells[4] = cellOf(moneyText(paper.Strong, value))
	}
	table.Rows = append(table.Rows, total)

	later := ""
	if n.Due != "" {
		later = "A later day than " + unbroken(p.Dates.Words(string(n.Due))) + " must be agreed in writing."
	}
	end := terms(24, [2]string{"Terms", n.Terms}, [2]string{"Insurance", n.House.Insurance},
		[2]string{"Back", joined(" ", later, n.House.Returns)}, [2]string{"Note", n.Note},
		[2]string{"Weights", n.weightWords()})
	end = append(end, signatures(paper.Signature{Who: "Sent: " + n.signer(), What: "date, signature"},
		paper.Signature{Who: "Received in good order", What: "name, date, signature"},
		paper.Signature{Who: "Came back, counted and weighed", What: "date, signature"}))
	p.Parts = []paper.Part{{Blocks: []paper.Block{table}, End: end}}
	return p
}

func (n *MemoNote) countWords(pieces int64, carats num.Carat) string {
	out := fmt.Sprintf("%d in %d papers", pieces, len(n.Lines))
	if len(n.Lines) == 1 {
		out = fmt.Sprintf("%d in one paper", pieces)
	}
	return out + ", " + unbroken(carats.Hundredths(n.Carats).Dec().Fixed(2)+" ct")
}

// oneBasis is what all prices are for; false: not all for the same.
func (n *MemoNote) oneBasis() (string, bool) {
	var seen []string
	for _, l := range n.Lines {
		if l.Price != nil && !slices.Contains(seen, basisWords(l.Price.Basis)) {
			seen = append(seen, basisWords(l.Price.Basis))
		}
	}
	if len(seen) != 1 {
		return "", false
	}
	return seen[0], true
}

// weighedCell is a weight as it is stated; below it the scale's reading where a price
// per carat rests on it.
func (h Head) weighedCell(c num.Carat, price *book.AskedPrice) paper.Cell {
	out := h.statedCell(paper.Body, c)
	if price != nil && price.Basis == book.LinePerCarat && c.Hundredths(h.Carats) != c {
		out.Text = append(out.Text, textOf(paper.Small, "("+c.Dec().Fixed(3)+")"))
	}
	return out
}

// basisWords say what a price is for.
func basisWords(b book.LineBasis) string {
	switch b {
	case book.LinePerCarat:
		return "per carat"
	case book.LinePerPiece:
		return "per piece"
	}
	return "for all"
}

// stoneCell is a stone as its paper names it: name and disclosure in black, what
// completes them below.
func (s PaperStone) stoneCell() paper.Cell {
	out := say(paper.Body, s.Name+", "+s.Disclosed)
	if more := joined(", ", s.Shape, s.Color); more != "" {
		out.Text = append(out.Text, textOf(paper.Small, more))
	}
	if s.Care != "" {
		out.Text = append(out.Text, textOf(paper.FineLabel, s.Care))
	}
	return out
}

// bareSize is a size in a column whose head says mm.
func bareSize(shape, size string) string {
	return strings.TrimSuffix(measureWords(shape, size), noBreak+"mm")
}

// reader is a party's name over its address and its tax number.
func (a Addressee) reader(name string) []string {
	return fields(append(append([]string{name}, a.Address...), a.TaxNumber)...)
}
