package answer

import (
	"strconv"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// OfferAdded is an ask or a bid as it was written.
type OfferAdded struct {
	book.Offer
}

// Offers are the asks and bids for a parcel, oldest first.
type Offers struct {
	Parcel string       `json:"parcel"`
	Carats num.Carat    `json:"carats"` // of the parcel
	Offers []book.Offer `json:"offers"`
}

func (o *Offers) columns() []column[book.Offer] {
	return []column[book.Offer]{
		screen("number", func(r *book.Offer) sheet.Cell { return sheet.Text(strconv.Itoa(r.Number)) }),
		screen("date", func(r *book.Offer) sheet.Cell { return sheet.Date(string(r.On)) }),
		screen("side", func(r *book.Offer) sheet.Cell { return sheet.Text(r.Side) }),
		screen("party", func(r *book.Offer) sheet.Cell { return sheet.Text(r.Party) }),
		screen("total", func(r *book.Offer) sheet.Cell { return sheet.Text(r.Total.Words()).Right() }),
		screen("per carat", func(r *book.Offer) sheet.Cell {
			each, ok := r.Total.Dec().Div(o.Carats.Dec(), 2, num.HalfUp)
			if !ok { // nothing is known of the weight
				return sheet.Empty()
			}
			return sheet.Number(each, 2)
		}),
		screen("as named", func(r *book.Offer) sheet.Cell {
			if r.Foreign == nil {
				return sheet.Empty()
			}
			return sheet.Text(r.Foreign.Amount.Words() + " at " + r.Foreign.Rate.String())
		}),
		screen("note", func(r *book.Offer) sheet.Cell { return sheet.Text(r.Note) }),
	}
}

// Table is the asks and bids for the screen.
func (o *Offers) Table() *Table { return tableOf(o.columns(), o.Offers) }
