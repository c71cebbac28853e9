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

// MemoSell asks to sell what is out on a memo.
type MemoSell struct {
	Movement
	Number string
	Lines  []Selling // none: all that is out; a price replaces the memo's
	Bill   Bill      // with a price: it is for all that has none of its own here, in place of the memo's
	Buy    bool      // stones on memo in are bought first
}

// MemoSell sells what is out on a memo to the party that has it, at the memo's
// prices unless others are given. The rest stays out.
func (room *Room) MemoSell(ctx context.Context, r MemoSell) (answer.Sold, error) {
	var out answer.Sold
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		p, err := openMemo(ctx, tx, r.Number)
		if err != nil {
			return err
		}
		e := s.Entry(ledger.Sell, "sold from memo "+p.Number)
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		lines, err := r.lines(ctx, m, p)
		if err != nil {
			return err
		}
		memo, err := store.Get[book.Memo](ctx, tx, p.Number)
		if err != nil {
			return err
		}
		bill := r.Bill
		bill.Terms = cmp.Or(bill.Terms, memo.Terms)
		if bill.Price.IsZero() && bill.Currency == "" {
			bill.Currency = lines[0].Price.Currency()
		}
		lines, lent, err := m.boughtFirst(ctx, lines, p.Place, r.Buy)
		if err != nil {
			return err
		}
		sale, warnings, err := m.sell(ctx, s, p.Party, p.Place, lines, bill)
		if err != nil {
			return err
		}
		sale.Memo = p.Number
		m.record(sale)
		if _, err := m.memoBatch(ctx, p, soldLines(sale, lent)); err != nil {
			return err
		}
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

// soldLines are what a sale takes off its memo; lent are the lots of which a part
// was bought to be sold.
func soldLines(sale book.Sale, lent map[string]string) []book.BatchLine {
	var out []book.BatchLine
	var parts []book.SoldPart
	for _, l := range sale.Lines {
		parts = append(parts, l.Left(sale.From)...)
	}
	for _, l := range parts {
		w := book.Weighed{Pieces: l.Pieces, Carats: l.Carats}
		line := book.BatchLine{Lot: l.Lot, Outcome: book.Sold, Weighed: w, Off: w,
			To: book.PlaceOf(book.AtCustomer, sale.Customer)}
		if l.From.Kind() == book.AtPiece { // only the piece lay on the memo
			line.Off = book.Weighed{}
		}
		if lot := lent[l.Lot]; lot != "" {
			line.Lot, line.Into = lot, l.Lot
		}
		out = append(out, line)
	}
	return out
}

// lines are what is sold, at the memo's prices where no others are given.
func (r *MemoSell) lines(ctx context.Context, m *mover, p desk.Paper) ([]Selling, error) {
	lines := r.Lines
	if len(lines) == 0 {
		held, err := desk.OnPaper(ctx, m.tx, p)
		if err != nil {
			return nil, err
		}
		var all []Moving
		for _, b := range held {
			all = append(all, Moving{b.Lot, b.Pieces, b.Carats})
		}
		lines = Together(all...)
	}
	out := make([]Selling, len(lines))
	for i, l := range lines {
		out[i] = l
		if !l.Price.IsZero() || !r.Bill.Price.IsZero() {
			continue
		}
		lot, price, err := m.memoPrice(ctx, p, l.Moving)
		if err != nil {
			return nil, err
		}
		if price == nil {
			return nil, fault.New(fault.Usage, "sale-price", fmt.Sprintf("no price was named for %s when it went out",
				lot), "give the price").AtRef(lot).AtField("price")
		}
		out[i].Price, out[i].Basis = price.Amount, price.Basis
	}
	return out, nil
}

// memoPrice is a lot's code and the memo's price of a part of it that leaves; nil
// when none was named. Of a price for all it is the part's own.
func (m *mover) memoPrice(ctx context.Context, p desk.Paper, x Moving) (string, *book.AskedPrice, error) {
	lot, here, err := m.lotAt(ctx, x.Lot, p.Place)
	if err != nil {
		return lot.Code, nil, err
	}
	sent := sentAs(p.Sent, lot.Code)
	if sent == nil || sent.Price == nil {
		return lot.Code, nil, nil
	}
	price := *sent.Price
	if price.Basis == book.LineTotal {
		held := book.Weighed{Pieces: here.Pieces, Carats: here.Carats}
		part := book.Weighed{Pieces: x.Pieces, Carats: x.Carats}
		if part.Pieces == 0 || part.Pieces == held.Pieces {
			part = held
		}
		price.Amount = num.UnitPrice{Money: price.Taken(part, held, sent.Weighed())}
	}
	return lot.Code, &price, nil
}
