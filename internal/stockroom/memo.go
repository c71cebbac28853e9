package stockroom

import (
	"context"
	"fmt"
	"slices"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// MemoOut asks to send lots out on approval.
type MemoOut struct {
	Movement
	Party string
	Due   book.Date
	From  book.Place // the safe that they leave; empty: the one where each lot lies
	Lots  []Moving
	Note  string
}

// MemoOut sends lots out on approval: they stay in the book, on the memo's paper.
func (room *Room) MemoOut(ctx context.Context, r MemoOut) (answer.MemoMoved, error) {
	var out answer.MemoMoved
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		var err error
		if r.Party, err = desk.PartyOf(ctx, tx, "a party", r.Party); err != nil {
			return err
		}
		n, err := tx.Next(ctx, string(book.KindMemo))
		if err != nil {
			return err
		}
		number := fmt.Sprintf("M%d", n)
		memo := book.Memo{Number: number, Party: r.Party, On: s.On, Due: r.Due, At: book.PaperPlace(number),
			Note: r.Note}
		e := s.Entry(ledger.Issue, "out on memo to "+r.Party)
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		from, err := leaves(r.From)
		if err != nil {
			return err
		}
		if memo.Sent, err = m.carry(ctx, from, memo.At, r.Lots...); err != nil {
			return err
		}
		m.record(memo)
		out.Moved, err = m.post(ctx)
		return m.showMemo(ctx, &out.Memo, number, err)
	})
	return out, err
}

// showMemo reads a memo as the entry left it.
func (m *mover) showMemo(ctx context.Context, to *answer.Memo, number string, err error) error {
	if err != nil {
		return err
	}
	memo, err := store.Get[book.Memo](ctx, m.tx, number)
	if err != nil {
		return err
	}
	*to, err = memoAnswer(ctx, m.tx, desk.Moment{}, memo, false)
	return err
}

// memoAnswer is a memo with what is out on it.
func memoAnswer(ctx context.Context, tx store.ReadTx, then desk.Moment, memo book.Memo, void bool) (answer.Memo,
	error) {
	p, _ := desk.PaperOf(&memo)
	held, err := then.OnPaper(ctx, tx, p)
	return answer.Memo{Number: memo.Number, Party: memo.Party, State: answer.StateOf(void, len(held)), On: memo.On,
		Due: memo.Due, Lots: answer.Still(held), Note: memo.Note}, err
}

// MemoBack asks to take back what was out on memo. Every lot is counted and
// weighed again.
type MemoBack struct {
	Movement
	Number string
	Lots   []Moving // as counted and weighed
}

// MemoBack takes lots back from a memo, as a batch of it.
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
			lines, err := m.bring(ctx, p.Place, lot.Lot, []book.BatchLine{{Outcome: book.Accepted,
				Weighed: book.Weighed{Pieces: lot.Pieces, Carats: lot.Carats}}})
			if err != nil {
				return err
			}
			all = append(all, lines...)
		}
		if err := m.memoBatch(ctx, p, all); err != nil {
			return err
		}
		out.Moved, err = m.post(ctx)
		return m.showMemo(ctx, &out.Memo, p.Number, err)
	})
	return out, err
}

// memoBatch adds the batch of a memo to the entry, and of an old memo what is
// still out.
func (m *mover) memoBatch(ctx context.Context, p desk.Paper, lines []book.BatchLine) error {
	batch, err := m.batch(ctx, p.Number, p.Party, lines)
	if err != nil {
		return err
	}
	m.record(batch)
	if !p.Old {
		return nil
	}
	memo, err := store.Get[book.Memo](ctx, m.tx, p.Number)
	follow(&memo, m.entry.Postings)
	m.record(memo)
	return err
}

// follow moves an old memo's lots as postings move the stones at its party; one
// that is left with none is closed.
func follow(m *book.Memo, postings []ledger.Posting) {
	place := m.Place()
	lots := slices.Clone(m.Lots)
	for _, p := range postings {
		if p.Place != place {
			continue
		}
		at := slices.IndexFunc(lots, func(l book.SuppliedLot) bool { return l.Lot == p.Lot })
		if at < 0 {
			at = len(lots)
			lots = append(lots, book.SuppliedLot{Lot: p.Lot})
		}
		lots[at].Pieces += p.Pieces
		lots[at].Carats += p.Carats
	}
	m.Lots = slices.DeleteFunc(lots, func(l book.SuppliedLot) bool { return l.Pieces <= 0 })
	m.State = "out"
	if len(m.Lots) == 0 {
		m.Lots, m.State = nil, "closed"
	}
}

// openMemo reads a memo on which something is out.
func openMemo(ctx context.Context, tx store.ReadTx, number string) (desk.Paper, error) {
	p, err := desk.PaperNamed(ctx, tx, book.KindMemo, "memo", number)
	if err != nil {
		return p, err
	}
	held, err := desk.OnPaper(ctx, tx, p)
	if err == nil && len(held) == 0 {
		err = fault.New(fault.Refused, "memo-closed", "memo "+p.Number+" is closed: nothing is out on it",
			"list the open ones").AtRef(p.Number).Do("memo", "list")
	}
	return p, err
}

// MemoSell asks to sell what is out on a memo.
type MemoSell struct {
	Movement
	Number string
	Lots   []Moving // none: all that is out
	Price  num.Money
	Rate   num.Rate // book units per unit; zero for the book's currency
}

// MemoSell sells what is out on a memo to the party that has it.
func (room *Room) MemoSell(ctx context.Context, r MemoSell) (answer.Sold, error) {
	var out answer.Sold
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		p, err := openMemo(ctx, tx, r.Number)
		if err != nil {
			return err
		}
		lots := r.Lots
		if len(lots) == 0 {
			held, err := desk.OnPaper(ctx, tx, p)
			if err != nil {
				return err
			}
			for _, b := range held {
				lots = append(lots, Moving{b.Lot, b.Pieces, b.Carats})
			}
		}
		e := s.Entry(ledger.Sell, "sold from memo "+p.Number)
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		sale, warnings, err := m.sell(ctx, s, p.Party, p.Place, Together(lots...), Bill{Price: r.Price, Rate: r.Rate})
		if err != nil {
			return err
		}
		sale.Memo = p.Number
		m.record(sale)
		var lines []book.BatchLine
		for _, l := range sale.Lots {
			w := book.Weighed{Pieces: l.Pieces, Carats: l.Carats}
			lines = append(lines, book.BatchLine{Lot: l.Lot, Outcome: book.Sold, Weighed: w, Off: w,
				To: book.PlaceOf(book.AtCustomer, p.Party)})
		}
		if err := m.memoBatch(ctx, p, lines); err != nil {
			return err
		}
		out.Sale = sale
		if out.Opinions, err = room.opinionsOf(ctx, tx, sale.Lots); err != nil {
			return err
		}
		out.Moved, err = m.post(ctx)
		out.Warnings = append(out.Warnings, warnings...)
		return err
	})
	return out, err
}

// MemoList asks for the memos.
type MemoList struct {
	desk.AsOf
	All bool // also the closed ones and those that are void
}

// MemoList lists the memos. Of an old memo, whose record says what is out on it, it
// is the record of that moment that counts.
func (room *Room) MemoList(ctx context.Context, r MemoList) (answer.Memos, error) {
	out := answer.Memos{Memos: []answer.Memo{}}
	err := room.desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.Head, err = room.desk.ListHead(ctx, tx, "Memos"); err != nil {
			return err
		}
		then, err := r.Moment(ctx, tx)
		if err != nil {
			return err
		}
		out.AsOf = then.Answer
		parties, err := desk.ReadParties(ctx, tx)
		if err != nil {
			return err
		}
		reversed, err := tx.Reversals(ctx)
		if err != nil {
			return err
		}
		rows, err := tx.Rows(ctx, book.KindMemo, store.RowFilter{})
		if err != nil {
			return err
		}
		for _, row := range rows {
			had, err := then.Has(ctx, tx, row.Since)
			if err != nil {
				return err
			}
			if !had {
				continue
			}
			memo, err := store.Get[book.Memo](ctx, tx, row.Key)
			if err == nil && memo.At == "" {
				memo, err = desk.Then[book.Memo](ctx, tx, then, row)
			}
			if err != nil {
				return err
			}
			void := reversed[row.Since] != ""
			if void {
				if void, err = then.Has(ctx, tx, reversed[row.Since]); err != nil {
					return err
				}
			}
			m, err := memoAnswer(ctx, tx, then, memo, void)
			if err != nil {
				return err
			}
			m.Party = parties.Of(m.Party)
			if r.All || m.State == "out" {
				out.Memos = append(out.Memos, m)
			}
		}
		return nil
	})
	return out, err
}
