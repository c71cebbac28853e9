package book

import "lotpaper/internal/num"

// House is what the papers of the house say of it. A term that is not set is not
// printed: no default promises anything.
type House struct {
	Trade     string   // what it deals in
	Address   []string // line by line
	Telephone string
	Email     string
	TaxNumber string
	Bank      string
	Signs     string // who signs for it
	Payment   string
	Returns   string
	Delivery  string
	Insurance string
	Smallest  num.Dec // order, in the book's currency; 0: any
	Logo      string  // its picture, such as PIC7
	Paper     string  // A4 or Letter
	Accent    string  // red/green/blue
	Dates     string  // day, month or year: which stands first
}
