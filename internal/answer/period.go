package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/sheet"
)

// Period is a month that is closed or was once, and who closed or opened it.
type Period struct {
	Month  book.Month `json:"month"`
	Closed bool       `json:"closed"`
	On     book.Date  `json:"on"` // when it was closed, or opened again
	Who    string     `json:"who"`
	Reason string     `json:"reason"`
	Entry  string     `json:"entry"`
}

// state is "closed" or "open".
func (p *Period) state() string {
	if p.Closed {
		return "closed"
	}
	return "open"
}

// Screen says what the month now is.
func (p *Period) Screen() Screen { return Screen{{Table: tableOf(periodColumns, []Period{*p})}} }

// PeriodList is the months that are closed or were once.
type PeriodList struct {
	Head    `json:"-"`
	Periods []Period `json:"periods"`
}

var periodColumns = []column[Period]{
	{"month", "Month", 10, func(r *Period) sheet.Cell { return sheet.Text(string(r.Month)) }},
	{"state", "State", 9, func(r *Period) sheet.Cell { return sheet.Text(r.state()) }},
	{"since", "Since", 13, func(r *Period) sheet.Cell { return sheet.Date(string(r.On)) }},
	{"who", "Who", 14, func(r *Period) sheet.Cell { return sheet.Text(r.Who) }},
	{"reason", "Reason", 40, func(r *Period) sheet.Cell { return sheet.Text(r.Reason) }},
	{"entry", "Entry", 9, func(r *Period) sheet.Cell { return sheet.Text(r.Entry) }},
}

// List is the months.
func (l *PeriodList) List() Listing {
	return &list[Period]{head: l.Head, columns: periodColumns, rows: l.Periods}
}
