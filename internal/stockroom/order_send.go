package stockroom

import (
	"context"
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/cutting"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// OrderSend asks to send an order to its cutter, with material when the dealer
// supplies it.
type OrderSend struct {
	Movement
	Number string
	Lots   []Moving // stones supplied
}

// OrderSend marks an order as sent, moves the supplied stones to the cutter and
// issues the paper that goes with them.
func (room *Room) OrderSend(ctx context.Context, r OrderSend) (answer.OrderSent, error) {
	var out answer.OrderSent
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		o, err := desk.Named[book.Order](ctx, tx, r.Number)
		if err != nil {
			return err
		}
		if o.State != "draft" {
			return fault.New(fault.Refused, "order-state", fmt.Sprintf("order %s is %s, not a draft", o.Number,
				o.State), "draft a new one for further stones").AtRef(o.Number)
		}
		e := s.Entry(ledger.Issue, "sent "+o.Number+" to the cutter "+o.Cutter)
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		o.At = book.PaperPlace(o.Number)
		sent, err := m.carry(ctx, book.Safe, o.At, r.Lots...)
		if err != nil {
			return err
		}
		o.Supplied = nil
		for _, l := range sent {
			o.Supplied = append(o.Supplied, book.SuppliedLot{Lot: l.Lot, Pieces: l.Pieces, Carats: l.Carats})
		}
		o.State = "sent"
		for i := range o.Lines {
			o.Lines[i].MinYield = cutting.LeastYield(o)
		}
		m.record(o)
		if out.OrderIssued, err = room.issueOrder(ctx, m, s, o); err != nil {
			return err
		}
		out.Moved, err = m.post(ctx)
		return err
	})
	return out, err
}
