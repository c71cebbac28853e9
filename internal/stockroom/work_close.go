package stockroom

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// WorkClose asks to close a work ticket by hand: what is still out on it is missing.
type WorkClose struct {
	Movement
	Ticket  string
	Missing string // MissingLoss or MissingClaim
}

// WorkClose books what did not come back of a ticket as missing, with the reason.
func (room *Room) WorkClose(ctx context.Context, r WorkClose) (answer.WorkMoved, error) {
	out := answer.WorkMoved{Pieces: []answer.Piece{}}
	if r.Reason == "" {
		return out, fault.New(fault.Usage, "reason-missing", "a ticket is closed with a reason", "say why").
			AtField("reason")
	}
	if r.Missing != MissingLoss && r.Missing != MissingClaim {
		return out, fault.New(fault.Usage, "close-missing", fmt.Sprintf("what is missing is a loss or a claim, not %q",
			r.Missing), "write loss or claim").AtField("missing")
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		p, err := desk.PaperNamed(ctx, tx, book.KindTicket, "work", r.Ticket)
		if err != nil {
			return err
		}
		held, err := desk.OnPaper(ctx, tx, p)
		if err != nil {
			return err
		}
		if len(held) == 0 {
			return fault.New(fault.Refused, "work-closed", "ticket "+p.Number+" is closed: nothing is out on it",
				"list the open ones").AtRef(p.Number).Do("work", "list")
		}
		e := s.Entry(ledger.Lose, "")
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		b := &workBatch{mover: m, paper: p}
		for _, x := range held {
			lines, err := m.bring(ctx, p.Place, x.Lot, []book.BatchLine{{Outcome: book.Missing,
				Weighed: book.Weighed{Pieces: x.Pieces, Carats: x.Carats}, Claim: r.Missing == MissingClaim}})
			if err != nil {
				return err
			}
			b.lines = append(b.lines, lines...)
		}
		if b.batch, err = m.batch(ctx, p.Number, p.Party, b.lines); err != nil {
			return err
		}
		b.batch.Note = s.Reason
		m.record(b.batch)
		if err := b.receipt(ctx, s, &out); err != nil {
			return err
		}
		out.Moved, err = m.post(ctx)
		return m.showTicket(ctx, &out.Ticket, p.Number, err)
	})
	return out, err
}

// WorkList asks for the work tickets.
type WorkList struct {
	desk.AsOf
	All bool // also the closed ones and those that are void
}

// WorkList lists the work tickets, overdue ones first. Of a past moment, what lay on
// them then counts.
func (room *Room) WorkList(ctx context.Context, r WorkList) (answer.Tickets, error) {
	out := answer.Tickets{Tickets: []answer.Ticket{}}
	err := room.desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.Head, err = room.desk.ListHead(ctx, tx, "Work tickets"); err != nil {
			return err
		}
		then, err := r.Moment(ctx, tx)
		if err != nil {
			return err
		}
		out.AsOf = then.Answer
		parties, err := desk.ReadParties(ctx, tx)
		if err != nil {
			return err
		}
		return then.EachPaper(ctx, tx, store.RowFilter{}, func(p desk.Paper) error {
			if p.Kind != book.KindTicket {
				return nil
			}
			p.Party = parties.Of(p.Party)
			t, err := ticketAnswer(ctx, tx, then, p, room.desk.Today(tx, then.Day()))
			if r.All || t.State == "out" {
				out.Tickets = append(out.Tickets, t)
			}
			return err
		})
	})
	slices.SortStableFunc(out.Tickets, func(a, b answer.Ticket) int { return cmp.Compare(b.Overdue, a.Overdue) })
	return out, err
}
