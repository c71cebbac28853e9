package stockroom

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// stonesIn are the stones in a piece, as the entry leaves them so far.
func (m *mover) stonesIn(ctx context.Context, inside book.Place) ([]ledger.Balance, error) {
	held, err := desk.StonesIn(ctx, m.tx, inside)
	if err != nil {
		return nil, err
	}
	for _, p := range m.entry.Postings {
		if p.Place != inside {
			continue
		}
		known := false
		for i, b := range held {
			if strings.EqualFold(b.Lot, p.Lot) {
				held[i] = ledger.Balance{Lot: b.Lot, Place: inside, Pieces: b.Pieces + p.Pieces,
					Carats: b.Carats + p.Carats, Cost: b.Cost.Add(p.Cost)}
				known = true
			}
		}
		if !known {
			held = append(held, ledger.Balance(p))
		}
	}
	out := held[:0]
	for _, b := range held {
		if b.Pieces > 0 {
			out = append(out, b)
		}
	}
	return out, nil
}

// goodsOf is a lot, and the stones in it when it is a finished piece.
func goodsOf(ctx context.Context, tx store.ReadTx, lot book.Lot) (answer.Goods, error) {
	if !lot.IsPiece() {
		return answer.Goods{Lot: lot}, nil
	}
	held, err := desk.StonesIn(ctx, tx, lot.Inside())
	if err != nil {
		return answer.Goods{}, err
	}
	return withStones(ctx, tx, lot, held)
}

func withStones(ctx context.Context, tx store.ReadTx, lot book.Lot, held []ledger.Balance) (answer.Goods, error) {
	out := answer.Goods{Lot: lot}
	for _, b := range held {
		stone, err := desk.Named[book.Lot](ctx, tx, b.Lot)
		if err != nil {
			return out, err
		}
		out.In = append(out.In, answer.Within{Lot: stone, Weighed: book.Weighed{Pieces: b.Pieces, Carats: b.Carats}})
	}
	return out, nil
}

// goods is a lot with the stones that are in it before the entry, or, when it comes
// back with them, after it.
func (m *mover) goods(ctx context.Context, lot book.Lot) (answer.Goods, error) {
	out, err := goodsOf(ctx, m.tx, lot)
	if err != nil || len(out.In) > 0 || !lot.IsPiece() {
		return out, err
	}
	held, err := m.stonesIn(ctx, lot.Inside())
	if err != nil {
		return out, err
	}
	return withStones(ctx, m.tx, lot, held)
}

// goodsLine is a lot in the words of an invoice.
func (m *mover) goodsLine(ctx context.Context, lot book.Lot) (string, error) {
	g, err := m.goods(ctx, lot)
	return answer.GoodsLine(g, m.config.CaratRule), err
}

// paperStone is a part of a lot in the words of a party's paper.
func (m *mover) paperStone(ctx context.Context, lot book.Lot, w book.Weighed) (answer.PaperStone, error) {
	g, err := m.goods(ctx, lot)
	return answer.PaperStoneOf(g, w, m.config.CaratRule), err
}

// takeAlong moves the stones in a finished piece to where the piece left the book
// for, each with all the cost that it has there, and returns what moved: a piece
// that is sold or lost takes its stones along. Stones of others cannot be sold
// with it. Lots of stones, and pieces that stay in the book, take nothing along.
func (m *mover) takeAlong(ctx context.Context, piece book.Lot, to book.Place) ([]book.Sent, error) {
	if !piece.IsPiece() || to.IsReal() {
		return nil, nil
	}
	inside := piece.Inside()
	held, err := m.stonesIn(ctx, inside)
	if err != nil {
		return nil, err
	}
	var out []book.Sent
	for _, b := range held {
		lot, err := m.stockOf(ctx, b.Lot)
		if err != nil {
			return nil, err
		}
		if to == book.LossBreakage || to == book.LossCount {
			m.lowerAgreed(lot, book.Weighed{Pieces: b.Pieces, Carats: b.Carats})
		}
		if customer := piece.Owner.Customer(); customer != "" && lot.Owner != piece.Owner {
			return nil, fault.New(fault.Refused, "custody-stones",
				fmt.Sprintf("%s in %s is not %s's: it would go with "+
					"the piece", lot.Code, piece.Code, customer),
				"sell it out of the piece, or take it out").AtRef(lot.Code).
				Do("sale", "add", lot.Code)
		}
		if to.Kind() == book.AtCustomer && !lot.Owner.IsOwn() && piece.Owner.IsOwn() {
			return nil, fault.New(fault.Refused, "sale-not-own", fmt.Sprintf("%s in %s belongs to %s", lot.Code,
				piece.Code, lot.Owner), "buy it first").AtRef(lot.Code).Do("memo", "buy", lot.Code)
		}
		m.entry.Postings = append(m.entry.Postings, ledger.Move(b.Lot, inside, to, b.Pieces, b.Carats, b.Cost)...)
		out = append(out, book.Sent{Lot: b.Lot, Pieces: b.Pieces, Carats: b.Carats, From: inside})
	}
	return out, nil
}

// loseInside books the stones in a finished piece that was broken or is missing on
// a paper: they took nothing off the paper, since only the piece lay there.
func (m *mover) loseInside(ctx context.Context, piece book.Lot, l book.BatchLine) ([]book.BatchLine, error) {
	first := len(m.entry.Postings)
	sent, err := m.takeAlong(ctx, piece, l.To)
	if err != nil || len(sent) == 0 {
		return nil, err
	}
	out := make([]book.BatchLine, len(sent))
	for i, s := range sent {
		out[i] = book.BatchLine{Lot: s.Lot, Outcome: l.Outcome, Weighed: book.Weighed{Pieces: s.Pieces,
			Carats: s.Carats}, To: l.To, Claim: l.Claim, Note: "in " + piece.Code}
		if lost := &m.entry.Postings[first+2*i+1]; l.Claim {
			cost := lost.Cost
			lost.Cost = cost.Sub(cost)
			m.entry.Postings = append(m.entry.Postings, ledger.Posting{Lot: s.Lot, Place: chargedClaim, Cost: cost})
		}
	}
	return out, nil
}

// notFromPiece refuses to move stones out of a finished piece by themselves: the
// piece moves, or they are taken out of it first. What was set into a customer's own
// piece is sold to that customer where it is. Pieces that are no lots, as older
// books have them, are sold stone by stone.
func (m *mover) notFromPiece(ctx context.Context, from, to book.Place) error {
	if from.Kind() != book.AtPiece {
		return nil
	}
	piece, err := store.Get[book.Lot](ctx, m.tx, from.Name())
	if errors.Is(err, store.ErrNotFound) {
		return nil
	}
	if customer := piece.Owner.Customer(); customer != "" && to == book.PlaceOf(book.AtCustomer, customer) {
		return nil
	}
	if err == nil && piece.IsPiece() {
		return fault.New(fault.Refused, "piece-whole", "the stones of "+from.Name()+" move with the piece",
			"move "+from.Name()+" itself, or take its stones out first").AtRef(from.Name()).AtField("from").
			Do("piece", "unset", from.Name())
	}
	return err
}

// landPiece posts a finished piece that came back from a customer: it lies in a safe,
// and its stones lie in it, each at the very cost that left. A damaged piece is
// marked.
func (m *mover) landPiece(s desk.Stamp, piece book.Lot, from, safe book.Place, sale string, l book.SaleLine,
	damaged bool) {
	for _, p := range l.Left(safe) {
		to := safe
		if p.From.Kind() == book.AtPiece {
			to = p.From
		}
		m.entry.Postings = append(m.entry.Postings, ledger.Move(p.Lot, from, to, p.Pieces, p.Carats, p.Cost)...)
	}
	if damaged {
		m.damage(s, piece, "came back damaged from sale "+sale)
	}
}

// checkPieces holds an entry to the law of finished pieces: stones lie in a piece
// only while the piece itself lies at a real place, and a piece never lies in one.
func checkPieces(ctx context.Context, tx store.Tx, e *ledger.Entry) error {
	pieces := map[string]bool{} // those whose stones or whose own place changed
	for _, p := range e.Postings {
		if p.Place.IsReal() {
			pieces[p.Lot] = true
		}
		if p.Place.Kind() == book.AtPiece {
			pieces[p.Place.Name()] = true
		}
	}
	for code := range pieces {
		inside, err := desk.StonesIn(ctx, tx, book.PlaceOf(book.AtPiece, code))
		if err != nil {
			return err
		}
		if len(inside) == 0 {
			continue
		}
		is, err := desk.IsPiece(ctx, tx, code)
		if err != nil {
			return err
		}
		if !is {
			continue
		}
		s, err := desk.StockOf(ctx, tx, code)
		if err != nil {
			return err
		}
		if s.Pieces == 0 {
			return fault.New(fault.Refused, "piece-gone",
				fmt.Sprintf("%s would lie nowhere, but %d pieces of %s still "+
					"lie in it", s.Code, inside[0].Pieces, inside[0].Lot), "move the piece with its stones, or take "+
					"them "+
					"out first").AtRef(s.Code).Do("piece", "show", s.Code)
		}
	}
	return nil
}
