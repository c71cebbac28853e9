package answer

import (
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	paper "lotpaper/internal/page"
)

// letter is a paper for a reader outside the house: the house's head, the reader's
// name and address, and a footer without anything of the book.
func (h Head) letter(word, code, lead string, reader []string, facts ...paper.Fact) *paper.Paper {
	p := h.blank()
	p.Head = &paper.Head{House: h.sender(), Reader: reader, Word: word, Number: joined(", ", h.Number, code),
		Facts: facts, Lead: lead, Again: joined(" ", word, h.Number) + " for " + reader[0]}
	p.Footer.Right = joined(" ", word, h.Number)
	p.Footer.Left = joined(" · ", h.Dealer, unbroken(h.House.TaxNumber), unbroken(h.House.Bank))
	return p
}

// compact is a paper that needs no letter head: a ticket, an order.
func (h Head) compact(word, code, lead string, facts ...paper.Fact) *paper.Paper {
	p := h.blank()
	p.Head = &paper.Head{Word: word, Number: joined(", ", h.Number, code), Facts: facts, Lead: lead,
		Again: joined(" ", word, h.Number)}
	p.Footer.Right = joined(" ", word, h.Number)
	p.Footer.Left = joined(" · ", append(append([]string{h.Dealer}, h.House.Address...), h.House.Telephone)...)
	return p
}

// blank is a paper of the house: its size, colour and order of dates.
func (h Head) blank() *paper.Paper {
	p := &paper.Paper{Number: h.Number, Title: h.Title, Author: h.Dealer, Language: "en", On: string(h.On),
		Dates: paper.ParseDates(h.House.Dates)}
	p.Size, _ = paper.ParseSize(h.House.Paper) // both were read when they were set
	if ink, f := paper.ParseInk(h.House.Accent); f == nil {
		p.Accent = &ink
	}
	return p
}

// sender is the house on its letters.
func (h Head) sender() *paper.House {
	return &paper.House{Name: h.Dealer, Trade: h.House.Trade, Logo: h.Logo,
		Address: fields(append(append([]string{}, h.House.Address...), h.House.Telephone, h.House.Email)...)}
}

// signer is who signs for the house.
func (h Head) signer() string { return joined(", ", h.Dealer, h.House.Signs) }

// joined are the words that are not empty, with between between them.
func joined(between string, words ...string) string {
	return strings.Join(fields(words...), between)
}

// A paper's cells. Each value is printed by its kind, and is the one that the
// workbook of the same model holds.

func cellOf(texts ...paper.Text) paper.Cell { return paper.Cell{Text: texts} }

func valueText(style paper.Style, kind paper.Kind, n num.Dec, places int) paper.Text {
	return paper.Text{Style: style, Value: &paper.Value{Kind: kind, Number: n, Places: places}}
}

func dayText(on book.Date) paper.Text {
	return paper.Text{Style: paper.Body, Value: &paper.Value{Kind: paper.Date, On: string(on)}}
}

// shortDay is a day in a column of days.
func shortDay(on book.Date) paper.Text {
	return paper.Text{Style: paper.Body, Value: &paper.Value{Kind: paper.ShortDate, On: string(on)}}
}

func moneyText(style paper.Style, m num.Money) paper.Text {
	return valueText(style, paper.Money, m.Dec(), m.Currency().Digits())
}

func countCell(n int64) paper.Cell { return cellOf(valueText(paper.Body, paper.Count, num.Int(n), 0)) }

// weightWords say how weights are stated, on a paper that shows the scale's reading
// where a price rests on it.
func (h Head) weightWords() string {
	if h.Carats == num.RuleHalfUp {
		return "Carats are stated to two decimals, rounded half up."
	}
	return "Carats are stated to two decimals; the second is raised only when the third is 9."
}

// statedCell is a weight as papers for customers state it.
func (h Head) statedCell(style paper.Style, c num.Carat) paper.Cell {
	return cellOf(valueText(style, paper.Carats, c.Hundredths(h.Carats).Dec(), 2))
}

func fact(label string, t paper.Text) paper.Fact { return paper.Fact{Label: label, Text: t} }

func textOf(style paper.Style, s string) paper.Text { return paper.Text{Style: style, Words: s} }

// terms are labels with a sentence beside each; what is empty is left out.
func terms(label float64, pairs ...[2]string) []paper.Block {
	b := paper.Block{Columns: []paper.Column{{Width: label}, {}}}
	for _, p := range pairs {
		if p[1] != "" {
			b.Rows = append(b.Rows, paper.Row{Space: 1.2, Cells: []paper.Cell{say(paper.Label, p[0]),
				say(paper.Body, sentence(p[1]))}})
		}
	}
	if len(b.Rows) == 0 {
		return nil
	}
	b.Rows[0].Space = 4
	return []paper.Block{b}
}

func signatures(s ...paper.Signature) paper.Block { return paper.Block{Signatures: s} }

// unbroken is a text in which no line ends.
func unbroken(s string) string { return strings.ReplaceAll(s, " ", noBreak) }
