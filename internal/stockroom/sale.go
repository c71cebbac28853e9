package stockroom

import (
	"cmp"
	"context"
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

// SaleAdd asks to sell lots, parts of lots or finished pieces from a place.
type SaleAdd struct {
	Movement
	Customer string
	From     book.Place // empty: safe
	Lines    []Selling
	Bill     Bill
	Buy      bool // stones on memo in are bought first
}

// Selling is pieces of one lot that leave for a customer, at their price.
type Selling struct {
	Moving
	Price num.UnitPrice  // without a currency it is in the bill's; zero: they share the bill's price
	Basis book.LineBasis // what the price is for
}

// Together are lines that share the price of their bill.
func Together(lots ...Moving) []Selling {
	out := make([]Selling, len(lots))
	for i, m := range lots {
		out[i].Moving = m
	}
	return out
}

// SaleAdd sells stones: their cost leaves the book with them, and the customer's
// invoice is issued. What is on memo in becomes a purchase first, when that is
// asked for, at its agreed price.
func (room *Room) SaleAdd(ctx context.Context, r SaleAdd) (answer.Sold, error) {
	var out answer.Sold
	r.From = cmp.Or(r.From, book.Safe)
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		var err error
		if r.Customer, err = desk.PartyOf(ctx, tx, "a customer", r.Customer); err != nil {
			return err
		}
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
		lines, _, err := m.boughtFirst(ctx, r.Lines, r.From, r.Buy)
		if err != nil {
			return err
		}
		sale, warnings, err := m.sell(ctx, s, r.Customer, r.From, lines, r.Bill)
		if err != nil {
			return err
		}
		m.record(sale)
		out.Sale = sale
		if out.Moved, err = m.post(ctx); err != nil {
			return err
		}
		out.Warnings = append(out.Warnings, warnings...)
		out.Opinions, err = room.opinionsOf(ctx, tx, sale.Lots)
		return err
	})
	return out, err
}

// sell fills the entry with what leaves for a customer, prices it and issues the
// invoice. The caller records the sale.
func (m *mover) sell(ctx context.Context, s desk.Stamp, customer string, from book.Place, lines []Selling,
	bill Bill) (book.Sale, fault.List, error) {
	tx := m.tx
	n, err := tx.Next(ctx, string(book.KindSale))
	if err != nil {
		return book.Sale{}, nil, err
	}
	sale := book.Sale{Number: fmt.Sprintf("S%d", n), Customer: customer, On: m.on, From: from,
		Cost: num.Zero(tx.Meta().Currency), Note: bill.Note}
	b, err := m.bill(ctx, customer, bill)
	if err != nil {
		return sale, nil, err
	}
	lots := make([]answer.StockLot, len(lines))
	for i, l := range lines {
		if lots[i], err = m.stockOf(ctx, l.Lot); err != nil {
			return sale, nil, err
		}
		line, err := m.leave(ctx, customer, from, l.Moving)
		if err != nil {
			return sale, nil, err
		}
		line.Price, line.Basis = num.UnitPrice{Money: b.in(l.Price.Money)}, cmp.Or(l.Basis, book.LineTogether)
		sale.Lines = append(sale.Lines, line)
		sale.Cost = sale.Cost.Add(line.Cost)
		for _, p := range line.Left(from) {
			sale.Lots = append(sale.Lots, book.SuppliedLot{Lot: p.Lot, Pieces: p.Pieces, Carats: p.Carats})
		}
	}
	warnings, err := m.price(ctx, &sale, lots, b)
	if err != nil {
		return sale, nil, err
	}
	if err := m.refuse(belowLeast(lots, sale.Lines)); err != nil {
		return sale, nil, err
	}
	warnings = append(warnings, belowCost(sale)...)
	invoice, err := m.invoiceOf(ctx, sale, b.to, lots, bill.Note)
	if err != nil {
		return sale, nil, err
	}
	doc, err := m.issue(ctx, s, desk.Draft{Kind: "INVOICE", Title: "Invoice", Model: invoice})
	sale.Invoice = doc.Number
	return sale, warnings, err
}

// leave posts pieces of a lot to a customer, and returns them as a line of the
// sale with the cost that left with them.
func (m *mover) leave(ctx context.Context, customer string, from book.Place, x Moving) (book.SaleLine, error) {
	before := len(m.entry.Postings)
	to := book.PlaceOf(book.AtCustomer, customer)
	sent, err := m.carry(ctx, from, to, x)
	if err != nil {
		return book.SaleLine{}, err
	}
	line := book.SaleLine{Lot: sent[0].Lot, Pieces: sent[0].Pieces, Carats: sent[0].Carats,
		Cost: num.Zero(m.tx.Meta().Currency)}
	for _, p := range m.entry.Postings[before:] {
		if p.Place == to {
			line.Cost = line.Cost.Add(p.Cost)
			if len(sent) > 1 { // a finished piece and its stones
				part := book.SoldPart{Sent: sent[len(line.Parts)], Cost: p.Cost}
				line.Parts = append(line.Parts, part)
			}
		}
	}
	return line, nil
}

// belowCost warns of lines that bring less than they cost, net of tax. It is for the
// house: no paper says it.
func belowCost(sale book.Sale) fault.List {
	var out fault.List
	for _, l := range sale.Lines {
		if l.Sold.Cmp(l.Cost) < 0 {
			out = append(out, fault.New(fault.Refused, "sale-below-cost",
				fmt.Sprintf("%s is sold below cost: it cost %s "+
					"and brings %s, a loss of %s", l.Lot, l.Cost.Words(), l.Sold.Words(), l.Cost.Sub(l.Sold).Words()),
				"check the price; a sale can be taken back").AtRef(l.Lot).AtField("price").
				Do("sale", "return", sale.Number).AsWarning())
		}
	}
	return out
}

// belowLeast is what is wrong with lines that bring less than their lots may be sold
// for at least, net of tax; nil when none does. Lines that share one price are
// compared together.
func belowLeast(lots []answer.StockLot, lines []book.SaleLine) *fault.Fault {
	var together leastOf
	for i, l := range lines {
		if l.Basis == book.LineTogether {
			together.add(lots[i].Lot, l)
			continue
		}
		var alone leastOf
		alone.add(lots[i].Lot, l)
		if f := alone.fault(); f != nil {
			return f
		}
	}
	return together.fault()
}

// leastOf is the least that lots may be sold for beside what their lines bring.
type leastOf struct {
	least, brings num.Money
	lots          []string
}

func (g *leastOf) add(lot book.Lot, l book.SaleLine) {
	g.brings = g.brings.Add(l.Sold)
	if p := lot.Prices; p != nil && p.Least.Sign() > 0 {
		g.least = g.least.Add(p.Basis.Of(p.Least, l.Pieces, l.Carats))
		g.lots = append(g.lots, lot.Code)
	}
}

func (g *leastOf) fault() *fault.Fault {
	if len(g.lots) == 0 || g.brings.Cmp(g.least) >= 0 {
		return nil
	}
	return fault.New(fault.Refused, "sale-below-least", fmt.Sprintf("%s is below the least price of %s, which is %s",
		g.brings.Words(), strings.Join(g.lots, ", "), g.least.Words()), "ask more, or say why it is accepted").
		AtRef(g.lots[0]).AtField("accept")
}
