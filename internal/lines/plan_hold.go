package lines

import (
	"context"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// hold reserves what the plan uses, and frees what an earlier plan of the line
// held and this one does not. The basis then stands on the book with the holds
// of the plan.
func (room *Room) hold(ctx context.Context, r Plan, b *basis, p *solution) error {
	wanted := b.holdsOf(p)
	head := b.head
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		if err := b.readFor(p).Unchanged(ctx, tx); err != nil {
			return err
		}
		e := s.Entry(ledger.Record, "held for the line "+b.line.Name)
		holds, err := desk.HoldsOn(ctx, tx, "", s.On)
		if err != nil {
			return err
		}
		for _, h := range holds {
			again := slices.ContainsFunc(wanted, func(w book.Hold) bool { return w.RecordKey() == h.RecordKey() })
			if !again && strings.HasPrefix(strings.ToLower(h.For),
				strings.ToLower(b.line.Name)+"/") {
				h.Pieces = 0
				e.Records = append(e.Records, h)
			}
		}
		for _, h := range wanted {
			e.Records = append(e.Records, h)
		}
		if len(e.Records) == 0 {
			return nil
		}
		if err := tx.Post(ctx, &e); err != nil || r.DryRun {
			return err
		}
		head, err = tx.Head(ctx)
		return err
	})
	b.head = head
	return err
}

// holdsOf are the holds that a plan asks for, in its order.
func (b *basis) holdsOf(p *solution) []book.Hold {
	var out []book.Hold
	at := map[string]int{}
	for _, piece := range p.Pieces {
		for _, f := range piece.Fills {
			for _, s := range f.Stones {
				if !b.inSafe(s.Lot) {
					continue
				}
				h := book.Hold{Lot: s.Lot, For: b.line.Name + "/" + piece.Design + "/" + f.Position}
				i, known := at[h.RecordKey()]
				if !known {
					i = len(out)
					at[h.RecordKey()] = i
					out = append(out, h)
				}
				out[i].Pieces += s.Pieces
			}
		}
	}
	return out
}

// inSafe reports whether a lot lies in the safe: stones that are only on
// offer, or still to come from a cutter, cannot be reserved.
func (b *basis) inSafe(lot string) bool {
	s, ok := b.lots[lot]
	if !ok || b.onOffer[lot] {
		return false
	}
	for _, at := range s.Places {
		if at.Place.Kind() == book.AtOffice {
			return true
		}
	}
	return false
}
