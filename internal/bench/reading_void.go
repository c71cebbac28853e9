package bench

import (
	"context"
	"errors"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// ReadingVoid asks that a reading count no longer.
type ReadingVoid struct {
	desk.Write
	Reading string // its key: R17
}

// ReadingVoid declares a reading void. The reading stays in the book and in
// lists, with the reason; nothing is judged by it any more.
func (room *Room) ReadingVoid(ctx context.Context, r ReadingVoid) (answer.ReadingVoided, error) {
	var out answer.ReadingVoided
	if r.Reason == "" {
		return out, fault.New(fault.Usage, "reason-missing", "a void needs a reason", "say why").AtField("reason")
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		reading, err := desk.Named[book.Reading](ctx, tx, r.Reading)
		if err != nil {
			return err
		}
		key := reading.RecordKey()
		switch before, err := store.Get[book.Void](ctx, tx, key); {
		case err == nil:
			return fault.New(fault.Refused, "reading-void", key+" is void already: "+before.Reason,
				"write the reading anew if it was right").AtRef(key).Do("reading", "add", reading.Lot)
		case !errors.Is(err, store.ErrNotFound):
			return err
		}
		out.Void = book.Void{Reading: key, Lot: reading.Lot, Reason: s.Reason, Who: s.Who, On: s.On}
		e := s.Entry(ledger.Record, "void "+key)
		e.Records = []book.Record{out.Void}
		return tx.Post(ctx, &e)
	})
	return out, err
}
