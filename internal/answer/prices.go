package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// PricesShow lists the rows of the price list.
type PricesShow struct {
	Head   `json:"-"`
	Prices []book.Price `json:"prices"`
}

func (p *PricesShow) columns() []column[book.Price] {
	return []column[book.Price]{
		{"species", "Species", 18, func(r *book.Price) sheet.Cell { return sheet.Text(r.Species) }},
		{"variety", "Variety", 16, func(r *book.Price) sheet.Cell { return sheet.Text(r.Variety) }},
		{"shape", "Shape", 14, func(r *book.Price) sheet.Cell { return sheet.Text(r.Shape) }},
		{"from mm", "From (mm)", 10, func(r *book.Price) sheet.Cell { return sheet.Millimetres(r.LengthMin) }},
		{"to mm", "To (mm)", 10, func(r *book.Price) sheet.Cell { return sheet.Millimetres(r.LengthMax) }},
		{"grade", "Grade", 12, func(r *book.Price) sheet.Cell { return sheet.Text(r.Grade) }},
		{"loose per ct", p.unit("Loose per ct"), 14, func(r *book.Price) sheet.Cell { return unitPrice(r.Loose) }},
		{"replacement per ct", p.unit("Replacement per ct"), 14, func(r *book.Price) sheet.Cell {
			return unitPrice(r.Replacement)
		}},
		{"date", "Date", 13, func(r *book.Price) sheet.Cell { return sheet.Date(string(r.On)) }},
		{"source", "Source", 30, func(r *book.Price) sheet.Cell { return sheet.Text(r.Source) }},
	}
}

// unitPrice is a price per carat; zero, which is unknown, stays empty.
func unitPrice(u num.UnitPrice) sheet.Cell {
	if u.IsZero() {
		return sheet.Empty()
	}
	return sheet.Number(u.Dec(), 2).Show(sheet.UnitCost)
}

// List is the price list.
func (p *PricesShow) List() Listing {
	return &list[book.Price]{head: p.Head, columns: p.columns(), rows: p.Prices}
}
