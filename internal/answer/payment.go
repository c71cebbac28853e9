package answer

import (
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Paid is what a payment did.
type Paid struct {
	Entry    string       `json:"entry"`
	Payment  book.Payment `json:"payment"`
	Items    []PaidItem   `json:"items"` // what it settled, and what is left of that
	Warnings fault.List   `json:"warnings"`
}

// PaidItem is one paper that a payment settles, or what it keeps on account.
type PaidItem struct {
	Number   string    `json:"number"`   // S3
	Document string    `json:"document"` // as its party knows it
	Settled  num.Money `json:"settled"`
	Left     num.Money `json:"left"` // still open, in its currency; negative: paid too much
}

// Warned are the warnings.
func (p *Paid) Warned() fault.List { return p.Warnings }

var paidColumns = []column[PaidItem]{
	screen("paper", func(r *PaidItem) sheet.Cell { return sheet.Text(r.Document) }),
	screen("settled", func(r *PaidItem) sheet.Cell { return sheet.Money(r.Settled) }),
	screen("open", func(r *PaidItem) sheet.Cell { return sheet.Money(r.Left) }),
}

// Screen is the payment, what is left, and what the rates gained or lost.
func (p *Paid) Screen() Screen {
	var s Screen
	x := p.Payment
	who := "from " + x.Party
	if x.Out {
		who = "to " + x.Party
	}
	var papers []PaidItem
	var kept *PaidItem
	for i, r := range p.Items {
		if r.Number == x.Number {
			kept = &p.Items[i]
			continue
		}
		papers = append(papers, r)
	}
	money := x.Number + ": " + x.Amount.Words() + " " + who
	switch {
	case x.WriteOff:
		s.line("%s: %s of %s written off; %s of it are open", x.Number, papers[0].Settled.Words(), papers[0].Document,
			papers[0].Left.Words())
	case x.Amount.IsZero():
		s.line("%s: set off with %s, no money moved", x.Number, x.Party)
		s.table(tableOf(paidColumns, papers))
	case len(papers) == 0:
		s.line("%s on account", money)
	case len(papers) == 1:
		s.line("%s for %s; %s of it are open", money, papers[0].Document, papers[0].Left.Words())
	default:
		s.line("%s for %d papers", money, len(papers))
		s.table(tableOf(paidColumns, papers))
	}
	if kept != nil {
		s.line("%s are kept on account as %s, for a later invoice", kept.Settled.Words(), x.Number)
	}
	for _, part := range x.Parts {
		if part.Recovered {
			s.line("%s of it were written off and are recovered: a gain of %s", part.Settled.Words(),
				part.Carrying.Words())
		}
	}
	if !x.Fee.IsZero() {
		s.line("the bank took %s", x.Fee.Words())
	}
	carrying := num.Zero(x.Book.Currency())
	for _, part := range x.Parts {
		if part.Out == x.Out {
			carrying = carrying.Add(part.Carrying)
		} else {
			carrying = carrying.Sub(part.Carrying)
		}
	}
	switch {
	case x.Difference.Sign() > 0:
		s.line("the rates gained %s: it stood at %s and brought %s", x.Difference.Words(), carrying.Words(),
			x.Book.Words())
	case x.Difference.Sign() < 0:
		s.line("the rates lost %s: it stood at %s and was paid with %s", x.Difference.Neg().Words(), carrying.Words(),
			x.Book.Words())
	}
	return s
}

// PaymentList is payments, oldest first.
type PaymentList struct {
	Head     `json:"-"`
	Payments []PaymentRow `json:"payments"`
}

// PaymentRow is one payment.
type PaymentRow struct {
	book.Payment
	Void bool `json:"void"`
}

var paymentColumns = []column[PaymentRow]{
	{"payment", "Payment", 10, func(r *PaymentRow) sheet.Cell { return sheet.Text(r.Number) }},
	{"date", "Date", 13, func(r *PaymentRow) sheet.Cell { return sheet.Date(string(r.On)) }},
	{"party", "Party", 24, func(r *PaymentRow) sheet.Cell { return sheet.Text(r.Party) }},
	{"for", "For", 16, func(r *PaymentRow) sheet.Cell { return sheet.Text(r.papers()) }},
	{"way", "Way", 11, func(r *PaymentRow) sheet.Cell { return sheet.Text(r.way()) }},
	{"amount", "Amount", 12, func(r *PaymentRow) sheet.Cell { return sheet.Money(r.Amount) }},
	{"currency", "Currency", 9, func(r *PaymentRow) sheet.Cell { return sheet.Text(string(r.Amount.Currency())) }},
	onlyFiled("Rate", 12, func(r *PaymentRow) sheet.Cell { return sheet.Text(r.rate()).Right() }),
	{"in the book", "In the book's currency", 13, func(r *PaymentRow) sheet.Cell { return sheet.Money(r.Book) }},
	onlyFiled("Fee of the bank", 12, func(r *PaymentRow) sheet.Cell {
		if r.Fee.IsZero() {
			return sheet.Empty()
		}
		return sheet.Money(r.Fee)
	}),
	{"difference", "Exchange difference", 13, func(r *PaymentRow) sheet.Cell { return sheet.Money(r.Difference) }},
	onlyFiled("Note", 30, func(r *PaymentRow) sheet.Cell { return sheet.Text(r.Note) }),
}

// papers are what was paid, in words.
func (r *PaymentRow) papers() string {
	var out []string
	for _, x := range r.Parts {
		switch {
		case x.For == r.Number:
			out = append(out, "on account")
		default:
			out = append(out, x.For)
		}
	}
	return strings.Join(out, ", ")
}

// way says which way the money went.
func (r *PaymentRow) way() string {
	switch {
	case r.Void:
		return "void"
	case r.WriteOff:
		return "written off"
	case r.Amount.IsZero():
		return "set off"
	case r.Out:
		return "paid"
	}
	return "received"
}

// rate is the payment's rate in words; empty in the book's currency.
func (r *PaymentRow) rate() string {
	if r.Rate == (num.Rate{}) {
		return ""
	}
	return r.Rate.String()
}

// List is the payments.
func (l *PaymentList) List() Listing {
	return &list[PaymentRow]{head: l.Head, columns: paymentColumns, rows: l.Payments}
}
