package desk

import (
	"context"
	"errors"
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// PieceOf reads a finished piece with what it has; that there is none, or that
// the lot is stones, is a fault.
func PieceOf(ctx context.Context, tx store.ReadTx, code string) (answer.StockLot, error) {
	s, err := StockOf(ctx, tx, code)
	if _, known := fault.From(err); known {
		return s, fault.New(fault.NotFound, "piece-unknown", fmt.Sprintf("there is no piece %q in this book", code),
			"list them").AtRef(code).Do("piece", "list")
	}
	if err == nil && !s.IsPiece() {
		err = fault.New(fault.Refused, "piece-stones", s.Code+" is a lot of stones, not a finished piece", "list the "+
			"pieces").AtRef(s.Code).Do("piece", "list")
	}
	return s, err
}

// IsPiece reports whether the book has a finished piece of that code: older books
// have stones in pieces that are no lots.
func IsPiece(ctx context.Context, tx store.ReadTx, code string) (bool, error) {
	lot, err := store.Get[book.Lot](ctx, tx, code)
	if errors.Is(err, store.ErrNotFound) {
		return false, nil
	}
	return err == nil && lot.IsPiece(), err
}

// StonesIn returns the stones that lie in a piece.
func StonesIn(ctx context.Context, tx store.ReadTx, place book.Place) ([]ledger.Balance, error) {
	return tx.Balances(ctx, store.BalanceFilter{Place: place, RealOnly: true})
}

// StonesIn returns the stones that lay in a piece at that moment.
func (m Moment) StonesIn(ctx context.Context, tx store.ReadTx, place book.Place) ([]ledger.Balance, error) {
	return m.lying(ctx, tx, place)
}

// StonesOf reads a lot of stones with what it has; that it is a finished piece is a
// fault.
func StonesOf(ctx context.Context, tx store.ReadTx, code string) (answer.StockLot, error) {
	s, err := StockOf(ctx, tx, code)
	if f := s.CheckStones(); err == nil && f != nil {
		return s, f
	}
	return s, err
}

// StonesNamed reads a lot of stones; that it is a finished piece is a fault.
func StonesNamed(ctx context.Context, tx store.ReadTx, code string) (book.Lot, error) {
	lot, err := Named[book.Lot](ctx, tx, code)
	if f := lot.CheckStones(); err == nil && f != nil {
		return lot, f
	}
	return lot, err
}

// CheckPieces compares finished pieces with the stones in them: a piece is one
// piece without weight, and its stones lie in it only while it lies at a real
// place. Stones in a piece that is no lot, as older books have them, are right.
func CheckPieces(ctx context.Context, tx store.ReadTx, report func(table, ref, what string)) error {
	held := map[string]answer.StockLot{}
	err := StockFilter{Kind: book.PieceLot, All: true}.Each(ctx, tx, func(s answer.StockLot) error {
		held[s.Code] = s
		switch {
		case s.Pieces > 1 || len(s.Places) > 1:
			report("pieces", s.Code, fmt.Sprintf("a finished piece is one piece at one place, but there are %d at %d",
				s.Pieces, len(s.Places)))
		case s.Carats != 0:
			report("pieces", s.Code, fmt.Sprintf("a finished piece has no weight of stones, but it weighs %s ct",
				s.Carats))
		case s.Pieces == 1 && s.Places[0].Place.Kind() == book.AtPiece:
			report("pieces", s.Code, "it lies in a piece")
		}
		return nil
	})
	if err != nil {
		return err
	}
	for code, s := range held {
		if s.Pieces > 0 {
			continue
		}
		inside, err := StonesIn(ctx, tx, s.Inside())
		if err != nil {
			return err
		}
		for _, b := range inside {
			report("pieces", code, fmt.Sprintf("%s lies in it, but the piece itself lies nowhere: it was sold or lost",
				has(b)))
		}
	}
	return nil
}
