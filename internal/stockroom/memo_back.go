package stockroom

import (
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// MemoBack asks to take back what was out on memo. Every lot is counted and
// weighed again.
type MemoBack struct {
	Movement
	Number string
	Lots   []Moving   // as counted and weighed
	Sizes  []Measured // of single stones that were measured again
}

// Measured is what a single stone measures; zero is not measured.
type Measured struct {
	Lot                  string
	Length, Width, Depth book.Size
}

// MemoBack takes lots back from a memo, as a batch of it with its receipt. What
// is not named stays out.
func (room *Room) MemoBack(ctx context.Context, r MemoBack) (answer.MemoMoved, error) {
	var out answer.MemoMoved
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		p, err := openMemo(ctx, tx, r.Number)
		if err != nil {
			return err
		}
		e := s.Entry(ledger.Return, "back from memo "+p.Number)
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		var all []book.BatchLine
		for _, lot := range r.Lots {
			line := book.BatchLine{Outcome: book.Accepted, Weighed: book.Weighed{Pieces: lot.Pieces,
				Carats: lot.Carats}}
			for _, size := range r.Sizes {
				if size.Lot == lot.Lot {
					line.Length, line.Width, line.Depth = size.Length, size.Width, size.Depth
				}
			}
			lines, err := m.bring(ctx, p.Place, lot.Lot, []book.BatchLine{line})
			if err != nil {
				return err
			}
			all = append(all, lines...)
		}
		batch, err := m.memoBatch(ctx, p, all)
		if err != nil {
			return err
		}
		if out.Document, err = m.batchReceipt(ctx, s, p, batch, nil); err != nil {
			return err
		}
		out.Claims = []book.Claim{}
		out.Moved, err = m.post(ctx)
		return m.showMemo(ctx, &out.Memo, p.Number, err)
	})
	return out, err
}

// batchReceipt issues the receipt for what came back on a paper: what came, what
// became of the rest, and what is still out.
func (m *mover) batchReceipt(ctx context.Context, s desk.Stamp, p desk.Paper, batch book.Batch,
	claims []book.Claim) (*answer.Issued, error) {
	receipt, err := m.receiptOf(ctx, p, batch, claims)
	if err != nil {
		return nil, err
	}
	return m.paper(ctx, s, "RECEIPT", receiptTitle(batch), receipt)
}

func receiptTitle(batch book.Batch) string {
	return fmt.Sprintf("Receipt for %s, batch %d", batch.Paper, batch.Number)
}

// receiptOf words a batch of a paper for the party.
func (m *mover) receiptOf(ctx context.Context, p desk.Paper, batch book.Batch, claims []book.Claim) (*answer.Receipt,
	error) {
	receipt := &answer.Receipt{Party: p.Party, Paper: p.Number, Batch: batch.Number, Way: answer.TakenBack,
		Lines: []answer.ReceiptStone{}, Still: []answer.PaperStone{}, Accepted: m.Accept}
	for _, l := range batch.Lines {
		lot, err := m.stockOf(ctx, l.Lot)
		if err != nil {
			return nil, err
		}
		stone, err := m.paperStone(ctx, lot.Lot, l.Weighed)
		if err != nil {
			return nil, err
		}
		line := answer.ReceiptStone{PaperStone: stone, Outcome: string(l.Outcome), Note: l.Note}
		for _, c := range claims {
			if c.Lot == lot.Code {
				owed := c.Owed()
				line.Owed = &owed
			}
		}
		receipt.Lines = append(receipt.Lines, line)
	}
	still, err := m.stillOn(ctx, p)
	if err != nil {
		return nil, err
	}
	for _, b := range still {
		lot, err := m.stockOf(ctx, b.Lot)
		if err != nil {
			return nil, err
		}
		stone, err := m.paperStone(ctx, lot.Lot, book.Weighed{Pieces: b.Pieces, Carats: b.Carats})
		if err != nil {
			return nil, err
		}
		receipt.Still = append(receipt.Still, stone)
	}
	return receipt, nil
}

// stillOn is what lies on a paper, as the entry leaves it so far.
func (m *mover) stillOn(ctx context.Context, p desk.Paper) ([]ledger.Balance, error) {
	held, err := desk.OnPaper(ctx, m.tx, p)
	if err != nil {
		return nil, err
	}
	var out []ledger.Balance
	for _, b := range held {
		for _, x := range m.entry.Postings {
			if x.Place == p.Place && strings.EqualFold(x.Lot, b.Lot) {
				b.Pieces += x.Pieces
				b.Carats += x.Carats
			}
		}
		if b.Pieces > 0 {
			out = append(out, b)
		}
	}
	return out, nil
}
