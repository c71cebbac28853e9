package stockroom

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// MemoBuy asks to buy a lot on memo in, or a part of it, where it lies.
type MemoBuy struct {
	Movement
	Moving
	At    book.Place // where the part lies; empty: the safe, or the only place where any of it is
	Price num.Money  // in place of the agreed price; zero: that
	Rate  num.Rate   // book units per unit; zero: the rates table's of the day
}

// MemoBuy turns a lot on memo in into the dealer's own at its agreed price, at
// the rate of the day (IAS 21.21). All of a lot keeps its code, wherever it lies;
// a part becomes a lot of its own, and the rest stays the lender's.
func (room *Room) MemoBuy(ctx context.Context, r MemoBuy) (answer.Moved, error) {
	var out answer.Moved
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		lot, err := desk.Named[book.Lot](ctx, tx, r.Lot)
		if err != nil {
			return err
		}
		e := s.Entry(ledger.Buy, "bought from memo in of "+lot.Owner.Lender())
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		own, err := m.buy(ctx, r.Moving, r.At, r.Price, r.Rate)
		if err != nil {
			return err
		}
		if place := m.partAt(own, lot.Code); place != "" && place.Kind() != book.AtOffice {
			if err := m.rename(ctx, place, lot.Code, own); err != nil {
				return err
			}
		}
		out, err = m.post(ctx, own)
		return err
	})
	return out, err
}

// buy adds the purchase of a lent lot, or of a part of it, to the entry and
// returns the code of what is now the dealer's own.
func (m *mover) buy(ctx context.Context, x Moving, at book.Place, price num.Money, rate num.Rate) (string, error) {
	lot, err := m.stockOf(ctx, x.Lot)
	if err != nil {
		return "", err
	}
	if err := lent(lot); err != nil {
		return "", err
	}
	if x.Pieces == 0 && at == "" {
		x.Pieces = lot.Pieces
	}
	if at, err = m.whereBought(ctx, lot, at); err != nil {
		return "", err
	}
	here := lot.At(at)
	if x.Pieces == 0 {
		x.Pieces = here.Pieces
	}
	whole := x.Pieces == lot.Pieces
	switch {
	case x.Pieces == 0 || !whole && here.Pieces == 0:
		return "", nothingAt(lot, at)
	case x.Carats == 0 && whole:
		x.Carats = lot.Carats
	case x.Carats == 0 && x.Pieces == here.Pieces:
		x.Carats = here.Carats
	}
	if x.Pieces > lot.Pieces || whole && x.Carats != lot.Carats {
		return "", fault.New(fault.Refused, "take-too-much",
			fmt.Sprintf("%d pieces and %s ct are asked for, but %s has "+
				"%d pieces and %s ct", x.Pieces, x.Carats, lot.Code, lot.Pieces, lot.Carats),
			"check the count and the weight").AtRef(lot.Code)
	}
	part := book.Weighed{Pieces: x.Pieces, Carats: x.Carats}
	agreed, rest := agreedPart(lot, part)
	cost, foreign, err := m.payable(ctx, lot.Lot, agreed, price, rate)
	if err != nil {
		return "", err
	}
	if whole {
		m.buyWhole(lot, cost, foreign)
		return lot.Code, nil
	}
	if _, _, err := m.takeOut(ctx, x, at); err != nil {
		return "", err
	}
	child, err := childrenOf(ctx, m.tx, lot.Lot)
	if err != nil {
		return "", err
	}
	own := child(book.Lot{})
	own.Owner, own.Agreed, own.Foreign, own.Due = book.Own, cost, foreign, ""
	vendor := book.PlaceOf(book.AtVendor, lot.Owner.Lender())
	rest.put(&lot.Lot)
	m.record(own)
	m.record(lot.Lot)
	m.entry.Postings = append(m.entry.Postings,
		ledger.Posting{Lot: lot.Code, Place: at, Pieces: -x.Pieces, Carats: -x.Carats, Cost: num.Zero(cost.Currency())},
		ledger.Posting{Lot: own.Code, Place: at, Pieces: x.Pieces, Carats: x.Carats, Cost: cost},
		ledger.Posting{Lot: own.Code, Place: vendor, Cost: cost.Neg()})
	return own.Code, m.holdOn(ctx, lot.Code, own.Code)
}

// buyWhole makes all of a lot the dealer's own where it lies: its cost is shared
// over its places.
func (m *mover) buyWhole(lot answer.StockLot, cost num.Money, foreign *book.ForeignPrice) {
	vendor := book.PlaceOf(book.AtVendor, lot.Owner.Lender())
	weights := make([]num.Dec, len(lot.Places))
	for i, b := range lot.Places {
		weights[i] = b.Carats.Dec()
		if lot.Carats == 0 {
			weights[i] = num.Int(b.Pieces)
		}
	}
	for i, c := range cost.Share(weights) {
		if !c.IsZero() {
			m.entry.Postings = append(m.entry.Postings, ledger.Posting{Lot: lot.Code, Place: lot.Places[i].Place,
				Cost: c})
		}
	}
	m.entry.Postings = append(m.entry.Postings, ledger.Posting{Lot: lot.Code, Place: vendor, Cost: cost.Neg()})
	lot.Owner, lot.Agreed, lot.Foreign, lot.Due = book.Own, cost, foreign, ""
	m.record(lot.Lot)
}

// lent refuses lots that cannot be bought: nobody lent them.
func lent(lot answer.StockLot) error {
	if f := notInCustody(lot.Lot, "bought"); f != nil {
		return f
	}
	if lot.Owner.Lender() == "" {
		return fault.New(fault.Refused, "memo-own", lot.Code+" is your own already", "nothing to buy").AtRef(lot.Code)
	}
	return nil
}

// whereBought is where a part is bought: at the place that is given, else in the
// safe, or in the only place where any of the lot is.
func (m *mover) whereBought(ctx context.Context, lot answer.StockLot, at book.Place) (book.Place, error) {
	if at == "" && len(lot.Places) == 1 {
		return lot.Places[0].Place, nil
	}
	return m.safeOf(ctx, lot.Code, cmp.Or(at, book.Safe), "at")
}

// payable is what a purchase costs in the book: the price that is given or that
// was agreed, at the day's rate.
func (m *mover) payable(ctx context.Context, lot book.Lot, agreed agreedPrice, price num.Money,
	given num.Rate) (num.Money, *book.ForeignPrice, error) {
	if price.IsZero() {
		price = agreed.named()
	}
	if price.IsZero() {
		return price, nil, fault.New(fault.Usage, "memo-no-price", "no price was agreed for "+lot.Code,
			"give the price").
			AtRef(lot.Code).AtField("price")
	}
	rate, err := rateOn(ctx, m.tx, m.on, price.Currency(), given)
	if err != nil {
		return price, nil, err
	}
	cost, foreign, f := inBook(m.tx.Meta().Currency, price, rate)
	if f != nil {
		return price, nil, f
	}
	return cost, foreign, nil
}

// partAt is where a part that was bought apart from its lot lies; empty: the lot
// was bought whole.
func (m *mover) partAt(own, lot string) book.Place {
	for _, p := range m.entry.Postings {
		if p.Lot == own && p.Pieces > 0 && own != lot {
			return p.Place
		}
	}
	return ""
}

// rename puts a part that was bought out on a memo onto that memo under its own
// code, in place of the part of the lender's lot.
func (m *mover) rename(ctx context.Context, place book.Place, lot, own string) error {
	memo, err := store.Get[book.Memo](ctx, m.tx, place.Name())
	switch {
	case errors.Is(err, store.ErrNotFound):
		return fault.New(fault.Refused, "memo-buy-paper", fmt.Sprintf("a part of %s lies at %s, which is no memo", lot,
			place), "book what came back first, or buy all of the lot").AtRef(lot)
	case err != nil:
		return err
	}
	var part book.Weighed
	for _, p := range m.entry.Postings {
		if p.Lot == own && p.Place == place {
			part.Pieces += p.Pieces
			part.Carats += p.Carats
		}
	}
	sent := book.Sent{Lot: own, Pieces: part.Pieces, Carats: part.Carats, From: place}
	for _, was := range memo.Sent {
		if was.Lot != lot || was.Price == nil {
			continue
		}
		price := *was.Price
		if price.Basis == book.LineTotal {
			price.Amount = num.UnitPrice{Money: price.Of(part, was.Weighed())}
		}
		sent.Price = &price
	}
	memo.Sent = append(memo.Sent, sent)
	m.record(memo)
	p, _ := desk.PaperOf(&memo)
	_, err = m.memoBatch(ctx, p, []book.BatchLine{{Lot: lot, Outcome: book.Acquired, Weighed: part,
		Off: part, Into: own,
		To: place}})
	return err
}

// boughtFirst refuses lots of others among those that are sold, or, when they may
// be bought, buys them where they lie. It returns what is sold then, and of each
// new lot the lent one that it was a part of.
func (m *mover) boughtFirst(ctx context.Context, lines []Selling, from book.Place, buy bool) ([]Selling,
	map[string]string, error) {
	out, parts := make([]Selling, len(lines)), map[string]string{}
	for i, l := range lines {
		x := l.Moving
		out[i] = l
		place, err := m.safeOf(ctx, x.Lot, from, "from")
		if err != nil {
			return nil, nil, err
		}
		lot, here, err := m.lotAt(ctx, x.Lot, place)
		if err != nil {
			return nil, nil, err
		}
		if f := notInCustody(lot.Lot, "sold"); f != nil {
			return nil, nil, f
		}
		switch {
		case lot.Owner.IsOwn():
			continue
		case !buy:
			return nil, nil, fault.New(fault.Refused, "sale-not-own", fmt.Sprintf("%s belongs to %s",
				lot.Code, lot.Owner),
				"buy it first, or with the sale").AtRef(lot.Code).AtField("buy").Do("memo", "buy", lot.Code)
		}
		if x.Pieces == 0 {
			x.Pieces, x.Carats = here.Pieces, here.Carats
		}
		own, err := m.buy(ctx, x, place, num.Money{}, num.Rate{})
		if err != nil {
			return nil, nil, err
		}
		out[i].Lot = own
		if !strings.EqualFold(own, lot.Code) {
			parts[own] = lot.Code
		}
	}
	return out, parts, nil
}
