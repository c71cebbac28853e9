package stockroom

import (
	"context"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
)

// holdOn holds stones of a lot on in the lot that they went into, as many as the
// entry took off each hold; those of several lots until the latest of their days.
func (m *mover) holdOn(ctx context.Context, lot, into string) error {
	holds, err := desk.HoldsOn(ctx, m.tx, lot, m.on)
	if err != nil {
		return err
	}
	for _, before := range holds {
		now, changed := m.holdNow(before.RecordKey())
		if !changed || now.Pieces == before.Pieces {
			continue
		}
		moved := before
		moved.Lot, moved.Pieces = into, before.Pieces-now.Pieces
		if there, known := m.holdNow(moved.RecordKey()); known { // of another lot that is merged
			moved.Pieces += there.Pieces
			if there.Until == "" || moved.Until != "" && there.Until > moved.Until {
				moved.Until = there.Until
			}
		}
		m.record(moved)
	}
	return nil
}

// holdNow is a hold as the entry leaves it; false: the entry does not touch it.
func (m *mover) holdNow(key string) (book.Hold, bool) {
	for _, r := range m.entry.Records {
		if h, is := r.(book.Hold); is && strings.EqualFold(h.RecordKey(), key) {
			return h, true
		}
	}
	return book.Hold{}, false
}
