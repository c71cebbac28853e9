package stockroom

import (
	"cmp"
	"context"
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// LotSplit asks to take pieces out of a lot into a lot of their own.
type LotSplit struct {
	Movement
	Lot    string
	Place  book.Place // empty: safe
	Pieces int64
	Carats num.Carat
	Label  string
	Stone  string // tag of the one stone taken out
}

// LotSplit takes pieces out of a lot; their cost is the lot's average, and the
// readings of a tagged stone stay with its tag.
func (room *Room) LotSplit(ctx context.Context, r LotSplit) (answer.Moved, error) {
	var out answer.Moved
	r.Place = cmp.Or(r.Place, book.Safe)
	if f := inHand(r.Place); f != nil {
		return out, f
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		e := s.Entry(ledger.Split, fmt.Sprintf("split %d from %s", r.Pieces, r.Lot))
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		if r.Place, err = m.safeOf(ctx, r.Lot, r.Place, "place"); err != nil {
			return err
		}
		whole, err := m.stockOf(ctx, r.Lot)
		if err != nil {
			return err
		}
		child, err := childrenOf(ctx, tx, whole.Lot)
		if err != nil {
			return err
		}
		lot := child(book.Lot{Stone: r.Stone, Prices: whole.Prices})
		lot.Label = r.Label
		parent, cost, err := m.takeOut(ctx, Moving{r.Lot, r.Pieces, r.Carats}, r.Place)
		if err != nil {
			return err
		}
		if f := parent.CheckStones(); f != nil {
			return f
		}
		if r.Stone != "" && r.Pieces != 1 {
			return fault.New(fault.Usage, "split-stone", "a tag names one stone, but "+fmt.Sprint(r.Pieces)+
				" pieces are split off", "split tagged stones one by one").AtField("stone")
		}
		m.divideAgreed(whole, book.Weighed{Pieces: r.Pieces, Carats: r.Carats}, []*book.Lot{&lot}, nil)
		m.record(lot)
		if err := m.holdOn(ctx, parent.Code, lot.Code); err != nil {
			return err
		}
		e.Postings = []ledger.Posting{
			{Lot: parent.Code, Place: r.Place, Pieces: -r.Pieces, Carats: -r.Carats, Cost: cost.Neg()},
			{Lot: lot.Code, Place: r.Place, Pieces: r.Pieces, Carats: r.Carats, Cost: cost},
		}
		out, err = m.post(ctx, lot.Code)
		return err
	})
	return out, err
}
