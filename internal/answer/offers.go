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

// Screen is the ask or bid in one line.
func (a *OfferAdded) Screen() Screen {
	var s Screen
	s.line("%s %s: %s by %s on %s", a.RecordKey(), a.Side, a.Total.Words(), a.Party, a.On)
	return s
}

// Offers are the asks and bids for a parcel, oldest first.
type Offers struct {
	Head   `json:"-"`
	Parcel string       `json:"parcel"`
	Carats num.Carat    `json:"carats"` // of the parcel
	Offers []book.Offer `json:"offers"`
}

func (o *Offers) columns() []column[book.Offer] {
	return []column[book.Offer]{
		screen("number", func(r *book.Offer) sheet.Cell { return sheet.Text(strconv.Itoa(r.Number)) }),
		onlyFiled("Number", 8, func(r *book.Offer) sheet.Cell { return sheet.Int(int64(r.Number)) }),
		{"date", "Date", 13, func(r *book.Offer) sheet.Cell { return sheet.Date(string(r.On)) }},
		{"side", "Side", 6, func(r *book.Offer) sheet.Cell { return sheet.Text(r.Side) }},
		{"party", "Party", 24, func(r *book.Offer) sheet.Cell { return sheet.Text(r.Party) }},
		screen("total", func(r *book.Offer) sheet.Cell { return sheet.Text(r.Total.Words()).Right() }),
		onlyFiled(o.unit("Total"), 12, func(r *book.Offer) sheet.Cell { return sheet.Money(r.Total) }),
		{"per carat", o.unit("Per carat"), 12, func(r *book.Offer) sheet.Cell {
			each, ok := r.Total.Dec().Div(o.Carats.Dec(), 2, num.HalfUp)
			if !ok { // nothing is known of the weight
				return sheet.Empty()
			}
			return sheet.Number(each, 2)
		}},
		{"as named", "As named", 28, func(r *book.Offer) sheet.Cell {
			if r.Foreign == nil {
				return sheet.Empty()
			}
			return sheet.Text(r.Foreign.Amount.Words() + " at " + r.Foreign.Rate.String())
		}},
		{"note", "Note", 30, func(r *book.Offer) sheet.Cell { return sheet.Text(r.Note) }},
	}
}

// List is the asks and bids.
func (o *Offers) List() Listing {
	return &list[book.Offer]{head: o.Head, columns: o.columns(), rows: o.Offers}
}
