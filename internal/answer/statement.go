package answer

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"lotpaper/internal/book"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Ageing is what is open, by how long it is over its due day.
type Ageing struct {
	Total  num.Money `json:"total"`
	NotDue num.Money `json:"not_due"`
	To30   num.Money `json:"days_1_30"`
	To60   num.Money `json:"days_31_60"`
	To90   num.Money `json:"days_61_90"`
	Over90 num.Money `json:"days_over_90"`
}

// NewAgeing is an ageing of nothing.
func NewAgeing(c num.Currency) Ageing {
	z := num.Zero(c)
	return Ageing{z, z, z, z, z, z}
}

// Add counts what is open and so many days over its due day.
func (a *Ageing) Add(days int64, open num.Money) {
	to := &a.Over90
	switch {
	case days <= 0:
		to = &a.NotDue
	case days <= 30:
		to = &a.To30
	case days <= 60:
		to = &a.To60
	case days <= 90:
		to = &a.To90
	}
	*to = to.Add(open)
	a.Total = a.Total.Add(open)
}

// words say what is owed, and how much of it is overdue.
func (a *Ageing) words() string {
	overdue := a.Total.Sub(a.NotDue)
	switch {
	case a.Total.IsZero() && overdue.Sign() <= 0:
		return "owes nothing in " + string(a.Total.Currency())
	case a.Total.Sign() < 0:
		return "is in credit by " + a.Total.Neg().Words()
	case overdue.Sign() <= 0:
		return "owes " + a.Total.Words() + ", nothing overdue"
	}
	return "owes " + a.Total.Words() + ", of which " + overdue.Words() + " are overdue"
}

// ageWords are the heads of an ageing's parts.
var ageWords = []string{"Not due", "1 to 30 days", "31 to 60", "61 to 90", "Over 90"}

// parts are the amounts under ageWords.
func (a *Ageing) parts() []num.Money { return []num.Money{a.NotDue, a.To30, a.To60, a.To90, a.Over90} }

// Statement is the account of one customer, a part for each currency.
type Statement struct {
	Head
	Party string `json:"party"`
	Addressee
	From  book.Date       `json:"from"` // empty: from the first
	Parts []StatementPart `json:"parts"`
}

// StatementPart is what was invoiced, credited and paid in one currency.
type StatementPart struct {
	Currency num.Currency    `json:"currency"`
	Before   num.Money       `json:"before"` // open before the first day
	Lines    []StatementLine `json:"lines"`  // oldest first
	Age      Ageing          `json:"age"`
	// WrittenOff is what of it is not in the book any more. No paper shows it: it is owed still.
	WrittenOff num.Money `json:"-"`
}

// StatementLine is one paper or payment.
type StatementLine struct {
	On       book.Date `json:"on"`
	Document string    `json:"document"`
	Words    string    `json:"words"`
	Due      book.Date `json:"due"` // of an invoice; else empty
	Charged  num.Money `json:"charged"`
	Credited num.Money `json:"credited"`
	Open     num.Money `json:"open"` // after it
}

// Part is the part of a currency.
func (v *Statement) Part(c num.Currency) *StatementPart {
	for i := range v.Parts {
		if v.Parts[i].Currency == c {
			return &v.Parts[i]
		}
	}
	v.Parts = append(v.Parts, StatementPart{Currency: c, Before: num.Zero(c), Lines: []StatementLine{},
		Age: NewAgeing(c), WrittenOff: num.Zero(c)})
	return &v.Parts[len(v.Parts)-1]
}

// Balance sorts the lines by day and fills in what is open after each; those
// before the first day become one sum.
func (p *StatementPart) Balance(from book.Date) {
	slices.SortStableFunc(p.Lines, func(a, b StatementLine) int { return cmp.Compare(a.On, b.On) })
	open := num.Zero(p.Currency)
	var shown []StatementLine
	for _, l := range p.Lines {
		open = open.Add(l.Charged).Sub(l.Credited)
		l.Open = open
		if l.On < from {
			p.Before = open
			continue
		}
		shown = append(shown, l)
	}
	p.Lines = append([]StatementLine{}, shown...)
}

const statementSchema = "lotpaper/statement/1"

// JSON is the model's canonical form.
func (v *Statement) JSON() ([]byte, error) { return encode(statementSchema, v) }

// Workbook is the statement as a workbook of one sheet.
func (v *Statement) Workbook() (*sheet.Workbook, error) {
	const wide = 7
	t := newTally(v.Currency)
	s := &page{Sheet: sheet.Sheet{Name: "Statement", Title: v.Title, Columns: []sheet.Col{{Width: 12}, {Width: 21},
		{Width: 31}, {Width: 12}, {Width: 13}, {Width: 13}, {Width: 13}}}}
	from := ""
	if v.From != "" {
		from = string(v.From) + " to " + string(v.On)
	}
	s.pairs(wide-1, withValue([][2]string{{"Number", v.Number}, {"Date", string(v.On)}, {"From", v.Dealer},
		{"To", v.to(v.Party)}}))
	s.pairs(wide-1, withValue(append(v.particulars(), [2]string{"Time", from})))
	var wrong error
	for i := range v.Parts {
		wrong = errors.Join(wrong, v.part(s, t, i))
	}
	s.gap()
	s.notes(wide, "Payments that reached us after this date are not in it.")
	if wrong != nil {
		return nil, fmt.Errorf("statement of %s: %w", v.Party, wrong)
	}
	return assemble(v.Head, t, []*page{s})
}

// part adds the account of one currency: its lines with a running balance, and
// how old what is open is.
func (v *Statement) part(s *page, t *tally, n int) error {
	p := &v.Parts[n]
	d := p.Currency.Digits()
	unit := func(header string) string { return header + " (" + string(p.Currency) + ")" }
	s.gap()
	s.add(styled("Date", sheet.Header), styled("Paper", sheet.Header), styled("", sheet.Header),
		styled("Due", sheet.Header), number(unit("Charged")), number(unit("Credited")), number(unit("Open")))
	key := func(what string, i int) formula.Key { return formula.At(what, n, i) }
	before := key("before", 0)
	t.input(before, p.Before.Dec())
	if !p.Before.IsZero() {
		s.add(append(append([]cell{text(string(v.From))}, text("open before").across(5)...), lives(before, d))...)
	}
	last := of(before)
	open := p.Before
	for i, l := range p.Lines {
		charged, credited, left := key("charged", i), key("credited", i), key("open", i)
		t.input(charged, l.Charged.Dec())
		t.input(credited, l.Credited.Dec())
		if i == 0 && p.Before.IsZero() {
			last = formula.Int(0)
		}
		t.formula(left, last.Plus(of(charged)).Minus(of(credited)))
		last, open = of(left), l.Open
		row := []cell{plain(sheet.Date(string(l.On))), text(l.Document), text(l.Words),
			plain(sheet.Date(string(l.Due)))}
		s.add(append(row, lives(charged, d), lives(credited, d), lives(left, d))...)
		if err := t.givesDec(left, l.Open.Dec()); err != nil {
			return err
		}
	}
	s.gap()
	heads, amounts := []cell{styled("Open", sheet.Header)}, []cell{plain(sheet.Text(string(p.Currency)))}
	heads = append(heads, number("Total"))
	total := key("total", 0)
	var sum []formula.Expr
	var cells []cell
	for i, m := range p.Age.parts() {
		k := key("age", i)
		t.input(k, m.Dec())
		sum = append(sum, of(k))
		heads = append(heads, number(ageWords[i]))
		cells = append(cells, lives(k, d))
	}
	t.formula(total, formula.Sum(sum...))
	s.add(heads...)
	s.add(append(append(amounts, lives(total, d).as(sheet.Strong)), cells...)...)
	return errors.Join(t.givesDec(total, p.Age.Total.Dec()), t.givesDec(total, open.Dec()))
}

// givesDec makes sure that a figure is the number that the answer states,
// whatever its currency.
func (t *tally) givesDec(key formula.Key, want num.Dec) error {
	got, err := t.dec(key, 6)
	if err == nil && got.Cmp(want) != 0 {
		err = fmt.Errorf("%s is %s, but its formula gives %s", key, want, got)
	}
	return err
}

// StatementIssued is a statement and the paper that was issued of it.
type StatementIssued struct {
	Entry     string       `json:"entry"`
	Statement *Statement   `json:"statement"`
	Document  DocumentFile `json:"document"`
}

// Screen is what is open, and the lines.
func (s *StatementIssued) Screen() Screen {
	var out Screen
	v := s.Statement
	columns := []column[StatementLine]{
		screen("date", func(l *StatementLine) sheet.Cell { return sheet.Date(string(l.On)) }),
		screen("paper", func(l *StatementLine) sheet.Cell { return sheet.Text(l.Document) }),
		screen("what", func(l *StatementLine) sheet.Cell { return sheet.Text(l.Words) }),
		screen("due", func(l *StatementLine) sheet.Cell { return sheet.Date(string(l.Due)) }),
		screen("charged", func(l *StatementLine) sheet.Cell { return sheet.Money(l.Charged) }),
		screen("credited", func(l *StatementLine) sheet.Cell { return sheet.Money(l.Credited) }),
		screen("open", func(l *StatementLine) sheet.Cell { return sheet.Money(l.Open) }),
	}
	for _, p := range v.Parts {
		out.line("%s: %s %s", s.Document.Number, v.Party, p.Age.words())
		if !p.WrittenOff.IsZero() {
			out.line("of it %s are written off in the book; the statement does not say so", p.WrittenOff.Words())
		}
		out = append(out, Part{Table: tableOf(columns, p.Lines)})
	}
	return out
}
