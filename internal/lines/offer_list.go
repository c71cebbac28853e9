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

// offersOf are the asks and bids for a parcel and what was bought of it, oldest
// first. A purchase that was reversed is none.
func offersOf(ctx context.Context, tx store.ReadTx, parcel string) ([]book.Offer, error) {
	out := []book.Offer{}
	reversed, err := tx.Reversals(ctx)
	if err != nil {
		return nil, err
	}
	rows, err := tx.Rows(ctx, book.KindOffer, store.RowFilter{Prefix: parcel + "/"})
	if err != nil {
		return nil, err
	}
	for _, row := range rows {
		r, err := store.Decode(book.KindOffer, row.Key, row.Doc)
		if err != nil {
			return nil, err
		}
		o := *r.(*book.Offer)
		if strings.EqualFold(o.Parcel, parcel) && (o.Side != "bought" || reversed[row.Since] == "") {
			out = append(out, o)
		}
	}
	return out, nil
}
