package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Paid is what a payment did.
type Paid struct {
	Entry    string       `json:"entry"`
	Payment  book.Payment `json:"payment"`
	Document string       `json:"document"` // what it was for, as its party knows it
	Left     num.Money    `json:"left"`     // still open of that, in its currency; negative: paid too much
}

// Screen is the payment, what is left, and what the rates gained or lost.
func (p *Paid) Screen() Screen {
	var s Screen
	x := p.Payment
	who := "from " + x.Party
	if x.Out {
		who = "to " + x.Party
	}
	s.line("%s: %s %s for %s; %s of it are open", x.Number, x.Amount.Words(), who, p.Document, p.Left.Words())
	switch x.Difference.Sign() {
	case 1:
		s.line("the rates gained %s: it stood at %s and brought %s", x.Difference.Words(), x.Carrying.Words(),
			x.Book.Words())
	case -1:
		s.line("the rates lost %s: it stood at %s and was paid with %s", x.Difference.Neg().Words(), x.Carrying.Words(),
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
	{"for", "For", 10, func(r *PaymentRow) sheet.Cell { return sheet.Text(r.For) }},
	{"way", "Way", 8, func(r *PaymentRow) sheet.Cell {
		switch {
		case r.Void:
			return sheet.Text("void")
		case r.Out:
			return sheet.Text("paid")
		}
		return sheet.Text("received")
	}},
	{"amount", "Amount", 12, func(r *PaymentRow) sheet.Cell { return sheet.Money(r.Amount) }},
	{"currency", "Currency", 9, func(r *PaymentRow) sheet.Cell { return sheet.Text(string(r.Amount.Currency())) }},
	onlyFiled("Rate", 12, func(r *PaymentRow) sheet.Cell { return sheet.Text(r.rate()).Right() }),
	{"in the book", "In the book's currency", 13, func(r *PaymentRow) sheet.Cell { return sheet.Money(r.Book) }},
	{"difference", "Exchange difference", 13, func(r *PaymentRow) sheet.Cell { return sheet.Money(r.Difference) }},
	onlyFiled("Note", 30, func(r *PaymentRow) sheet.Cell { return sheet.Text(r.Note) }),
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
