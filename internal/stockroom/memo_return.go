package stockroom

import (
	"context"
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// MemoReturn asks to give goods of others back: what was lent on memo in, or a
// customer's own stones.
type MemoReturn struct {
	Movement
	From book.Place // the safe that they leave; empty: the one where each lot lies
	Lots []Moving
	Note string
}

// MemoReturn gives goods of others back from the safe to the one whose they are,
// with a receipt. They never had a cost; the agreed price of what is returned
// falls away.
func (room *Room) MemoReturn(ctx context.Context, r MemoReturn) (answer.Returned, error) {
	var out answer.Returned
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		first, err := desk.Named[book.Lot](ctx, tx, r.Lots[0].Lot)
		if err != nil {
			return err
		}
		owner := first.Owner
		from, err := leaves(r.From)
		if err != nil {
			return err
		}
		e := s.Entry(ledger.Return, "given back to "+partyOf(owner))
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		receipt := &answer.Receipt{Way: answer.GivenBack, Party: partyOf(owner), Lines: []answer.ReceiptStone{},
			Still: []answer.PaperStone{}, Accepted: r.Accept, Note: r.Note}
		for _, x := range r.Lots {
			lot, err := m.stockOf(ctx, x.Lot)
			if err != nil {
				return err
			}
			switch {
			case lot.Owner.IsOwn():
				return fault.New(fault.Refused, "return-own", lot.Code+" is your own: there is nobody to give it "+
					"back to",
					"see whose it is").AtRef(lot.Code).Do("lot", "show", lot.Code)
			case owner != lot.Owner:
				return fault.New(fault.Refused, "return-owners", fmt.Sprintf("%s belongs to %s, the others to %s",
					lot.Code,
					lot.Owner, owner), "give each owner's goods back apart").AtRef(lot.Code)
			}
			line, err := m.giveBack(ctx, lot, from, x)
			if err != nil {
				return err
			}
			receipt.Lines = append(receipt.Lines, line)
		}
		if err := m.stillHere(ctx, receipt, owner); err != nil {
			return err
		}
		out.Party, out.Owner = receipt.Party, string(owner)
		if out.Document, err = m.paper(ctx, s, "RECEIPT", "Goods given back to "+receipt.Party, receipt); err != nil {
			return err
		}
		out.Moved, err = m.post(ctx)
		return err
	})
	return out, err
}

// giveBack moves stones of one lot from a safe to the one whose they are.
func (m *mover) giveBack(ctx context.Context, lot answer.StockLot, from book.Place, x Moving) (answer.ReceiptStone,
	error) {
	to := book.PlaceOf(book.AtVendor, lot.Owner.Lender())
	if customer := lot.Owner.Customer(); customer != "" {
		to = book.PlaceOf(book.AtCustomer, customer)
	}
	sent, err := m.carry(ctx, from, to, x)
	if err != nil {
		return answer.ReceiptStone{}, err
	}
	part := sent[0].Weighed()
	stone, err := m.paperStone(ctx, lot.Lot, part)
	if err != nil {
		return answer.ReceiptStone{}, err
	}
	line := answer.ReceiptStone{PaperStone: stone, Outcome: "given back"}
	if lot.Owner.Lender() == "" {
		return line, nil
	}
	price, rest := agreedPart(lot, part)
	if agreed := price.named(); !agreed.IsZero() {
		line.Agreed = &agreed
	}
	if part.Pieces < lot.Pieces {
		rest.put(&lot.Lot)
		m.record(lot.Lot)
	}
	return line, nil
}

// stillHere adds what is left of the owner's goods to a receipt.
func (m *mover) stillHere(ctx context.Context, to *answer.Receipt, owner book.Owner) error {
	return store.Each(ctx, m.tx, store.RowFilter{Ref: book.ToParty(partyOf(owner))}, func(lot book.Lot) error {
		if lot.Owner != owner {
			return nil
		}
		s, err := m.stockOf(ctx, lot.Code)
		if err != nil || s.Pieces <= 0 {
			return err
		}
		stone, err := m.paperStone(ctx, s.Lot, book.Weighed{Pieces: s.Pieces, Carats: s.Carats})
		to.Still = append(to.Still, stone)
		return err
	})
}

// partyOf is the name of whose goods are.
func partyOf(o book.Owner) string { return o.Lender() + o.Customer() }
