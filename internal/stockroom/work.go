package stockroom

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/fitting"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// WorkOut asks to give lots to a setter, a goldsmith or a laboratory.
type WorkOut struct {
	Movement
	Party string
	Due   book.Date
	From  book.Place // the safe that they leave; empty: the one where each lot lies
	Lots  []Moving
	Note  string
}

// WorkOut gives lots out on a work ticket.
func (room *Room) WorkOut(ctx context.Context, r WorkOut) (answer.WorkMoved, error) {
	var out answer.WorkMoved
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		var err error
		if r.Party, err = desk.PartyOf(ctx, tx, "a setter", r.Party); err != nil {
			return err
		}
		n, err := tx.Next(ctx, string(book.KindWork))
		if err != nil {
			return err
		}
		number := fmt.Sprintf("W%d", n)
		ticket := book.Ticket{Number: number, Party: r.Party, On: s.On, Due: r.Due, At: book.PaperPlace(number),
			Note: r.Note}
		e := s.Entry(ledger.Issue, "out on work ticket "+number+" to "+r.Party)
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		from, err := leaves(r.From)
		if err != nil {
			return err
		}
		if ticket.Sent, err = m.carry(ctx, from, ticket.At, r.Lots...); err != nil {
			return err
		}
		m.record(ticket)
		warnings, err := room.hazards(ctx, tx, r.Lots)
		if err != nil {
			return err
		}
		out.Moved, err = m.post(ctx)
		out.Warnings = append(out.Warnings, warnings...)
		return m.showTicket(ctx, &out.Ticket, number, err)
	})
	return out, err
}

// showTicket reads a ticket as the entry left it.
func (m *mover) showTicket(ctx context.Context, to *answer.Ticket, number string, err error) error {
	if err != nil || number == "" {
		return err
	}
	p, err := desk.PaperNamed(ctx, m.tx, book.KindTicket, "work", number)
	if err != nil {
		return err
	}
	held, err := desk.OnPaper(ctx, m.tx, p)
	*to = answer.Ticket{Number: p.Number, Party: p.Party, State: answer.StateOf(p.Void, len(held)),
		On: p.On, Due: p.Due,
		Lots: answer.Still(held)}
	return err
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

// WorkBack is what came back of one lot that was out for work.
type WorkBack struct {
	Movement
	Ticket string        // empty: the open one of Party that holds the lot
	Party  string        //
	Moving               // unset stones that come back, counted and weighed
	Set    int64         // stones set into a piece
	Broken int64         // stones that broke
	Piece  string        // the piece they were set into
	Spot   book.LineSpot // what they were set for, and the loss rates learn from; zero: not said
}

// WorkBack books what was done: stones set stay in the book in their piece,
// broken ones are a loss that the loss rates learn from.
func (room *Room) WorkBack(ctx context.Context, r WorkBack) (answer.WorkMoved, error) {
	var out answer.WorkMoved
	if r.Set > 0 {
		if f := book.CheckName("a piece", r.Piece); f != nil {
			return out, f.AtField("piece")
		}
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		p, err := r.paper(ctx, tx)
		if err != nil {
			return err
		}
		e := s.Entry(r.kind(), "back from "+p.Party)
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		lines, err := r.lines(ctx, m, p)
		if err != nil {
			return err
		}
		if lines, err = m.bring(ctx, p.Place, r.Lot, lines); err != nil {
			return err
		}
		key := ""
		if p.Number != "" {
			batch, err := m.batch(ctx, p.Number, p.Party, lines)
			if err != nil {
				return err
			}
			m.record(batch)
			key = batch.RecordKey()
		}
		work, err := room.fitting.WorkOf(ctx, tx, book.Work{
			Number: key, Setter: p.Party, Lot: lines[0].Lot, Piece: r.Piece, Set: r.Set, Broken: r.Broken, On: s.On,
		}, r.Spot)
		if err != nil {
			return err
		}
		if work != nil {
			m.record(work)
		}
		out.Moved, err = m.post(ctx)
		return m.showTicket(ctx, &out.Ticket, p.Number, err)
	})
	return out, err
}

func (r *WorkBack) kind() ledger.Kind {
	switch {
	case r.Broken > 0:
		return ledger.Break
	case r.Set > 0:
		return ledger.Set
	}
	return ledger.Return
}

// paper is the ticket that the lot is on: the one that is named, the only open
// one of the party that holds the lot, or, without a number, the place where a
// setter's stones lay before there were tickets.
func (r *WorkBack) paper(ctx context.Context, tx store.ReadTx) (desk.Paper, error) {
	if r.Ticket != "" {
		return desk.PaperNamed(ctx, tx, book.KindTicket, "work", r.Ticket)
	}
	lot, err := desk.StockOf(ctx, tx, r.Lot)
	if err != nil {
		return desk.Paper{}, err
	}
	parties, err := desk.ReadParties(ctx, tx)
	if err != nil {
		return desk.Paper{}, err
	}
	var old desk.Paper
	var found []desk.Paper
	var numbers []string
	for _, name := range append(parties.Names(r.Party), r.Party) {
		old = desk.Paper{Party: name, Place: book.PlaceOf(book.AtSetter, name), Old: true}
		if here := lot.At(old.Place); here.Pieces > 0 && !slices.Contains(numbers, string(old.Place)) {
			found, numbers = append(found, old), append(numbers, string(old.Place))
		}
	}
	err = desk.EachPaper(ctx, tx, store.RowFilter{Ref: book.ToLot(lot.Code)}, func(p desk.Paper) error {
		here := lot.At(p.Place)
		if p.Kind == book.KindTicket && parties.Same(p.Party, r.Party) && here.Pieces > 0 {
			found, numbers = append(found, p), append(numbers, p.Number)
		}
		return nil
	})
	switch {
	case err != nil:
		return old, err
	case len(found) == 1:
		return found[0], nil
	case len(found) == 0:
		return old, fault.New(fault.Refused, "move-nothing", fmt.Sprintf("%s has nothing of %s", r.Party, lot.Code),
			"see where it is").AtRef(lot.Code).Do("lot", "show", lot.Code)
	}
	return old, fault.New(fault.Usage, "work-several", fmt.Sprintf("%s has stones of %s on %s", r.Party, lot.Code,
		strings.Join(numbers, ", ")), "name the ticket").AtRef(lot.Code).AtField("ticket")
}

// lines are what the request says became of the stones. A bare lot means that
// all the others came back.
func (r *WorkBack) lines(ctx context.Context, m *mover, p desk.Paper) ([]book.BatchLine, error) {
	_, here, err := m.lotAt(ctx, r.Lot, p.Place)
	if err != nil {
		return nil, err
	}
	back := r.Pieces
	if back == 0 && r.Set == 0 {
		back = here.Pieces - r.Broken
	}
	var out []book.BatchLine
	add := func(o book.Outcome, pieces int64, carats book.Weighed, to book.Place) {
		if pieces != 0 {
			out = append(out, book.BatchLine{Outcome: o, Weighed: book.Weighed{Pieces: pieces, Carats: carats.Carats},
				To: to})
		}
	}
	add(book.Broken, r.Broken, book.Weighed{}, "")
	add(book.Accepted, back, book.Weighed{Carats: r.Carats}, "")
	add(book.Placed, r.Set, book.Weighed{}, book.PlaceOf(book.AtPiece, r.Piece))
	return out, nil
}
