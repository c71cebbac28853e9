package answer

import (
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Parcels are parcels with their charges; what is left stands with a parcel
// that was asked for by name.
type Parcels struct {
	Head    `json:"-"`
	Parcels []ParcelShow `json:"parcels"`
}

// ParcelShow is a parcel with what is left of it.
type ParcelShow struct {
	book.Parcel
	Void    string        `json:"void"` // the entry that took the purchase back; empty: it stands
	Charges []ChargeShown `json:"charges"`
	Left    []StockLot    `json:"left"`
	Held    num.Money     `json:"held"` // cost of what is left
}

// ChargeShown is a charge of a parcel.
type ChargeShown struct {
	book.Charge
	Void string `json:"void"` // the entry that took it back; empty: it stands
}

// voidMark marks in a list what was taken back.
func voidMark(by string) string {
	if by == "" {
		return ""
	}
	return "void by " + by
}

func (p *Parcels) columns() []column[ParcelShow] {
	return []column[ParcelShow]{
		{"parcel", "Parcel", 8, func(r *ParcelShow) sheet.Cell { return sheet.Text(r.Code) }},
		{"label", "Label", 18, func(r *ParcelShow) sheet.Cell { return sheet.Text(r.Label) }},
		{"kind", "Kind", 10, func(r *ParcelShow) sheet.Cell { return sheet.Text(string(r.Kind)) }},
		{"vendor", "Vendor", 24, func(r *ParcelShow) sheet.Cell { return sheet.Text(r.Vendor) }},
		{"date", "Date", 13, func(r *ParcelShow) sheet.Cell { return sheet.Date(string(r.On)) }},
		{"lots", "Lots", 7, func(r *ParcelShow) sheet.Cell { return sheet.Int(int64(r.Lots)) }},
		{"pieces", "Pieces", 8, func(r *ParcelShow) sheet.Cell { return sheet.Int(r.Pieces) }},
		{"carats", "By scale (ct)", 11, func(r *ParcelShow) sheet.Cell { return sheet.Carats(r.Carats) }},
		{"price", p.unit("Price"), 12, func(r *ParcelShow) sheet.Cell { return sheet.Money(r.Price) }},
		onlyFiled("Invoice currency", 10, func(r *ParcelShow) sheet.Cell { return sheet.Text(string(r.Currency)) }),
		onlyFiled("Rate", 12, func(r *ParcelShow) sheet.Cell { return sheet.Text(r.Rate.String()).Right() }),
		onlyFiled("Note", 30, func(r *ParcelShow) sheet.Cell { return sheet.Text(r.Note) }),
	}
}

// List is the parcels.
func (p *Parcels) List() Listing {
	columns := p.columns()
	if slices.ContainsFunc(p.Parcels, func(r ParcelShow) bool { return r.Void != "" }) {
		columns = append(columns, column[ParcelShow]{"void", "Void", 12, func(r *ParcelShow) sheet.Cell {
			return sheet.Text(voidMark(r.Void))
		}})
	}
	out := &list[ParcelShow]{head: p.Head, columns: columns, rows: p.Parcels}
	if len(p.Parcels) == 0 {
		out.first = []string{"no parcels"}
	}
	return out
}

// Screen is the parcels, then the charges of those that were asked for by name
// and what is left of them.
func (p *Parcels) Screen() Screen {
	s := p.List().Screen()
	for _, r := range p.Parcels {
		for _, c := range r.Charges {
			words := fmt.Sprintf("%s %s: %s by %s (%s variance) on %s", c.Code, c.Kind, c.Amount.Words(), c.Key,
				c.Variance, c.On)
			s.line("%s", strings.Join(fields(words, voidMark(c.Void)), ", "))
		}
		s.line("left: %d lots, cost %s", len(r.Left), r.Held.Words())
	}
	return s
}
