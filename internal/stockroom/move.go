package stockroom

import (
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

// Moving is pieces of one lot on their way out or back. Zero pieces means all
// that is there; zero carats with all pieces means all the weight.
type Moving struct {
	Lot    string
	Pieces int64
	Carats num.Carat
}

// post writes an entry and says what moved; lots are those that it made or
// changed.
func post(ctx context.Context, tx store.Tx, e *ledger.Entry, lots ...string) (answer.Moved, error) {
	if err := tx.Post(ctx, e); err != nil {
		return answer.Moved{}, err
	}
	postings := e.Postings
	if postings == nil {
		postings = []ledger.Posting{}
	}
	return answer.Moved{Entry: e.Code, Lots: answer.List(lots), Postings: postings, Warnings: fault.List{}}, nil
}

// carry moves pieces of lots from one place to another, at their average cost:
// it adds the postings to e and returns what moves.
func carry(ctx context.Context, tx store.ReadTx, e *ledger.Entry, from, to book.Place,
	lots ...Moving) ([]book.SuppliedLot, error) {
	var out []book.SuppliedLot
	for _, m := range lots {
		s, here, err := lotAt(ctx, tx, m.Lot, from)
		if err != nil {
			return nil, err
		}
		if m.Pieces == 0 {
			m.Pieces = here.Pieces
		}
		if m.Carats == 0 && m.Pieces == here.Pieces {
			m.Carats = here.Carats
		}
		if m.Carats == 0 {
			return nil, fault.New(fault.Usage, "move-weight", fmt.Sprintf("a part of %s moves, so its weight is wanted",
				s.Code), "weigh what moves").AtRef(s.Code)
		}
		cost, f := ledger.Take(s.Places, from, m.Pieces, m.Carats)
		if f != nil {
			return nil, f
		}
		e.Postings = append(e.Postings, ledger.Move(s.Code, from, to, m.Pieces, m.Carats, cost)...)
		out = append(out, book.SuppliedLot{Lot: s.Code, Pieces: m.Pieces, Carats: m.Carats})
	}
	return out, nil
}

// lotAt reads a lot and its balance at a place; it fails when nothing is there.
func lotAt(ctx context.Context, tx store.ReadTx, code string, at book.Place) (answer.StockLot, ledger.Balance, error) {
	s, err := desk.StockOf(ctx, tx, code)
	if err != nil {
		return s, ledger.Balance{}, err
	}
	here := s.At(at)
	if here.Pieces == 0 {
		return s, here, fault.New(fault.Refused, "move-nothing", fmt.Sprintf("%s has nothing at %s", s.Code, at),
			"see where it is").AtRef(s.Code).Do("lot", "show", s.Code)
	}
	return s, here, nil
}

// returned is what comes back of a lot, as counted and weighed.
type returned struct {
	Moving
	broken int64
	accept string // the reason why a difference is accepted
}

// bring makes the postings of a return. What came back is compared with what
// was out: fewer pieces stay out, a weight outside the tolerance is refused
// until it is accepted with a reason.
func bring(ctx context.Context, tx store.ReadTx, b returned, from book.Place, tolerance num.Carat) ([]ledger.Posting,
	error) {
	s, out, err := lotAt(ctx, tx, b.Lot, from)
	if err != nil {
		return nil, err
	}
	pieces := b.Pieces
	if pieces == 0 {
		pieces = out.Pieces - b.broken
	}
	if pieces+b.broken > out.Pieces || pieces < 0 {
		return nil, fault.New(fault.Refused, "return-pieces",
			fmt.Sprintf("%d pieces came back and %d broke, but %d of %s were at %s", pieces, b.broken, out.Pieces,
				s.Code, from), "count again; stones get switched").AtRef(s.Code)
	}
	if b.Carats == 0 {
		return nil, fault.New(fault.Usage, "return-weight", "what comes back of "+s.Code+" is weighed", "weigh it").
			AtRef(s.Code)
	}
	var postings []ledger.Posting
	zero := num.Zero(tx.Meta().Currency)
	whole := pieces+b.broken == out.Pieces
	expected := b.Carats
	if whole && b.broken == 0 {
		expected = out.Carats
		if diff := out.Carats - b.Carats; diff > tolerance || -diff > tolerance {
			if b.accept == "" {
				return nil, fault.New(fault.Refused, "return-differs",
					fmt.Sprintf("%s came back with %s ct, but went out with %s ct: the difference of %s ct is over "+
						"the tolerance of %s ct", s.Code, b.Carats, out.Carats, diff, tolerance),
					"measure and test the stones before accepting them; then say why they are accepted").AtRef(
					s.Code).AtField("accept")
			}
		}
	}
	lost := out.Carats - b.Carats
	if !whole {
		lost = 0
		if b.Carats > out.Carats {
			return nil, fault.New(fault.Refused, "return-heavier",
				fmt.Sprintf("a part of %s weighs %s ct, more than all that was out (%s ct)", s.Code, b.Carats,
					out.Carats), "weigh again").AtRef(s.Code)
		}
	}
	switch {
	case b.broken > 0:
		broken := lost
		if !whole {
			broken = 0
		}
		cost := zero
		if pieces == 0 {
			cost, broken = out.Cost, out.Carats
		}
		postings = append(postings,
			ledger.Posting{Lot: s.Code, Place: from, Pieces: -b.broken, Carats: -broken, Cost: cost.Neg()},
			ledger.Posting{Lot: s.Code, Place: book.LossBreakage, Pieces: b.broken, Carats: broken, Cost: cost})
		expected = b.Carats
	case lost != 0:
		postings = append(postings,
			ledger.Posting{Lot: s.Code, Place: from, Pieces: 0, Carats: -lost, Cost: zero},
			ledger.Posting{Lot: s.Code, Place: book.LossWeighing, Pieces: 0, Carats: lost, Cost: zero})
		expected = b.Carats
	}
	if pieces == 0 {
		return postings, nil
	}
	cost := out.Cost
	if !whole {
		var f *fault.Fault
		if cost, f = ledger.Take(s.Places, from, pieces, expected); f != nil {
			return nil, f
		}
	}
	return append(postings, ledger.Move(s.Code, from, book.Safe, pieces, expected, cost)...), nil
}
