package stockroom

import (
	"cmp"
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

// SaleAdd asks to sell lots, or a part of one, from a place.
type SaleAdd struct {
	Movement
	Customer string
	From     book.Place // empty: safe
	Lots     []Moving
	Price    num.Money
	Rate     num.Rate
	Note     string
}

// SaleAdd sells stones: their cost leaves the book with them. A lot on memo in
// becomes a purchase first, at its agreed price.
func (room *Room) SaleAdd(ctx context.Context, r SaleAdd) (answer.Sold, error) {
	var out answer.Sold
	if f := book.CheckName("a customer", r.Customer); f != nil {
		return out, f
	}
	r.From = cmp.Or(r.From, book.Safe)
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		e := s.Entry(ledger.Sell, "sold to "+r.Customer)
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		if r.From.Kind() == book.AtPaper {
			return fault.New(fault.Refused, "sale-from-paper", "what lies on "+r.From.Name()+
				" is sold by its memo, or "+
				"comes back first", "sell it from the memo").AtField("from").Do("memo", "sell", r.From.Name())
		}
		sale, err := m.sell(ctx, r.Customer, r.Lots, r.From, r.Price, r.Rate)
		if err != nil {
			return err
		}
		sale.Note = r.Note
		m.record(sale)
		out.Sale = sale
		if out.Opinions, err = room.opinionsOf(ctx, tx, sale.Lots); err != nil {
			return err
		}
		out.Moved, err = m.post(ctx)
		return err
	})
	return out, err
}

// sell fills the entry with what leaves for a customer.
func (m *mover) sell(ctx context.Context, customer string, lots []Moving, from book.Place, price num.Money,
	rate num.Rate) (book.Sale, error) {
	tx, e := m.tx, m.entry
	n, err := tx.Next(ctx, string(book.KindSale))
	if err != nil {
		return book.Sale{}, err
	}
	if price.Sign() <= 0 {
		return book.Sale{}, fault.New(fault.Usage, "sale-price", "a sale has a price above 0", "give the net price").
			AtField("price")
	}
	amount, foreign, f := inBook(tx.Meta().Currency, price, rate)
	if f != nil {
		return book.Sale{}, f
	}
	sale := book.Sale{Number: fmt.Sprintf("S%d", n), Customer: customer, On: m.on, From: from, Price: amount,
		Foreign: foreign, Cost: num.Zero(tx.Meta().Currency)}
	for _, lot := range lots {
		own, err := desk.Named[book.Lot](ctx, tx, lot.Lot)
		if err != nil {
			return sale, err
		}
		if !own.Owner.IsOwn() {
			return sale, fault.New(fault.Refused, "sale-not-own", fmt.Sprintf("%s belongs to %s", own.Code, own.Owner),
				"buy it first").AtRef(own.Code).Do("memo", "buy", own.Code)
		}
	}
	to := book.PlaceOf(book.AtCustomer, customer)
	sent, err := m.carry(ctx, from, to, lots...)
	for _, l := range sent {
		sale.Lots = append(sale.Lots, book.SuppliedLot{Lot: l.Lot, Pieces: l.Pieces, Carats: l.Carats})
	}
	for _, p := range e.Postings {
		if p.Place == to {
			sale.Cost = sale.Cost.Add(p.Cost)
		}
	}
	return sale, err
}

// SaleReturn asks to take a sale back.
type SaleReturn struct {
	desk.Write
	Number  string
	Damaged bool
}

// SaleReturn takes a whole sale back into the safe at the cost that left.
func (room *Room) SaleReturn(ctx context.Context, r SaleReturn) (answer.Sold, error) {
	out := answer.Sold{Opinions: []answer.Opinion{}}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		sale, err := desk.Named[book.Sale](ctx, tx, r.Number)
		if err != nil {
			return err
		}
		if sale.Reversed {
			return fault.New(fault.Refused, "sale-reversed", "sale "+sale.Number+" was taken back: it is no sale",
				"check the number").AtRef(sale.Number)
		}
		if sale.Returned {
			return fault.New(fault.Refused, "sale-returned", "sale "+sale.Number+" came back already",
				"check the number").AtRef(sale.Number)
		}
		from := book.PlaceOf(book.AtCustomer, sale.Customer)
		e := s.Entry(ledger.Return, "sale "+sale.Number+" came back")
		weights := make([]num.Dec, len(sale.Lots))
		for i, l := range sale.Lots {
			sold, err := tx.Balances(ctx, store.BalanceFilter{Lot: l.Lot, Place: from})
			if err != nil {
				return err
			}
			for _, b := range sold {
				weights[i] = weights[i].Add(b.Cost.Dec())
			}
		}
		for i, cost := range sale.Cost.Share(weights) {
			l := sale.Lots[i]
			e.Postings = append(e.Postings, ledger.Move(l.Lot, from, book.Safe, l.Pieces, l.Carats, cost)...)
		}
		sale.Returned, sale.Damaged = true, r.Damaged
		e.Records = []book.Record{sale}
		out.Sale = sale
		out.Moved, err = post(ctx, tx, &e)
		return err
	})
	return out, err
}
