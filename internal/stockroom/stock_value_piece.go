package stockroom

import (
	"context"
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/desk"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// finishedPieces is what finished pieces are grouped under in a valuation.
const finishedPieces = "finished pieces"

// insides are the stones in finished pieces that are in stock, by their place: a
// valuation counts them with their piece, once.
type insides map[book.Place][]ledger.Balance

// readInsides reads what lies in the finished pieces in stock, as of a moment.
func readInsides(ctx context.Context, tx store.ReadTx, asOf desk.AsOf, then desk.Moment) (insides, error) {
	out := insides{}
	return out, desk.StockFilter{Kind: book.PieceLot, AsOf: asOf}.Each(ctx, tx, func(s answer.StockLot) error {
		if !s.Owner.IsOwn() { // what is ours in it counts as stones
			return nil
		}
		held, err := then.StonesIn(ctx, tx, s.Inside())
		out[s.Inside()] = held
		return err
	})
}

// heldPiece is a finished piece as costing values it: its asking price, less the
// haircut, is what it would bring. A piece without one stays at cost.
func (v *valuer) heldPiece(lot book.Lot, h costing.Held) (costing.Held, book.Price) {
	if p := lot.Prices; p != nil && p.Basis == book.PerPiece && p.Ask.Sign() > 0 {
		h.HasPrice, h.Price = true, p.Ask.ForPieces(1, num.HalfUp).Times(v.keep, num.HalfUp)
		return h, book.Price{Loose: p.Ask}
	}
	return h, book.Price{}
}

// item is a lot as a valuation counts it: a finished piece with what its stones cost,
// a lot of stones without those that lie in finished pieces; false when nothing is
// left of it.
func (in insides) item(s answer.StockLot) (answer.StockLot, bool) {
	places := s.Places
	if s.IsPiece() {
		s.Places = nil
		for _, b := range places {
			for _, x := range in[s.Inside()] {
				b.Cost = b.Cost.Add(x.Cost)
				s.Cost = s.Cost.Add(x.Cost)
			}
			s.Places = append(s.Places, b)
		}
		return s, s.Pieces > 0
	}
	s.Places = nil
	for _, b := range places {
		if _, inside := in[b.Place]; inside {
			s.Pieces, s.Carats, s.Cost = s.Pieces-b.Pieces, s.Carats-b.Carats, s.Cost.Sub(b.Cost)
			continue
		}
		s.Places = append(s.Places, b)
	}
	return s, s.Pieces > 0
}

// name is what a valuation calls a lot: "ring with 3 stones".
func (in insides) name(s answer.StockLot) string {
	if !s.IsPiece() {
		return s.Called()
	}
	var n int64
	for _, b := range in[s.Inside()] {
		n += b.Pieces
	}
	switch n {
	case 0:
		return s.Name()
	case 1:
		return s.Name() + " with 1 stone"
	}
	return fmt.Sprintf("%s with %d stones", s.Name(), n)
}
