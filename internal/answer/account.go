package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Account is what the dealer owes one party and what he paid it, a part for each
// currency.
type Account struct {
	Head  `json:"-"`
	Party string          `json:"party"`
	From  book.Date       `json:"from"` // empty: from the first
	On    book.Date       `json:"on"`
	Parts []StatementPart `json:"parts"`
}

// accountLine is a line of an account and its currency.
type accountLine struct {
	StatementLine
	currency num.Currency
}

var accountColumns = []column[accountLine]{
	{"date", "Date", 13, func(l *accountLine) sheet.Cell { return sheet.Date(string(l.On)) }},
	{"paper", "Paper", 12, func(l *accountLine) sheet.Cell { return sheet.Text(l.Document) }},
	{"what", "What", 31, func(l *accountLine) sheet.Cell { return sheet.Text(l.Words) }},
	{"due", "Due", 13, func(l *accountLine) sheet.Cell { return sheet.Date(string(l.Due)) }},
	onlyFiled("Currency", 9, func(l *accountLine) sheet.Cell { return sheet.Text(string(l.currency)) }),
	{"billed", "Billed", 13, func(l *accountLine) sheet.Cell { return sheet.Money(l.Charged) }},
	{"credited or paid", "Credited or paid", 13, func(l *accountLine) sheet.Cell { return sheet.Money(l.Credited) }},
	{"open", "Open", 13, func(l *accountLine) sheet.Cell { return sheet.Money(l.Open) }},
}

// rows are the lines of a part, after what was open before them.
func (p *StatementPart) rows(from book.Date) []accountLine {
	var out []accountLine
	if !p.Before.IsZero() {
		zero := num.Zero(p.Currency)
		out = append(out, accountLine{StatementLine{On: from, Words: "open before", Charged: zero, Credited: zero,
			Open: p.Before}, p.Currency})
	}
	for _, l := range p.Lines {
		out = append(out, accountLine{l, p.Currency})
	}
	return out
}

// List is the lines of all currencies; a screen begins each with what is open.
func (v *Account) List() Listing {
	var rows []accountLine
	for i := range v.Parts {
		rows = append(rows, v.Parts[i].rows(v.From)...)
	}
	return &list[accountLine]{head: v.Head, columns: accountColumns, rows: rows, screen: func() Screen {
		var s Screen
		for i := range v.Parts {
			p := &v.Parts[i]
			switch overdue := p.Age.Total.Sub(p.Age.NotDue); {
			case p.Age.Total.Sign() < 0:
				s.line("%s has %s of yours on account on %s", v.Party, p.Age.Total.Neg().Words(), v.On)
			case p.Age.Total.IsZero():
				s.line("nothing in %s is owed to %s on %s", p.Currency, v.Party, v.On)
			default:
				s.line("%s are owed to %s on %s, of which %s are overdue", p.Age.Total.Words(), v.Party, v.On,
					overdue.Words())
			}
			s = append(s, Part{Table: tableOf(accountColumns, p.rows(v.From))})
		}
		return s
	}}
}
