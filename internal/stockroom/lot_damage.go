package stockroom

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// LotDamage asks to mark stones, or a finished piece, as damaged, or as sound again.
type LotDamage struct {
	desk.Write // its reason says what is damaged
	Lot        string
	Mended     bool // it is sound again
}

// LotDamage marks a lot as damaged: no plan uses it. What it lost in value is
// written down beside it. Of a lot of several stones the damaged ones are split off
// first.
func (room *Room) LotDamage(ctx context.Context, r LotDamage) (answer.Moved, error) {
	var out answer.Moved
	if r.Reason == "" {
		return out, fault.New(fault.Usage, "reason-missing", "a damage has a reason", "say what is damaged").
			AtField("reason")
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		lot, err := desk.StockOf(ctx, tx, r.Lot)
		if err != nil {
			return err
		}
		e := s.Entry(ledger.Adjust, "")
		m, err := newMover(ctx, tx, s, Movement{Write: r.Write}, &e)
		if err != nil {
			return err
		}
		if r.Mended {
			if lot.Damaged == nil {
				return fault.New(fault.Refused, "damage-none", lot.Code+" is not marked as damaged", "see the lot").
					AtRef(lot.Code).Do("lot", "show", lot.Code)
			}
			lot.Damaged = nil
			m.record(lot.Lot)
			out, err = m.post(ctx, lot.Code)
			return err
		}
		m.damage(s, lot.Lot, r.Reason)
		out, err = m.post(ctx, lot.Code)
		return err
	})
	return out, err
}

// damage marks a lot as damaged.
func (m *mover) damage(s desk.Stamp, lot book.Lot, why string) {
	lot.Damaged = &book.Damage{Reason: why, Who: s.Who, On: s.On}
	m.record(lot)
}

// damageSome marks stones that lie in a safe as damaged: a part of a lot becomes a
// lot of its own first.
func (m *mover) damageSome(ctx context.Context, s desk.Stamp, x Moving, safe book.Place, why string) error {
	lot, here, err := m.lotAt(ctx, x.Lot, safe)
	if err != nil {
		return err
	}
	if x.Pieces == lot.Pieces {
		m.damage(s, lot.Lot, why)
		return nil
	}
	cost, f := ledger.Take(lot.Places, safe, x.Pieces, x.Carats)
	if f != nil {
		return f
	}
	child, err := childrenOf(ctx, m.tx, lot.Lot)
	if err != nil {
		return err
	}
	part := child(book.Lot{})
	m.divideAgreed(lot, book.Weighed{Pieces: x.Pieces, Carats: x.Carats}, []*book.Lot{&part}, nil)
	m.damage(s, part, why)
	m.entry.Postings = append(m.entry.Postings,
		ledger.Posting{Lot: lot.Code, Place: here.Place, Pieces: -x.Pieces, Carats: -x.Carats, Cost: cost.Neg()},
		ledger.Posting{Lot: part.Code, Place: here.Place, Pieces: x.Pieces, Carats: x.Carats, Cost: cost})
	return nil
}
