package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/sheet"
)

// RatesShow lists dated rates.
type RatesShow struct {
	Rates []book.Rate `json:"rates"`
}

var rateColumns = []column[book.Rate]{
	screen("kind", func(r *book.Rate) sheet.Cell { return sheet.Text(r.Kind) }),
	screen("name", func(r *book.Rate) sheet.Cell { return sheet.Text(r.Name) }),
	screen("value", func(r *book.Rate) sheet.Cell { return sheet.Text(r.Value.String()).Right() }),
	screen("unit", func(r *book.Rate) sheet.Cell { return sheet.Text(r.Unit) }),
	screen("date", func(r *book.Rate) sheet.Cell { return sheet.Date(string(r.On)) }),
	screen("source", func(r *book.Rate) sheet.Cell { return sheet.Text(r.Source) }),
}

// Table is the rates for the screen.
func (r *RatesShow) Table() *Table { return tableOf(rateColumns, r.Rates) }

// PricesShow lists the rows of the price list.
type PricesShow struct {
	Prices []book.Price `json:"prices"`
}

var priceColumns = []column[book.Price]{
	screen("species", func(p *book.Price) sheet.Cell { return sheet.Text(p.Species) }),
	screen("variety", func(p *book.Price) sheet.Cell { return sheet.Text(p.Variety) }),
	screen("shape", func(p *book.Price) sheet.Cell { return sheet.Text(p.Shape) }),
	screen("from mm", func(p *book.Price) sheet.Cell { return sheet.Float(p.LengthMin.Float(), 2) }),
	screen("to mm", func(p *book.Price) sheet.Cell { return sheet.Float(p.LengthMax.Float(), 2) }),
	screen("grade", func(p *book.Price) sheet.Cell { return sheet.Text(p.Grade) }),
	screen("loose per ct", func(p *book.Price) sheet.Cell { return sheet.Text(p.Loose.String()).Right() }),
	screen("replacement per ct", func(p *book.Price) sheet.Cell { return sheet.Text(p.Replacement.String()).Right() }),
	screen("date", func(p *book.Price) sheet.Cell { return sheet.Date(string(p.On)) }),
	screen("source", func(p *book.Price) sheet.Cell { return sheet.Text(p.Source) }),
}

// Table is the price list for the screen.
func (p *PricesShow) Table() *Table { return tableOf(priceColumns, p.Prices) }
