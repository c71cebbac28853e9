package lines

import (
	"context"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/store"
)

// OfferList asks for the asks and bids for a parcel.
type OfferList struct {
	Parcel string
}

// OfferList returns the asks and bids for a parcel, oldest first.
func (room *Room) OfferList(ctx context.Context, r OfferList) (answer.Offers, error) {
	var out answer.Offers
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		p, err := desk.ParcelNamed(ctx, tx, r.Parcel)
		if err != nil {
			return err
		}
		out.Parcel, out.Carats = p.Code, p.Carats
		if out.Head, err = room.desk.ListHead(ctx, tx, "Offers for "+p.Code); err != nil {
			return err
		}
		out.Offers, err = offersOf(ctx, tx, p.Code)
		return err
	})
	return out, err
}

// offersOf are the asks and bids for a parcel, oldest first.
func offersOf(ctx context.Context, tx store.ReadTx, parcel string) ([]book.Offer, error) {
	all, err := store.All[book.Offer](ctx, tx, parcel+"/")
	out := []book.Offer{}
	for _, o := range all {
		if strings.EqualFold(o.Parcel, parcel) {
			out = append(out, o)
		}
	}
	return out, err
}
