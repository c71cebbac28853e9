package stockroom

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/fitting"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// SetterOut asks to send lots to a setter.
type SetterOut struct {
	desk.Write
	Setter string
	Lots   []Moving
}

// SetterOut sends lots to a setter.
func (room *Room) SetterOut(ctx context.Context, r SetterOut) (answer.Moved, error) {
	var out answer.Moved
	if f := book.CheckName("a setter", r.Setter); f != nil {
		return out, f
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		e := s.Entry(ledger.Issue, "to the setter "+r.Setter)
		_, err := carry(ctx, tx, &e, book.Safe, book.PlaceOf(book.AtSetter, r.Setter), r.Lots...)
		if err != nil {
			return err
		}
		warnings, err := room.hazards(ctx, tx, r.Lots)
		if err != nil {
			return err
		}
		out, err = post(ctx, tx, &e)
		out.Warnings = append(out.Warnings, warnings...)
		return err
	})
	return out, err
}

// hazards warns of what can hurt the people who work on lots without cutting
// them.
func (room *Room) hazards(ctx context.Context, tx store.ReadTx, lots []Moving) (fault.List, error) {
	var l fault.List
	for _, m := range lots {
		lot, err := desk.StockOf(ctx, tx, m.Lot)
		if err != nil {
			return nil, err
		}
		id, err := room.bench.Judge(ctx, tx, lot)
		if err != nil {
			return nil, err
		}
		for _, words := range answer.HazardWords(answer.JewelHazards(fitting.HazardsOf(lot.Lot, &id))) {
			l.Add(fault.New(fault.Refused, "people-hazard", words, "tell whoever works on it; local rules come first").
				AtRef(lot.Code).AsWarning())
		}
	}
	return l, nil
}

// SetterBack is what a setter brings back of one lot.
type SetterBack struct {
	desk.Write
	Setter string
	Moving               // unset stones that come back, counted and weighed
	Set    int64         // stones set into a piece
	Broken int64         // stones that broke while they were set
	Piece  string        // the piece they were set into
	For    book.LineSpot // what they were set for, and the loss rates learn from; zero: not said
	Accept string        // why a difference of weight is accepted
}

// SetterBack books what a setter did: stones set stay in the book at their
// piece, broken ones are a loss that the loss rates learn from.
func (room *Room) SetterBack(ctx context.Context, r SetterBack) (answer.Moved, error) {
	var out answer.Moved
	if r.Set > 0 {
		if f := book.CheckName("a piece", r.Piece); f != nil {
			return out, f.AtField("piece")
		}
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		cfg, err := config.Load(ctx, tx)
		if err != nil {
			return err
		}
		from := book.PlaceOf(book.AtSetter, r.Setter)
		kind := ledger.Return
		if r.Set > 0 {
			kind = ledger.Set
		}
		if r.Broken > 0 {
			kind = ledger.Break
		}
		e := s.Entry(kind, "back from the setter "+r.Setter)
		if r.Accept != "" {
			e.Reason += "; accepted: " + r.Accept
		}
		if r.Set == 0 {
			e.Postings, err = bring(ctx, tx, returned{Moving: r.Moving, broken: r.Broken, accept: r.Accept}, from,
				cfg.WeighingTolerance)
		} else {
			e.Postings, err = r.set(ctx, tx, from)
		}
		if err != nil {
			return err
		}
		work, err := room.fitting.WorkOf(ctx, tx, book.Work{
			Setter: r.Setter, Lot: r.Lot, Piece: r.Piece, Set: r.Set, Broken: r.Broken, On: s.On,
		}, r.For)
		if err != nil {
			return err
		}
		if work != nil {
			e.Records = append(e.Records, work)
		}
		out, err = post(ctx, tx, &e)
		return err
	})
	return out, err
}

// set makes the postings of stones set into a piece. The cost of broken stones
// stays on the set ones, unless none is left.
func (r *SetterBack) set(ctx context.Context, tx store.ReadTx, from book.Place) ([]ledger.Posting, error) {
	lot, out, err := lotAt(ctx, tx, r.Lot, from)
	if err != nil {
		return nil, err
	}
	if r.Set+r.Broken+r.Pieces > out.Pieces {
		return nil, fault.New(fault.Refused, "return-pieces", "more stones were set, broken and brought back than "+
			"were at the setter", "count again").AtRef(lot.Code)
	}
	to := book.PlaceOf(book.AtPiece, r.Piece)
	var postings []ledger.Posting
	left := out
	move := func(dest book.Place, pieces int64, weighed num.Carat, last bool, keepCost bool) {
		if pieces == 0 {
			return
		}
		carats := left.Carats
		cost := left.Cost
		if !last {
			if carats = weighed; carats == 0 {
				carats = left.Carats * num.Carat(pieces) / num.Carat(left.Pieces)
			}
			cost = left.Cost.Each(left.Pieces, num.HalfUp).Times(num.Int(pieces), num.HalfUp)
		}
		if keepCost && !last {
			cost = num.Zero(left.Cost.Currency())
		}
		postings = append(postings, ledger.Move(lot.Code, from, dest, pieces, carats, cost)...)
		left.Pieces -= pieces
		left.Carats -= carats
		left.Cost = left.Cost.Sub(cost)
	}
	move(book.LossBreakage, r.Broken, 0, r.Broken == left.Pieces, true)
	move(book.Safe, r.Pieces, r.Carats, r.Pieces == left.Pieces, false)
	move(to, r.Set, 0, r.Set == left.Pieces, false)
	return postings, nil
}
