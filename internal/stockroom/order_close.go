package stockroom

import (
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// OrderCancel asks to give up an order of which nothing is out.
type OrderCancel struct {
	desk.Write
	Number string
}

// OrderCancel cancels a draft, or an order that was sent and of which nothing is
// out and nothing came.
func (room *Room) OrderCancel(ctx context.Context, r OrderCancel) (answer.Orders, error) {
	var out answer.Orders
	if r.Reason == "" {
		return out, fault.New(fault.Usage, "reason-missing", "a cancelled order needs a reason", "say why").
			AtField("reason")
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		o, err := desk.Named[book.Order](ctx, tx, r.Number)
		if err != nil {
			return err
		}
		if o.State == "sent" {
			if err := cancelSent(ctx, tx, o); err != nil {
				return err
			}
		} else if _, err := draftOrder(ctx, tx, r.Number); err != nil {
			return err
		}
		o.State, o.Ended = "cancelled", s.Reason
		e := s.Entry(ledger.Record, "")
		e.Reason = "cancelled the cutter order " + o.Number + ": " + s.Reason
		e.Records = []book.Record{o}
		if err := tx.Post(ctx, &e); err != nil {
			return err
		}
		shown, err := room.orderAnswer(ctx, tx, o, s.On)
		out = answer.Orders{Orders: []answer.Order{shown}, Cutters: []answer.CutterSkill{}}
		return err
	})
	return out, err
}

// cancelSent refuses to cancel an order of which stones are out or came.
func cancelSent(ctx context.Context, tx store.ReadTx, o book.Order) error {
	p, _ := desk.PaperOf(&o)
	held, err := desk.OnPaper(ctx, tx, p)
	if err != nil {
		return err
	}
	batches, err := desk.BatchesOf(ctx, tx, book.ToPaper(o.Number))
	if err != nil {
		return err
	}
	if len(held) > 0 || len(batches) > 0 {
		return fault.New(fault.Refused, "order-out", fmt.Sprintf("order %s has %d lots out and %d batches that came",
			o.Number, len(held), len(batches)), "book what came back, then close it").AtRef(o.Number).Do("order",
			"close",
			o.Number)
	}
	return nil
}

// What becomes of the cost of stones that never came back.
const (
	MissingLoss  = "loss"
	MissingClaim = "claim"
)

// OrderClose asks to end an order that was sent: what did not come back is missing.
type OrderClose struct {
	Movement
	Number  string
	Missing string // loss or claim; empty: nothing may be missing
}

// OrderClose ends an order. What is still out is booked as missing: its cost is an
// expense, or a claim on the cutter.
func (room *Room) OrderClose(ctx context.Context, r OrderClose) (answer.OrderReceived, error) {
	var out answer.OrderReceived
	if r.Reason == "" {
		return out, fault.New(fault.Usage, "reason-missing", "closing an order needs a reason", "say why").
			AtField("reason")
	}
	if r.Missing != "" && r.Missing != MissingLoss && r.Missing != MissingClaim {
		return out, fault.New(fault.Usage, "missing-word", fmt.Sprintf("what is missing is a %s or a %s, but is %q",
			MissingLoss, MissingClaim, r.Missing), "write one of the two").AtField("missing")
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		c, err := room.newReceipt(ctx, tx, s, r.Movement, r.Number)
		if err != nil {
			return err
		}
		if err := c.stillOpen(ctx); err != nil {
			return err
		}
		held, err := desk.OnPaper(ctx, tx, c.paper)
		if err != nil {
			return err
		}
		if len(held) > 0 && r.Missing == "" {
			var what []string
			for _, b := range held {
				what = append(what, fmt.Sprintf("%d pieces, %s ct of %s", b.Pieces, b.Carats, b.Lot))
			}
			return fault.New(fault.Refused, "close-missing", fmt.Sprintf("%s are still out under %s",
				strings.Join(what, "; "), c.order.Number), "book what came back; or say whether what is missing is a "+
				"loss or "+
				"a claim on the cutter").AtField("missing").AtRef(c.order.Number)
		}
		c.order.State, c.order.Ended = "closed", s.Reason
		c.record(c.order)
		c.entry.Reason = "closed the cutter order " + c.order.Number + ": " + s.Reason
		if len(held) == 0 {
			return c.closeEmpty(ctx, s, &out)
		}
		for _, b := range held {
			lines, err := c.bring(ctx, c.paper.Place, b.Lot,
				[]book.BatchLine{{Outcome: book.Missing, Item: c.itemOf(Came{
					Lot: b.Lot}), Weighed: book.Weighed{Pieces: b.Pieces, Carats: b.Carats},
					Claim: r.Missing == MissingClaim, Note: s.Reason}})
			if err != nil {
				return err
			}
			c.lines = append(c.lines, lines...)
		}
		out, err = c.finish(ctx, s)
		return err
	})
	return out, err
}

// closeEmpty ends an order of which nothing is out: nothing moves.
func (c *receipt) closeEmpty(ctx context.Context, s desk.Stamp, out *answer.OrderReceived) error {
	c.entry.Kind = ledger.Record
	var err error
	if out.Moved, err = c.post(ctx); err != nil {
		return err
	}
	out.Order, err = c.room.orderAnswer(ctx, c.tx, c.order, s.On)
	return err
}
