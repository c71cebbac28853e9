package answer

import (
	"strconv"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Parcels are parcels with their charges; what is left stands with a parcel
// that was asked for by name.
type Parcels struct {
	Parcels []ParcelShow `json:"parcels"`
}

// ParcelShow is a parcel with what is left of it.
type ParcelShow struct {
	book.Parcel
	Charges []book.Charge `json:"charges"`
	Left    []StockLot    `json:"left"`
	Held    num.Money     `json:"held"` // cost of what is left
}

var parcelColumns = []column[ParcelShow]{
	screen("parcel", func(p *ParcelShow) sheet.Cell { return sheet.Text(p.Code) }),
	screen("label", func(p *ParcelShow) sheet.Cell { return sheet.Text(p.Label) }),
	screen("kind", func(p *ParcelShow) sheet.Cell { return sheet.Text(string(p.Kind)) }),
	screen("vendor", func(p *ParcelShow) sheet.Cell { return sheet.Text(p.Vendor) }),
	screen("date", func(p *ParcelShow) sheet.Cell { return sheet.Date(string(p.On)) }),
	screen("lots", func(p *ParcelShow) sheet.Cell { return sheet.Text(strconv.Itoa(p.Lots)).Right() }),
	screen("pieces", func(p *ParcelShow) sheet.Cell { return sheet.Int(p.Pieces) }),
	screen("carats", func(p *ParcelShow) sheet.Cell { return sheet.Carats(p.Carats) }),
	screen("price", func(p *ParcelShow) sheet.Cell { return sheet.Text(p.Price.String()).Right() }),
}

// Table is the parcels for the screen.
func (p *Parcels) Table() *Table { return tableOf(parcelColumns, p.Parcels) }
