package stockroom

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// MemoOut asks to send lots out on approval.
type MemoOut struct {
	Movement
	Party    string
	Due      book.Date
	From     book.Place   // the safe that they leave; empty: the one where each lot lies
	Lines    []Selling    // with what the party pays for what it keeps
	Currency num.Currency // of the prices; empty: the party's, else the book's
	Rate     num.Rate     // of that currency; zero: the book's rate of the day
	Terms    string       // in words
	Note     string
}

// MemoOut sends lots out on approval: they stay in the book, on the memo's paper,
// and the memo note goes with them.
func (room *Room) MemoOut(ctx context.Context, r MemoOut) (answer.MemoMoved, error) {
	var out answer.MemoMoved
	if f := r.check(); f != nil {
		return out, f
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		var err error
		if r.Party, err = desk.PartyOf(ctx, tx, "a party", r.Party); err != nil {
			return err
		}
		if r.Due != "" && r.Due < s.On {
			return fault.New(fault.Usage, "memo-due", fmt.Sprintf("the memo is of %s, so it cannot be due on %s", s.On,
				r.Due), "give a later day").AtField("due")
		}
		n, err := tx.Next(ctx, string(book.KindMemo))
		if err != nil {
			return err
		}
		number := fmt.Sprintf("M%d", n)
		memo := book.Memo{Number: number, Party: r.Party, On: s.On, Due: r.Due, At: book.PaperPlace(number),
			Terms: r.Terms, Note: r.Note}
		e := s.Entry(ledger.Issue, "out on memo to "+r.Party)
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		parties, err := m.readParties(ctx)
		if err != nil {
			return err
		}
		to := parties.Record(r.Party)
		if r.priced() {
			r.Currency = cmp.Or(r.Currency, to.Currency)
		}
		r.Currency = cmp.Or(r.Currency, tx.Meta().Currency)
		if memo.Rate, err = rateOn(ctx, tx, s.On, r.Currency, r.Rate); err != nil {
			return err
		}
		from, err := leaves(r.From)
		if err != nil {
			return err
		}
		if memo.Sent, err = m.carry(ctx, from, memo.At, movings(r.Lines)...); err != nil {
			return err
		}
		for i := range memo.Sent {
			lot, err := m.stockOf(ctx, memo.Sent[i].Lot)
			if err != nil {
				return err
			}
			if f := notInCustody(lot.Lot, "sent on approval"); f != nil {
				return f
			}
			memo.Sent[i].Price = r.Lines[i].asked(r.Currency)
		}
		m.record(memo)
		note, err := memoNote(ctx, tx, m.config, memo, to)
		if err != nil {
			return err
		}
		if out.Document, err = m.paper(ctx, s, "MEMO", "Memo "+number+" to "+r.Party, note); err != nil {
			return err
		}
		out.Claims = []book.Claim{}
		out.Moved, err = m.post(ctx)
		return m.showMemo(ctx, &out.Memo, number, err)
	})
	return out, err
}

// check refuses lots that are named twice: each has one price on a memo.
func (r *MemoOut) check() *fault.Fault {
	named := map[string]bool{}
	for _, l := range r.Lines {
		if code := strings.ToLower(l.Lot); named[code] {
			return fault.New(fault.Usage, "memo-twice", l.Lot+" is named twice on one memo",
				"name it once, or split off the stones that have a price of their own").AtRef(l.Lot).
				Do("lot", "split", l.Lot)
		}
		named[strings.ToLower(l.Lot)] = true
		if l.Basis != "" && l.Price.Sign() <= 0 {
			return fault.New(fault.Usage, "memo-price", "the price of "+l.Lot+" must be above 0",
				"give it, or leave it out").AtRef(l.Lot)
		}
	}
	return nil
}

// priced reports whether a line has a price.
func (r *MemoOut) priced() bool {
	return slices.ContainsFunc(r.Lines, func(l Selling) bool { return !l.Price.IsZero() })
}

// payWithin are the terms that were agreed with a party, in words; empty: none were.
func payWithin(days *int64) string {
	switch {
	case days == nil:
		return ""
	case *days == 0:
		return "payable at once"
	}
	return fmt.Sprintf("payable within %d days of the invoice", *days)
}

// paper issues a document with the entry.
func (m *mover) paper(ctx context.Context, s desk.Stamp, kind, title string, model desk.Model) (*answer.Issued, error) {
	doc, err := m.issue(ctx, s, desk.Draft{Kind: kind, Title: title, Model: model})
	if err != nil {
		return nil, err
	}
	issued := answer.IssuedOf(doc)
	return &issued, nil
}

// memoNote words a memo for the party: no cost, no vendor, no lender.
func memoNote(ctx context.Context, tx store.ReadTx, c config.Config, memo book.Memo, to book.Party) (*answer.MemoNote,
	error) {
	note := &answer.MemoNote{Memo: memo.Number, Party: memo.Party, Addressee: answer.AddresseeOf(to), Due: memo.Due,
		Terms: cmp.Or(memo.Terms, payWithin(to.Terms)), Note: memo.Note, PriceCurrency: tx.Meta().Currency,
		Lines: []answer.MemoNoteLine{}}
	for _, sent := range memo.Sent {
		lot, err := desk.Named[book.Lot](ctx, tx, sent.Lot)
		if err != nil {
			return nil, err
		}
		goods, err := goodsOf(ctx, tx, lot)
		if err != nil {
			return nil, err
		}
		line := answer.MemoNoteLine{PaperStone: answer.PaperStoneOf(goods, sent.Weighed(), c.CaratRule),
			Price: sent.Price}
		if sent.Price != nil {
			value := sent.Price.Of(sent.Weighed(), sent.Weighed())
			note.PriceCurrency, line.Value = value.Currency(), &value
		}
		note.Lines = append(note.Lines, line)
	}
	return note, nil
}
