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

// MemoClose asks to close a memo: what has not come back by now is missing.
type MemoClose struct {
	Movement
	Number   string
	Missing  string       // who bears what is missing: MissingLoss or MissingClaim
	Lines    []Selling    // lots with what is owed for them, in place of the memo's prices
	Currency num.Currency // of these prices; empty: the book's
	Rate     num.Rate     // of the prices' currency; zero: the book's rate of the day
}

// MemoClose books what did not come back on a memo: as a loss, or as a claim on
// the party at the memo's prices.
func (room *Room) MemoClose(ctx context.Context, r MemoClose) (answer.MemoMoved, error) {
	var out answer.MemoMoved
	if r.Missing != MissingLoss && r.Missing != MissingClaim {
		return out, fault.New(fault.Usage, "memo-missing",
			fmt.Sprintf("what is missing is a loss or a claim, but not %q",
				r.Missing), "write loss or claim").AtField("missing")
	}
	if r.Reason == "" {
		return out, fault.New(fault.Usage, "reason-missing", "closing a memo needs a reason", "say why").
			AtField("reason")
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		p, err := openMemo(ctx, tx, r.Number)
		if err != nil {
			return err
		}
		held, err := desk.OnPaper(ctx, tx, p)
		if err != nil {
			return err
		}
		e := s.Entry(ledger.Lose, "")
		e.Reason = "closed memo " + p.Number + ": " + s.Reason
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		lines, owed, err := m.missing(ctx, p, held, r)
		if err != nil {
			return err
		}
		batch, err := m.memoBatch(ctx, p, lines)
		if err != nil {
			return err
		}
		if out.Claims, err = m.owe(ctx, p, held, owed, r); err != nil {
			return err
		}
		if out.Document, err = m.batchReceipt(ctx, s, p, batch, out.Claims); err != nil {
			return err
		}
		out.Moved, err = m.post(ctx)
		return m.showMemo(ctx, &out.Memo, p.Number, err)
	})
	return out, err
}

// missing books all that is still out as missing, and returns the lines and what
// the party would owe for each.
func (m *mover) missing(ctx context.Context, p desk.Paper, held []ledger.Balance, r MemoClose) ([]book.BatchLine,
	[]num.Money, error) {
	var all []book.BatchLine
	var owed []num.Money
	for _, b := range held {
		lot, err := m.stockOf(ctx, b.Lot)
		if err != nil {
			return nil, nil, err
		}
		if !lot.Owner.IsOwn() {
			return nil, nil, fault.New(fault.Refused, "memo-close-lent", fmt.Sprintf("%s belongs to %s, to whom you "+
				"owe it", lot.Code, lot.Owner), "buy it first: then what is missing is your own").AtRef(lot.Code).
				Do("memo", "buy", lot.Code)
		}
		gone := book.Weighed{Pieces: b.Pieces, Carats: b.Carats}
		line := book.BatchLine{Outcome: book.Missing, Weighed: gone, Claim: r.Missing == MissingClaim}
		if line.Claim {
			price, err := m.owedFor(ctx, p, b, r)
			if err != nil {
				return nil, nil, err
			}
			owed = append(owed, price)
		}
		lines, err := m.bring(ctx, p.Place, b.Lot, []book.BatchLine{line})
		if err != nil {
			return nil, nil, err
		}
		all = append(all, lines...)
	}
	return all, owed, nil
}

// owedFor is what the party owes for all that it has of a lot: the price that is
// given, else the memo's.
func (m *mover) owedFor(ctx context.Context, p desk.Paper, b ledger.Balance, r MemoClose) (num.Money, error) {
	_, price, err := m.memoPrice(ctx, p, Moving{Lot: b.Lot})
	if err != nil {
		return num.Money{}, err
	}
	for _, l := range r.Lines {
		if strings.EqualFold(l.Lot, b.Lot) {
			price = l.asked(cmp.Or(r.Currency, m.tx.Meta().Currency))
		}
	}
	if price == nil {
		return num.Money{}, fault.New(fault.Usage, "claim-price", "no price was named for "+b.Lot+" when it went out",
			"give what is owed for it").AtRef(b.Lot)
	}
	gone := book.Weighed{Pieces: b.Pieces, Carats: b.Carats}
	return price.Of(gone, gone), nil
}

// claimOf is the claim that the entry records for a lot, or the next one.
func (m *mover) claimOf(ctx context.Context, lot string) (book.Claim, error) {
	n, err := m.tx.Next(ctx, string(book.KindClaim))
	for _, r := range m.entry.Records {
		c, is := r.(book.Claim)
		if is && c.Lot == lot {
			return c, err
		}
		if is {
			n++
		}
	}
	return book.Claim{Number: fmt.Sprintf("K%d", n), Lot: lot, Amount: num.Zero(m.tx.Meta().Currency)}, err
}

// owe makes the claims of missing stones ones at their prices, at the rate of the
// day. What is owed over their cost is earned.
func (m *mover) owe(ctx context.Context, p desk.Paper, held []ledger.Balance, owed []num.Money,
	r MemoClose) ([]book.Claim, error) {
	out := []book.Claim{}
	for i, price := range owed {
		c, err := m.claimOf(ctx, held[i].Lot)
		if err != nil {
			return nil, err
		}
		rate, err := rateOn(ctx, m.tx, m.on, price.Currency(), r.Rate)
		if err != nil {
			return nil, err
		}
		amount, foreign, f := inBook(m.tx.Meta().Currency, price, rate)
		if f != nil {
			return nil, f
		}
		c.Party, c.Paper, c.On, c.Note = p.Party, p.Number, m.on, r.Reason
		c.Over = amount.Sub(c.Amount) // the amount of a claim is the cost until now
		c.Amount, c.Foreign = amount, foreign
		m.record(c)
		out = append(out, c)
	}
	return out, nil
}
