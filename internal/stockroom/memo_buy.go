package stockroom

import (
	"context"
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// MemoBuy asks to buy a lot on memo in, or a part of it.
type MemoBuy struct {
	desk.Write
	Moving
}

// MemoBuy turns a lot on memo in, or a part of it, into the dealer's own at
// its agreed price: the rest stays the lender's.
func (room *Room) MemoBuy(ctx context.Context, r MemoBuy) (answer.Moved, error) {
	var out answer.Moved
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		m := r.Moving
		lot, here, err := lotAt(ctx, tx, m.Lot, book.Safe)
		if err != nil {
			return err
		}
		if lot.Owner.IsOwn() {
			return fault.New(fault.Refused, "memo-own", lot.Code+" is your own already", "nothing to buy").
				AtRef(lot.Code)
		}
		if m.Pieces == 0 {
			m.Pieces, m.Carats = here.Pieces, here.Carats
		}
		if m.Pieces > here.Pieces || m.Carats <= 0 || m.Carats > here.Carats || m.Pieces == here.Pieces &&
			m.Carats != here.Carats {
			return fault.New(fault.Refused, "take-too-much",
				fmt.Sprintf("%d pieces and %s ct are asked for, but the safe has %d pieces and %s ct of %s", m.Pieces,
					m.Carats, here.Pieces, here.Carats, lot.Code), "check the count and the weight").AtRef(lot.Code)
		}
		price := lot.Agreed
		if price.Currency() == "" {
			price = num.Zero(tx.Meta().Currency)
		}
		q := price.Dec().Mul(m.Carats.Dec()).Over(lot.Carats.Dec(), price.Currency().Digits(), num.HalfUp)
		price = num.MoneyFromDec(q, price.Currency(), num.HalfUp)
		child, err := childrenOf(ctx, tx, lot.Lot)
		if err != nil {
			return err
		}
		own := child(book.Lot{})
		own.Owner, own.Agreed = book.Own, price
		rest := lot.Lot
		rest.Agreed = lot.Agreed.Sub(price)
		lender := book.Owner(lot.Owner)
		e := s.Entry(ledger.Buy, "bought from memo in of "+string(lender))
		e.Records = []book.Record{own, rest}
		e.Postings = []ledger.Posting{
			{Lot: lot.Code, Place: book.Safe, Pieces: -m.Pieces, Carats: -m.Carats, Cost: num.Zero(price.Currency())},
			{Lot: own.Code, Place: book.Safe, Pieces: m.Pieces, Carats: m.Carats, Cost: price},
			{Lot: own.Code, Place: book.PlaceOf(book.AtVendor, book.Place(lender).Name()), Cost: price.Neg()},
		}
		out, err = post(ctx, tx, &e, own.Code)
		return err
	})
	return out, err
}
