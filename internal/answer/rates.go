package answer

import (
	"fmt"

	"lotpaper/internal/book"
	"lotpaper/internal/sheet"
)

// RatesShow lists dated rates.
type RatesShow struct {
	Head  `json:"-"`
	Rates []book.Rate `json:"rates"`
}

var rateColumns = []column[book.Rate]{
	{"kind", "Kind", 12, func(r *book.Rate) sheet.Cell { return sheet.Text(r.Kind) }},
	{"name", "Name", 20, func(r *book.Rate) sheet.Cell { return sheet.Text(r.Name) }},
	screen("value", func(r *book.Rate) sheet.Cell {
		value := r.Value.String()
		if r.Per > 1 {
			value += fmt.Sprintf(" per %d", r.Per)
		}
		return sheet.Text(value).Right()
	}),
	onlyFiled("Value", 11, func(r *book.Rate) sheet.Cell { return sheet.Number(r.Value, 0).Show(sheet.General) }),
	onlyFiled("Per", 6, func(r *book.Rate) sheet.Cell { return sheet.Int(r.Per) }),
	{"unit", "Unit", 12, func(r *book.Rate) sheet.Cell { return sheet.Text(r.Unit) }},
	{"date", "Date", 13, func(r *book.Rate) sheet.Cell { return sheet.Date(string(r.On)) }},
	{"source", "Source", 30, func(r *book.Rate) sheet.Cell { return sheet.Text(r.Source) }},
	onlyFiled("Note", 30, func(r *book.Rate) sheet.Cell { return sheet.Text(r.Note) }),
}

// List is the rates.
func (r *RatesShow) List() Listing {
	return &list[book.Rate]{head: r.Head, columns: rateColumns, rows: r.Rates}
}
