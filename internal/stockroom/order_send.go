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
	desk.Write
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
		o.Supplied, err = carry(ctx, tx, &e, book.Safe, book.PlaceOf(book.AtCutter, o.Cutter), r.Lots...)
		if err != nil {
			return err
		}
		o.State = "sent"
		for i := range o.Lines {
			o.Lines[i].MinYield = cutting.LeastYield(o)
		}
		e.Records = []book.Record{o}
		if out.Moved, err = post(ctx, tx, &e); err != nil {
			return err
		}
		out.OrderIssued, err = room.issueOrder(ctx, tx, s, o)
		return err
	})
	return out, err
}
