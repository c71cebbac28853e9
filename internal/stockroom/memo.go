package stockroom

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// asked is the price of a line, in the currency c when it names none; nil: it has
// no price.
func (l Selling) asked(c num.Currency) *book.AskedPrice {
	if l.Price.IsZero() {
		return nil
	}
	price := l.Price
	if price.Currency() == "" {
		price = num.UnitPrice{Money: num.Micros(price.Micros(), c)}
	}
	return &book.AskedPrice{Amount: price, Basis: cmp.Or(l.Basis, book.LineTotal)}
}

// movings are what leaves with lines, without their prices.
func movings(lines []Selling) []Moving {
	out := make([]Moving, len(lines))
	for i, l := range lines {
		out[i] = l.Moving
	}
	return out
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
	*to, err = memoAnswer(ctx, m.tx, desk.Moment{}, memo, false, m.on)
	return err
}

// memoAnswer is a memo with what is out on it at a moment, on a day.
func memoAnswer(ctx context.Context, tx store.ReadTx, then desk.Moment, memo book.Memo, void bool,
	on book.Date) (answer.Memo, error) {
	p, _ := desk.PaperOf(&memo)
	held, err := then.OnPaper(ctx, tx, p)
	if err != nil {
		return answer.Memo{}, err
	}
	out := answer.Memo{Number: memo.Number, Party: memo.Party, State: answer.StateOf(void, len(held)), On: memo.On,
		Due: memo.Due, Lots: []answer.MemoLot{}, Terms: memo.Terms, Note: memo.Note}
	if out.State == "out" {
		out.Days = max(0, on.DaysSince(memo.On))
		if memo.Due != "" {
			out.Overdue = max(0, on.DaysSince(memo.Due))
		}
	}
	for _, b := range held {
		l := answer.MemoLot{SuppliedLot: book.SuppliedLot{Lot: b.Lot, Pieces: b.Pieces, Carats: b.Carats}}
		if sent := sentAs(memo.Sent, b.Lot); sent != nil && sent.Price != nil {
			value := sent.Price.Of(book.Weighed{Pieces: b.Pieces, Carats: b.Carats}, sent.Weighed())
			l.Price, l.Value = sent.Price, &value
			sum := value
			if out.Value != nil {
				sum = out.Value.Add(value)
			}
			out.Value = &sum
		} else {
			out.Unpriced++
		}
		out.Lots = append(out.Lots, l)
	}
	if out.Value == nil {
		return out, nil
	}
	rate, err := rateOn(ctx, tx, on, out.Value.Currency(), num.Rate{})
	if fault.KindOf(err) == fault.Invalid { // the table has none: that of the memo's own day
		rate, err = memo.Rate, nil
	}
	value := *out.Value
	if value.Currency() != tx.Meta().Currency {
		value = value.Convert(rate, tx.Meta().Currency, num.HalfUp)
	}
	out.BookValue = &value
	return out, err
}

// sentAs is what went out of a lot on a paper; nil: nothing, or an old paper.
func sentAs(sent []book.Sent, lot string) *book.Sent {
	for i := range sent {
		if strings.EqualFold(sent[i].Lot, lot) {
			return &sent[i]
		}
	}
	return nil
}

// memoBatch adds the batch of a memo to the entry, and of an old memo what is
// still out. It returns the batch's key.
func (m *mover) memoBatch(ctx context.Context, p desk.Paper, lines []book.BatchLine) (book.Batch, error) {
	batch, err := m.batch(ctx, p.Number, p.Party, lines)
	if err != nil {
		return batch, err
	}
	m.record(batch)
	if !p.Old {
		return batch, nil
	}
	memo, err := store.Get[book.Memo](ctx, m.tx, p.Number)
	follow(&memo, m.entry.Postings)
	m.record(memo)
	return batch, err
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

// reversedMemo is the memo of a reversed entry: an old one holds again what the
// stones do, and what was bought while it was out on a memo is the lender's again.
func reversedMemo(ctx context.Context, tx store.ReadTx, e ledger.Entry, key string) (book.Record, error) {
	now, err := store.Get[book.Memo](ctx, tx, key)
	if err != nil {
		return nil, err
	}
	if now.At == "" {
		follow(&now, e.Reversed("", "", "").Postings)
		return now, nil
	}
	versions, err := tx.History(ctx, book.KindMemo, key)
	if err != nil || versions[0].Entry == e.Code {
		return nil, err
	}
	memos, err := store.Versions[book.Memo](ctx, tx, key)
	if err != nil {
		return nil, err
	}
	sent := now.Sent
	for i, v := range versions[1:] {
		if v.Entry != e.Code {
			continue
		}
		for _, added := range memos[i+1].Sent[len(memos[i].Sent):] {
			sent = slices.DeleteFunc(slices.Clone(sent), func(s book.Sent) bool { return s.Lot == added.Lot })
		}
	}
	if len(sent) == len(now.Sent) {
		return nil, nil
	}
	now.Sent = sent
	return now, nil
}
