package answer

import (
	"strings"

	"lotpaper/internal/book"
)

// ParcelBought is what was bought of an offer.
type ParcelBought struct {
	Moved
	Parcel book.Parcel `json:"parcel"`
	Bid    *book.Offer `json:"bid"`  // the newest bid before it; null: there was none
	Rest   []string    `json:"rest"` // lots that are still on offer
}

// Screen is the parcel, what is still on offer, and what came in.
func (b *ParcelBought) Screen() Screen {
	var s Screen
	p := b.Parcel
	s.line("%s: bought from %s, %d lots, %d pieces, %s ct, %s", p.Code, p.Vendor, p.Lots, p.Pieces, p.Carats,
		p.Price.Words())
	if b.Bid != nil {
		s.line("bid %d was %s on %s", b.Bid.Number, b.Bid.Total.Words(), b.Bid.On)
	}
	if len(b.Rest) > 0 {
		s.line("still on offer: %s", strings.Join(b.Rest, ", "))
	}
	return append(s, b.Moved.Screen()...)
}
