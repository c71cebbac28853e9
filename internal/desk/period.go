package desk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// checkFuture refuses a business date after today, unless the book is set to
// accept it.
func checkFuture(ctx context.Context, tx store.ReadTx, on, now book.Date) error {
	if on <= now {
		return nil
	}
	cfg, err := config.Load(ctx, tx)
	if err != nil || cfg.FutureDates {
		return err
	}
	return fault.New(fault.Refused, "date-future", fmt.Sprintf("the date is %s, but today is %s", on, now),
		"give the day on which it happened, or let the book accept later dates").AtField("date").
		Do("config", "set", "future_dates=yes")
}

// booked are the kinds of records that a bookkeeper books, whether stones move or
// not.
var booked = []book.Kind{book.KindCharge, book.KindSale, book.KindCredit, book.KindPayment, book.KindClaim}

// isBooked reports whether an entry moves stones or money.
func isBooked(e *ledger.Entry) bool {
	return len(e.Postings) > 0 || slices.ContainsFunc(e.Records, func(r book.Record) bool {
		return slices.Contains(booked, r.RecordKind())
	})
}

// guardedTx is the write transaction that rooms get: it books nothing in a closed
// month.
type guardedTx struct{ store.Tx }

// Post posts e, unless it moves stones or money in a closed month.
func (tx guardedTx) Post(ctx context.Context, e *ledger.Entry) error {
	if isBooked(e) {
		month := e.PostedOn.Month()
		closed, err := monthClosed(ctx, tx, month)
		if err != nil {
			return err
		}
		if closed {
			return fault.New(fault.Refused, "period-closed",
				fmt.Sprintf("the entry is dated %s, but %s is closed", e.PostedOn, month),
				"date it in an open month, or open that one with a reason").AtField("date").
				Do("period", "open", string(month))
		}
	}
	return tx.Tx.Post(ctx, e)
}

// monthClosed reports whether a month is closed.
func monthClosed(ctx context.Context, tx store.ReadTx, m book.Month) (bool, error) {
	p, err := store.Get[book.Period](ctx, tx, string(m))
	if errors.Is(err, store.ErrNotFound) {
		return false, nil
	}
	return p.Closed, err
}

// ReversalDate is the date of an entry's reversal: the entry's own when its month
// is open, else the day on which it is booked.
func ReversalDate(ctx context.Context, tx store.ReadTx, e ledger.Entry, booked book.Date) (book.Date, error) {
	closed, err := monthClosed(ctx, tx, e.PostedOn.Month())
	if err != nil || closed {
		return booked, err
	}
	return e.PostedOn, nil
}

// PeriodClose asks to close a month.
type PeriodClose struct {
	Write
	Month book.Month
}

// PeriodClose closes a month that has ended: nothing is posted into it any more.
func (desk *Desk) PeriodClose(ctx context.Context, r PeriodClose) (answer.Period, error) {
	return desk.setPeriod(ctx, r.Write, book.Period{Month: r.Month, Closed: true})
}

// PeriodOpen asks to open a closed month again.
type PeriodOpen struct {
	Write
	Month book.Month
}

// PeriodOpen opens a closed month again, with a reason.
func (desk *Desk) PeriodOpen(ctx context.Context, r PeriodOpen) (answer.Period, error) {
	if r.Reason == "" {
		return answer.Period{}, fault.New(fault.Usage, "reason-missing", "a month is opened again for a reason",
			"say why").AtField("reason")
	}
	return desk.setPeriod(ctx, r.Write, book.Period{Month: r.Month})
}

// setPeriod closes or opens a month; that it is so already is refused.
func (desk *Desk) setPeriod(ctx context.Context, w Write, p book.Period) (answer.Period, error) {
	var out answer.Period
	err := desk.Update(ctx, w, func(tx store.Tx, s Stamp) error {
		closed, err := monthClosed(ctx, tx, p.Month)
		if err != nil {
			return err
		}
		now := today(tx.Meta().Zone, tx.Now())
		refused := func(code, what, mend string) *fault.Fault {
			return fault.New(fault.Refused, code, fmt.Sprintf("%s %s", p.Month, what), mend).Do("period", "list")
		}
		switch {
		case p.Closed && closed:
			return refused("period-closed", "is closed already", "see the closed months")
		case !p.Closed && !closed:
			return refused("period-open", "is not closed", "see the closed months")
		case p.Closed && p.Month >= now.Month():
			return refused("period-early", "has not ended", "close it when it has")
		}
		reason := "month closed"
		if !p.Closed {
			reason = ""
		}
		e := s.Entry(ledger.Record, reason)
		e.Records = []book.Record{p}
		if err := tx.Post(ctx, &e); err != nil {
			return err
		}
		out = periodOf(p, e)
		return nil
	})
	return out, err
}

// periodOf is a month as the entry left it that closed or opened it.
func periodOf(p book.Period, e ledger.Entry) answer.Period {
	return answer.Period{Month: p.Month, Closed: p.Closed, On: e.PostedOn, Who: e.Who, Reason: e.Reason, Entry: e.Code}
}

// PeriodList asks for the months that are closed, or were once.
type PeriodList struct{}

// PeriodList returns the months that are closed or were once, in their order.
func (desk *Desk) PeriodList(ctx context.Context, _ PeriodList) (answer.PeriodList, error) {
	out := answer.PeriodList{Periods: []answer.Period{}}
	err := desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.Head, err = desk.ListHead(ctx, tx, "Closed months"); err != nil {
			return err
		}
		rows, err := tx.Rows(ctx, book.KindPeriod, store.RowFilter{})
		if err != nil {
			return err
		}
		for _, row := range rows {
			p, err := store.Get[book.Period](ctx, tx, row.Key)
			if err != nil {
				return err
			}
			e, err := tx.Entry(ctx, row.Entry)
			if err != nil {
				return err
			}
			out.Periods = append(out.Periods, periodOf(p, e))
		}
		slices.SortFunc(out.Periods, func(a, b answer.Period) int { return cmp.Compare(a.Month, b.Month) })
		return nil
	})
	return out, err
}
