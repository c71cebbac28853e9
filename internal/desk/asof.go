package desk

import (
	"context"
	"slices"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// AsOf asks for the book as it stood on a day, by the entries dated until then, or
// as it stood after an entry. Both empty: now.
type AsOf struct {
	On book.Date
	At string // the entry's code
}

// Moment is the state of the book that was asked for. Zero: now.
type Moment struct {
	Answer *answer.AsOf // nil: now
	on     book.Date    // the balances are those of this day
	at     int64        // or those after this entry
	had    map[string]bool
	lay    map[book.Place][]ledger.Balance // what lay where, once it was asked for
}

// Moment looks up what is asked for. A day and an entry together, and an entry that
// the book has not, are faults.
func (a AsOf) Moment(ctx context.Context, tx store.ReadTx) (Moment, error) {
	m := Moment{had: map[string]bool{}, lay: map[book.Place][]ledger.Balance{}}
	switch {
	case a.On != "" && a.At != "":
		return Moment{}, fault.New(fault.Usage, "as-of-twice", "the book can be read as of a day or as of an entry, "+
			"but both are given", "leave one of them out").AtField("at")
	case a.On != "":
		m.Answer, m.on = &answer.AsOf{On: a.On}, a.On
	case a.At != "":
		e, err := EntryNamed(ctx, tx, a.At)
		m.Answer, m.at = &answer.AsOf{On: e.PostedOn, At: &e.Code}, e.Sequence
		return m, err
	}
	return m, nil
}

// IsNow reports whether nothing past is asked for.
func (m Moment) IsNow() bool { return m.Answer == nil }

// Day is the day whose prices count; empty: today.
func (m Moment) Day() book.Date {
	if m.Answer == nil {
		return ""
	}
	return m.Answer.On
}

// Balances makes a filter of balances one of that moment. What is past is read
// without a limit: it is summed from the postings.
func (m Moment) Balances(f store.BalanceFilter) store.BalanceFilter {
	if f.On, f.At = m.on, m.at; !m.IsNow() {
		f.Limit = 0
	}
	return f
}

// lying returns what lay at a place. All that is past is read at once: the postings
// are not found by place.
func (m Moment) lying(ctx context.Context, tx store.ReadTx, at book.Place) ([]ledger.Balance, error) {
	if m.IsNow() {
		return tx.Balances(ctx, store.BalanceFilter{Place: at, RealOnly: true})
	}
	if len(m.lay) == 0 {
		all, err := tx.Balances(ctx, m.Balances(store.BalanceFilter{RealOnly: true}))
		if err != nil {
			return nil, err
		}
		for _, b := range all {
			m.lay[b.Place] = append(m.lay[b.Place], b)
		}
	}
	return slices.Clone(m.lay[at]), nil
}

// Then returns a record as its newest version was at a moment, from the row of its
// newest version.
func Then[T book.Record](ctx context.Context, tx store.ReadTx, m Moment, row store.Row) (T, error) {
	var v T
	now, err := store.Get[T](ctx, tx, row.Key)
	if err != nil || m.IsNow() {
		return now, err
	}
	rows, err := tx.History(ctx, v.RecordKind(), row.Key)
	if err != nil {
		return v, err
	}
	versions, err := store.Versions[T](ctx, tx, row.Key)
	if err != nil {
		return v, err
	}
	for i, r := range rows {
		had, err := m.Has(ctx, tx, r.Entry)
		if err != nil {
			return v, err
		}
		if had {
			v = versions[i]
		}
	}
	return v, nil
}

// Has reports whether an entry, by its code, is one of those that count at that
// moment.
func (m Moment) Has(ctx context.Context, tx store.ReadTx, code string) (bool, error) {
	if m.IsNow() {
		return true, nil
	}
	has, known := m.had[code]
	if !known {
		e, err := tx.Entry(ctx, code)
		if err != nil {
			return false, err
		}
		has = m.counts(e)
		m.had[code] = has
	}
	return has, nil
}

func (m Moment) counts(e ledger.Entry) bool {
	if m.at != 0 {
		return e.Sequence <= m.at
	}
	return e.PostedOn <= m.on
}
