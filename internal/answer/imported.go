package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
)

// Imported is what an import of rows did.
type Imported struct {
	What     string     `json:"-"` // that the rows are: rates, prices, readings, designs
	Entry    string     `json:"entry"`
	Rows     int        `json:"rows"`
	Warnings fault.List `json:"warnings"`
}

// Screen is the entry and how many rows it holds.
func (i *Imported) Screen() Screen {
	var s Screen
	s.line("%s: %d %s", i.Entry, i.Rows, i.What)
	return s
}

// ParcelImported is what an import did.
type ParcelImported struct {
	Parcel   book.Parcel `json:"parcel"`
	Entries  []string    `json:"entries"`
	Lots     []string    `json:"lots"`
	Warnings fault.List  `json:"warnings"`
	Document *Issued     `json:"document"` // the receipt for a customer's own stones; null: none
}

// Screen is the parcel in one line.
func (i *ParcelImported) Screen() Screen {
	var s Screen
	p := i.Parcel
	s.line("%s: %d lots, %d pieces, %s ct, %s from %s", p.Code, p.Lots, p.Pieces, p.Carats, p.Price.Words(), p.Vendor)
	s.paper(i.Document)
	return s
}
