package app

import (
	"context"
	"fmt"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// Sold is what a sale did.
type Sold struct {
	Moved
	Sale book.Sale `json:"sale"`
}

// SaleAdd asks to sell lots, or a part of one, from a place.
type SaleAdd struct {
	Write
	Customer string
	From     book.Place // empty: safe
	Lots     []Moving
	Price    num.Money
	Rate     num.Rate
	NoteText string
}

// SaleAdd sells stones: their cost leaves the book with them. A lot on memo in
// becomes a purchase first, at its agreed price.
func (a *App) SaleAdd(ctx context.Context, r SaleAdd) (Sold, error) {
	var out Sold
	if f := book.CheckName("a customer", r.Customer); f != nil {
		return out, f
	}
	if r.From == "" {
		r.From = book.Safe
	}
	err := a.update(ctx, r.Write, func(tx store.Tx, s stamp) error {
		e := s.entry(ledger.Sell, "sold to "+r.Customer)
		sale, err := sell(ctx, tx, &e, s, r.Customer, r.Lots, r.From, r.Price, r.Rate)
		if err != nil {
			return err
		}
		sale.Note = r.NoteText
		e.Records = []book.Record{sale}
		if err := tx.Post(ctx, &e); err != nil {
			return err
		}
		out = Sold{Moved{Entry: e.Code, Postings: e.Postings}, sale}
		return nil
	})
	return out, err
}

// sell fills an entry with what leaves for a customer.
func sell(ctx context.Context, tx store.Tx, e *ledger.Entry, s stamp, customer string, lots []Moving, from book.Place, price num.Money, rate num.Rate) (book.Sale, error) {
	n, err := tx.Next(ctx, string(book.KindSale))
	if err != nil {
		return book.Sale{}, err
	}
	if price.Sign() <= 0 {
		return book.Sale{}, fault.New(fault.Usage, "sale-price", "a sale has a price above 0", "give the net price with --price").AtFlag("price")
	}
	amount, foreign, f := inBook(tx.Meta().Currency, price, rate)
	if f != nil {
		return book.Sale{}, f
	}
	sale := book.Sale{Number: fmt.Sprintf("S%d", n), Customer: customer, On: s.on, From: from, Price: amount, Foreign: foreign, Cost: num.Zero(tx.Meta().Currency)}
	for _, lot := range lots {
		own, err := lotNamed(ctx, tx, lot.Lot)
		if err != nil {
			return sale, err
		}
		if !own.Owner.IsOwn() {
			return sale, fault.New(fault.Refused, "sale-not-own", fmt.Sprintf("%s belongs to %s", own.Code, own.Owner), "buy it first: lotpaper memo buy "+own.Code).AtRef(own.Code)
		}
		postings, supplied, err := carry(ctx, tx, lot, from, book.PlaceOf(book.AtCustomer, customer))
		if err != nil {
			return sale, err
		}
		e.Postings = append(e.Postings, postings...)
		sale.Lots = append(sale.Lots, supplied)
		sale.Cost = sale.Cost.Add(postings[1].Cost)
	}
	return sale, nil
}

// SaleReturn asks to take a sale back.
type SaleReturn struct {
	Write
	Number  string
	Damaged bool
}

// SaleReturn takes a whole sale back into the safe at the cost that left.
func (a *App) SaleReturn(ctx context.Context, r SaleReturn) (Sold, error) {
	var out Sold
	err := a.update(ctx, r.Write, func(tx store.Tx, s stamp) error {
		sale, err := store.Get[book.Sale](ctx, tx, r.Number)
		if err != nil {
			return notFound(err, "sale", r.Number, "see the customer's entries: lotpaper ledger show")
		}
		if sale.Reversed {
			return fault.New(fault.Refused, "sale-reversed", "sale "+sale.Number+" was taken back: it is no sale", "check the number").AtRef(sale.Number)
		}
		if sale.Returned {
			return fault.New(fault.Refused, "sale-returned", "sale "+sale.Number+" came back already", "check the number").AtRef(sale.Number)
		}
		from := book.PlaceOf(book.AtCustomer, sale.Customer)
		e := s.entry(ledger.Return, "sale "+sale.Number+" came back")
		weights := make([]num.Dec, len(sale.Lots))
		for i, l := range sale.Lots {
			weights[i] = l.Carats.Dec()
			balances, err := tx.Balances(ctx, store.BalanceFilter{Lot: l.Lot})
			if err != nil {
				return err
			}
			weights[i] = balanceAt(balances, l.Lot, from).Cost.Dec()
		}
		for i, cost := range sale.Cost.Share(weights) {
			l := sale.Lots[i]
			e.Postings = append(e.Postings, ledger.Move(l.Lot, from, book.Safe, l.Pieces, l.Carats, cost)...)
		}
		sale.Returned, sale.Damaged = true, r.Damaged
		e.Records = []book.Record{sale}
		if err := tx.Post(ctx, &e); err != nil {
			return err
		}
		out = Sold{Moved{Entry: e.Code, Postings: e.Postings}, sale}
		return nil
	})
	return out, err
}

// MemoBuy turns a lot on memo in, or a part of it, into the dealer's own at
// its agreed price: the rest stays the lender's.
func (a *App) MemoBuy(ctx context.Context, w Write, m Moving) (Moved, error) {
	var out Moved
	err := a.update(ctx, w, func(tx store.Tx, s stamp) error {
		lot, here, err := hereOf(ctx, tx, m.Lot, book.Safe)
		if err != nil {
			return err
		}
		if lot.Owner.IsOwn() {
			return fault.New(fault.Refused, "memo-own", lot.Code+" is your own already", "nothing to buy").AtRef(lot.Code)
		}
		if m.Pieces == 0 {
			m.Pieces, m.Carats = here.Pieces, here.Carats
		}
		if m.Pieces > here.Pieces || m.Carats <= 0 || m.Carats > here.Carats || m.Pieces == here.Pieces && m.Carats != here.Carats {
			return fault.New(fault.Refused, "take-too-much", fmt.Sprintf("%d pieces and %s ct are asked for, but the safe has %d pieces and %s ct of %s", m.Pieces, m.Carats, here.Pieces, here.Carats, lot.Code), "check the count and the weight").AtRef(lot.Code)
		}
		price := lot.Agreed
		if price.Currency() == "" {
			price = num.Zero(tx.Meta().Currency)
		}
		q := price.Dec().Mul(m.Carats.Dec()).Over(lot.Carats.Dec(), price.Currency().Digits(), num.HalfUp)
		price = num.MoneyFromDec(q, price.Currency(), num.HalfUp)
		next, err := tx.Next(ctx, book.LotSeries(lot.Code))
		if err != nil {
			return err
		}
		own := child(lot.Lot, book.Lot{})
		own.Code, own.Owner, own.Agreed = fmt.Sprintf("%s.%d", lot.Code, next), book.Own, price
		rest := lot.Lot
		rest.Agreed = lot.Agreed.Sub(price)
		lender := book.Owner(lot.Owner)
		e := s.entry(ledger.Buy, "bought from memo in of "+string(lender))
		e.Records = []book.Record{own, rest}
		e.Postings = []ledger.Posting{
			{Lot: lot.Code, Place: book.Safe, Pieces: -m.Pieces, Carats: -m.Carats, Cost: num.Zero(price.Currency())},
			{Lot: own.Code, Place: book.Safe, Pieces: m.Pieces, Carats: m.Carats, Cost: price},
			{Lot: own.Code, Place: book.PlaceOf(book.AtVendor, book.Place(lender).Name()), Cost: price.Neg()},
		}
		if err := tx.Post(ctx, &e); err != nil {
			return err
		}
		out = Moved{Entry: e.Code, Lots: []string{own.Code}, Postings: e.Postings}
		return nil
	})
	return out, err
}
