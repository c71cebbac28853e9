package stockroom

import (
	"context"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// PieceShow asks for one finished piece.
type PieceShow struct{ Piece string }

// PieceShow returns a finished piece: its stones, metal and making, what they cost,
// and where it is.
func (room *Room) PieceShow(ctx context.Context, r PieceShow) (answer.Piece, error) {
	var out answer.Piece
	err := room.desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out, err = pieceAnswer(ctx, tx, r.Piece); err == nil {
			return nil
		}
		old, oldErr := oldPiece(ctx, tx, book.PlaceOf(book.AtPiece, r.Piece))
		if oldErr != nil || len(old.Stones) == 0 {
			return err
		}
		out = old
		return nil
	})
	return out, err
}

// PieceList asks for the finished pieces.
type PieceList struct {
	All bool // also those that are sold or gone
}

// PieceList lists the finished pieces, and behind them what lies in pieces that are
// no lots, as older books have them.
func (room *Room) PieceList(ctx context.Context, r PieceList) (answer.Pieces, error) {
	out := answer.Pieces{Pieces: []answer.Piece{}}
	err := room.desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.Head, err = room.desk.ListHead(ctx, tx, "Finished pieces"); err != nil {
			return err
		}
		out.Cost = num.Zero(tx.Meta().Currency)
		known := map[book.Place]bool{}
		err = desk.StockFilter{Kind: book.PieceLot, All: true}.Each(ctx, tx, func(s answer.StockLot) error {
			known[s.Inside()] = true
			if s.Pieces == 0 && !r.All {
				return nil
			}
			p, err := pieceWith(ctx, tx, s)
			out.Pieces = append(out.Pieces, p)
			out.Cost = out.Cost.Add(p.Cost)
			return err
		})
		if err != nil {
			return err
		}
		var old []book.Place
		err = desk.EachAway(ctx, tx, func(b ledger.Balance) error {
			if b.Place.Kind() == book.AtPiece && !known[b.Place] && !slices.Contains(old, b.Place) {
				old = append(old, b.Place)
			}
			return nil
		})
		if err != nil {
			return err
		}
		for _, place := range old {
			p, err := oldPiece(ctx, tx, place)
			if err != nil {
				return err
			}
			out.Pieces = append(out.Pieces, p)
			out.Cost = out.Cost.Add(p.Cost)
		}
		return nil
	})
	return out, err
}

// pieceAnswer is a finished piece with what lies in it.
func pieceAnswer(ctx context.Context, tx store.ReadTx, code string) (answer.Piece, error) {
	s, err := desk.PieceOf(ctx, tx, code)
	if err != nil {
		return answer.Piece{}, err
	}
	return pieceWith(ctx, tx, s)
}

// pieceWith adds to a piece what lies in it, and what its cost is made of.
func pieceWith(ctx context.Context, tx store.ReadTx, s answer.StockLot) (answer.Piece, error) {
	zero := num.Zero(tx.Meta().Currency)
	j := s.Jewel
	p := answer.Piece{Piece: s.Code, Is: j.Is, Design: j.Design, Metal: j.Metal, Weight: j.Weight, Size: j.Size,
		Since: j.Since, Owner: s.Owner, State: "gone", Bought: zero, MetalOf: zero, Making: zero, Other: zero,
		Damaged: s.Damaged,
		Note:    s.Note}
	all, err := tx.Balances(ctx, store.BalanceFilter{Lot: s.Code})
	if err != nil {
		return p, err
	}
	for _, b := range all {
		switch from := b.Cost.Neg(); {
		case b.Place.IsReal():
			p.State, p.Place = "in stock", b.Place
		case b.Place.Kind() == book.AtCustomer:
			if b.Pieces > 0 {
				p.State, p.Place = "sold", b.Place
			}
		case b.Place.Kind() == book.AtVendor:
			p.Bought = p.Bought.Add(from)
		case b.Place == book.PlaceOf(book.AtCharge, metalCharge):
			p.MetalOf = p.MetalOf.Add(from)
		case b.Place == book.PlaceOf(book.AtCharge, makingCharge):
			p.Making = p.Making.Add(from)
		case strings.HasPrefix(string(b.Place), "loss/") && b.Pieces > 0:
			p.Place = b.Place
		default:
			p.Other = p.Other.Add(from)
		}
	}
	if p.Stones, p.InIt, err = stonesOfPiece(ctx, tx, s.Inside()); err != nil {
		return p, err
	}
	p.Cost = zero.Add(s.Cost).Add(p.InIt)
	return p, nil
}

// oldPiece is what lies in a piece that is no lot.
func oldPiece(ctx context.Context, tx store.ReadTx, place book.Place) (answer.Piece, error) {
	zero := num.Zero(tx.Meta().Currency)
	p := answer.Piece{Piece: place.Name(), Old: true, Owner: book.Own, State: "in stock", Place: place, Bought: zero,
		MetalOf: zero,
		Making:  zero, Other: zero}
	var err error
	if p.Stones, p.InIt, err = stonesOfPiece(ctx, tx, place); err != nil {
		return p, err
	}
	if len(p.Stones) == 0 {
		return p, fault.New(fault.NotFound, "piece-unknown", "there is no piece "+place.Name()+" in this book",
			"list them").AtRef(place.Name()).Do("piece", "list")
	}
	p.Cost = p.InIt
	return p, nil
}

// stonesOfPiece are the stones that lie in a piece, and what they cost together.
func stonesOfPiece(ctx context.Context, tx store.ReadTx, inside book.Place) ([]answer.PieceStone, num.Money, error) {
	out, cost := []answer.PieceStone{}, num.Zero(tx.Meta().Currency)
	held, err := desk.StonesIn(ctx, tx, inside)
	if err != nil {
		return out, cost, err
	}
	for _, b := range held {
		lot, err := store.Get[book.Lot](ctx, tx, b.Lot)
		if err != nil {
			return out, cost, err
		}
		out = append(out, answer.PieceStone{Lot: lot.Code, Name: lot.Called(), Owner: lot.Owner, Pieces: b.Pieces,
			Carats: b.Carats, Cost: cost.Sub(cost).Add(b.Cost), Damaged: lot.Damaged})
		cost = cost.Add(b.Cost)
	}
	return out, cost, nil
}
