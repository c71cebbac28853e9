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

// MemoExtend asks to prolong a memo.
type MemoExtend struct {
	desk.Write
	Number string
	Due    book.Date
}

// MemoExtend gives a memo a new due date: a version of it, with the reason in the
// entry.
func (room *Room) MemoExtend(ctx context.Context, r MemoExtend) (answer.MemoMoved, error) {
	var out answer.MemoMoved
	if r.Reason == "" {
		return out, fault.New(fault.Usage, "reason-missing", "a new due date needs a reason", "say why").
			AtField("reason")
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		p, err := openMemo(ctx, tx, r.Number)
		if err != nil {
			return err
		}
		if r.Due <= max(s.On, p.Due) {
			return fault.New(fault.Usage, "memo-due", fmt.Sprintf("memo %s is due on %s: a new date lies after that "+
				"day and "+
				"after %s, but is %q", p.Number, orNone(p.Due), s.On, r.Due), "give a later day").AtField("due")
		}
		memo, err := store.Get[book.Memo](ctx, tx, p.Number)
		if err != nil {
			return err
		}
		memo.Due = r.Due
		e := s.Entry(ledger.Record, "")
		e.Reason = fmt.Sprintf("memo %s is due on %s, not on %s: %s", p.Number, r.Due, orNone(p.Due), s.Reason)
		m, err := newMover(ctx, tx, s, Movement{Write: r.Write}, &e)
		if err != nil {
			return err
		}
		m.record(memo)
		out.Claims = []book.Claim{}
		out.Moved, err = m.post(ctx)
		return m.showMemo(ctx, &out.Memo, p.Number, err)
	})
	return out, err
}

func orNone(d book.Date) string {
	if d == "" {
		return "no day"
	}
	return string(d)
}
