package lines

import (
	"context"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// holdPlan reserves what the plan uses, and frees what an earlier plan of the
// line held and this one does not.
func (room *Room) holdPlan(ctx context.Context, r LinePlan, p *Planned) error {
	wanted := map[string]book.Hold{}
	for _, piece := range p.Plan.Pieces {
		for _, f := range piece.Fills {
			for _, s := range f.Stones {
				if !p.inSafe(s.Lot) {
					continue
				}
				h := book.Hold{Lot: s.Lot, For: r.Line + "/" + piece.Design + "/" + f.Position}
				if had, ok := wanted[h.RecordKey()]; ok {
					h = had
				}
				h.Pieces += s.Pieces
				wanted[h.RecordKey()] = h
			}
		}
	}
	return room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		if err := p.basis().Unchanged(ctx, tx); err != nil {
			return err
		}
		e := s.Entry(ledger.Record, "held for the line "+r.Line)
		holds, err := desk.HoldsOf(ctx, tx, "")
		if err != nil {
			return err
		}
		for _, h := range holds {
			if _, still := wanted[h.RecordKey()]; !still && strings.HasPrefix(strings.ToLower(h.For),
				strings.ToLower(r.Line)+"/") {
				h.Pieces = 0
				e.Records = append(e.Records, h)
			}
		}
		for _, piece := range p.Plan.Pieces { // in the order of the plan
			for _, f := range piece.Fills {
				for _, st := range f.Stones {
					key := book.Hold{Lot: st.Lot, For: r.Line + "/" + piece.Design + "/" + f.Position}.RecordKey()
					if h, ok := wanted[key]; ok {
						e.Records = append(e.Records, h)
						delete(wanted, key)
					}
				}
			}
		}
		if len(e.Records) == 0 {
			return nil
		}
		if err := tx.Post(ctx, &e); err != nil {
			return err
		}
		if r.DryRun {
			return nil
		}
		p.Head, err = tx.Head(ctx) // what is issued of this plan stands on the book with its holds
		return err
	})
}

// basis is what the plan was made from: its line and designs, the settings,
// rates and prices, the stones that it uses, and the orders that bring some.
func (p *Planned) basis() *desk.Basis {
	b := desk.NewBasis(p.Head)
	b.Kinds(book.KindConfig, book.KindRate, book.KindPrice)
	for _, d := range p.Designs {
		b.Records(book.Line{Name: d.Line}, d.Design)
	}
	for lot := range p.Plan.Used {
		if order, ordered := p.ordered[lot]; ordered {
			b.Records(book.Order{Number: order})
		} else {
			b.Lots(lot)
		}
	}
	return b
}

// inSafe tells whether a lot lies in the safe: stones that are only on offer,
// or still to come from a cutter, cannot be reserved.
func (p *Planned) inSafe(lot string) bool {
	s, ok := p.Stones[lot]
	if !ok || p.fromOffer[lot] {
		return false
	}
	for _, b := range s.Places {
		if b.Place == book.Safe {
			return true
		}
	}
	return false
}
