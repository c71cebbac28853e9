package answer

import (
	"strconv"

	"lotpaper/internal/num"
	paper "lotpaper/internal/page"
)

// The box that a piece is shown in, and what is drawn in it, mm.
const (
	quoteBox      = 30.5
	quoteDrawn    = 27
	captionHeight = 4.5
)

// Layout is the quote as a letter: each piece as it looks, what it is made of, what
// it costs, and lines to order it.
func (q *Quote) Layout() *paper.Paper {
	facts := []paper.Fact{fact("Date", dayText(q.On))}
	if q.Until != "" {
		facts = append(facts, fact("Good until", dayText(q.Until)))
	}
	facts = append(facts, fact("Prices", textOf(paper.Body, joined(", ", string(q.PriceCurrency), q.PriceTier,
		q.taxWords()))))
	if q.House.Signs != "" {
		facts = append(facts, fact("Your contact", textOf(paper.Body, q.House.Signs)))
	}
	whose := "your trade"
	if q.PriceTier == RetailTier {
		whose = "our retail"
	}
	p := q.letter("Quote", "", capital(q.counted())+" of our line "+q.Line+" at "+whose+" price. Enter the "+
		"pieces you want in the right-hand column, sign the last page and send it back; the workbook that comes with "+
		"this quote adds it up for you.", q.reader(q.Party), facts...)
	table := paper.Block{Table: paper.PieceTable, Columns: []paper.Column{{Header: "Piece", Width: quoteBox + 3},
		{Width: 1.5}, {Header: "Metal and stones"}, {Header: "Pieces", Width: 15.5},
		{Header: "Each " + string(q.PriceCurrency), Width: q.priceWidth(), Align: paper.Right}, {Width: 4},
		{Header: "Your order", Width: 27}}}
	for i := range q.Pieces {
		table.Rows = append(table.Rows, q.Pieces[i].row())
	}
	end := append([]paper.Block{q.sums()}, headed("Terms", q.terms())...)
	end = append(end, signatures(paper.Signature{Who: "For " + q.signer(), What: "place, date, signature"},
		paper.Signature{Who: "Ordered for " + q.Party, What: "name, place, date, signature"}))
	p.Parts = []paper.Part{{Blocks: []paper.Block{table}, End: end}}
	return p
}

// priceWidth is the width of the column of prices, mm: more from a million on.
func (q *Quote) priceWidth() float64 {
	for _, p := range q.Pieces {
		if p.Steps[0].Each.Dec().Cmp(num.Int(1_000_000)) >= 0 {
			return 25
		}
	}
	return 18
}

// row is a piece of the table.
func (p *QuotePiece) row() paper.Row {
	steps := paper.Block{Columns: []paper.Column{{Width: 15.5}, {Align: paper.Right}}}
	for i, s := range p.Steps {
		steps.Rows = append(steps.Rows, paper.Row{Cells: []paper.Cell{say(paper.Body, p.quantity(i)),
			cellOf(moneyText(paper.Body, s.Each))}})
	}
	write := func(words string) paper.Text { return paper.Text{Style: paper.Small, Words: words, Write: 13} }
	return paper.Row{Cells: []paper.Cell{p.shown(), {}, p.told(),
		{Span: 2, Blocks: []paper.Block{steps, {Rows: []paper.Row{{Cells: []paper.Cell{say(paper.Note,
			p.canBeMade())}}}}}}, {},
		cellOf(write("pieces"), write("×"+noBreak+"each"), write("="+noBreak+"amount"))}}
}

// told is what a piece is made of: names and disclosures in black, what completes
// them below.
func (p *QuotePiece) told() paper.Cell {
	out := cellOf(textOf(paper.Heading, p.Design))
	add := func(style paper.Style, words string) {
		if words != "" {
			out.Text = append(out.Text, textOf(style, words))
		}
	}
	add(paper.Body, p.made())
	for _, s := range p.Stones {
		add(paper.Body, s.named(p.Most))
		add(paper.Small, s.measured())
		add(paper.FineLabel, s.Care)
	}
	for _, s := range p.Safety {
		add(paper.FineStrong, s)
	}
	return out
}

// shown is the picture of a piece, or its stones drawn.
func (p *QuotePiece) shown() paper.Cell {
	if picture := p.picture(); picture != nil {
		return paper.Cell{Frame: paper.Hairline, Height: quoteBox, Picture: picture}
	}
	var rows []drawnStones
	for _, s := range p.Stones {
		rows = append(rows, drawnAs(s.Pieces, s.Shape, s.Size)...)
	}
	d, scale := drawLargest(rows, quoteDrawn, quoteDrawn-captionHeight)
	if d == nil {
		return paper.Cell{}
	}
	size := strconv.FormatFloat(scale, 'f', -1, 64) + noBreak + "×" + noBreak + "their size"
	if scale == 1 {
		size = "true size"
	}
	d.Height += captionHeight
	d.Captions = append(d.Captions, paper.Caption{X: d.Width / 2, Y: d.Height - 0.5, Align: paper.Centre,
		Text: textOf(paper.Note, size)})
	return paper.Cell{Frame: paper.Hairline, Height: quoteBox, Drawing: d}
}

// sums are the lines on which the customer adds up the order.
func (q *Quote) sums() paper.Block {
	write := func(style paper.Style, words string) paper.Text {
		return paper.Text{Style: style, Words: words, Write: 27}
	}
	var total paper.Cell
	if rate := q.Tax.Percent; rate.Sign() > 0 && !q.Tax.In {
		total = cellOf(write(paper.Body, "Total without tax"), write(paper.Body, "Tax "+rate.String()+noBreak+"%"))
	}
	total.Text = append(total.Text, write(paper.Strong, q.totalWords()))
	words := cellOf(textOf(paper.Heading, "Your order"), textOf(paper.Small, "Pieces of one design count together "+
		"for the price of one."))
	if least := q.smallestWords(); least != "" {
		words.Text = append(words.Text, textOf(paper.Small, least))
	}
	return paper.Block{Columns: []paper.Column{{}, {Width: 66}}, Rows: []paper.Row{{Pad: 2,
		Cells: []paper.Cell{words, total}}}}
}

// headed are terms below a heading.
func headed(words string, pairs [][2]string) []paper.Block {
	out := terms(21, pairs...)
	if out == nil {
		return nil
	}
	out[0].Rows[0].Space = 1.2
	return append([]paper.Block{{Rows: []paper.Row{{Space: 4.5, Keep: true,
		Cells: []paper.Cell{say(paper.Heading, words)}}}}}, out...)
}
