package stockroom

import (
	"cmp"
	"context"
	"slices"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/desk"
	"lotpaper/internal/store"
)

// OrderList asks for all orders.
type OrderList struct{}

// OrderList lists the orders, those that are overdue first, with what is still
// out and what the book believes of their cutters.
func (room *Room) OrderList(ctx context.Context, _ OrderList) (answer.Orders, error) {
	var out answer.Orders
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		all, err := store.All[book.Order](ctx, tx, "")
		if err != nil {
			return err
		}
		if out, err = room.withCutters(ctx, tx, all, all...); err != nil {
			return err
		}
		slices.SortStableFunc(out.Orders, func(a, b answer.Order) int {
			return cmp.Or(cmp.Compare(b.Overdue, a.Overdue), cmp.Compare(a.Rank(), b.Rank()))
		})
		out.Head, err = room.desk.ListHead(ctx, tx, "Orders")
		return err
	})
	return out, err
}

// OrderShow asks for one order.
type OrderShow struct{ Number string }

// OrderShow returns one order, with what is still out and what the book believes of
// its cutter.
func (room *Room) OrderShow(ctx context.Context, r OrderShow) (answer.Orders, error) {
	var out answer.Orders
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		o, err := desk.Named[book.Order](ctx, tx, r.Number)
		if err != nil {
			return err
		}
		parties, err := desk.ReadParties(ctx, tx)
		if err != nil {
			return err
		}
		all, err := desk.OfParty[book.Order](ctx, tx, parties, o.Cutter)
		if err != nil {
			return err
		}
		out, err = room.withCutters(ctx, tx, all, o)
		return err
	})
	return out, err
}

// withCutters are shown orders with their cutters, whose record is all orders.
func (room *Room) withCutters(ctx context.Context, tx store.ReadTx, all []book.Order,
	shown ...book.Order) (answer.Orders, error) {
	out := answer.Orders{Orders: []answer.Order{}}
	cfg, err := config.Load(ctx, tx)
	if err != nil {
		return out, err
	}
	parties, err := desk.ReadParties(ctx, tx)
	if err != nil {
		return out, err
	}
	for _, o := range shown {
		o.Cutter = parties.Of(o.Cutter)
		x, err := room.orderAnswer(ctx, tx, o, room.desk.Today(tx, ""))
		if err != nil {
			return out, err
		}
		out.Orders = append(out.Orders, x)
	}
	out.Cutters, err = skillsOf(ctx, tx, cfg, all, shown...)
	return out, err
}

// orderAnswer is an order with what is still out on it, what came, and its state: an
// order that was sent is received when nothing of it lies out and all that it asks
// for came.
func (room *Room) orderAnswer(ctx context.Context, tx store.ReadTx, o book.Order, on book.Date) (answer.Order, error) {
	out := answer.Drafted(o)
	row, err := tx.Row(ctx, book.KindOrder, o.Number)
	if err != nil {
		return out, err
	}
	reversed, err := tx.Reversals(ctx)
	if err != nil {
		return out, err
	}
	if reversed[row.Since] != "" {
		out.State = "void"
		return out, nil
	}
	if out.Bids, err = bidsFor(ctx, tx, o.Number); err != nil || o.State == "draft" {
		return out, err
	}
	batches, err := desk.BatchesOf(ctx, tx, book.ToPaper(o.Number))
	if err != nil {
		return out, err
	}
	for _, b := range batches {
		out.Batches = append(out.Batches, b.Batch)
	}
	came := desk.CameByItem(batches)
	open := false
	for i, l := range o.Lines {
		n := came[book.ItemName(i)]
		out.Came = append(out.Came, answer.ItemCame{Item: book.ItemName(i), Pieces: n})
		open = open || n < l.Count
	}
	if o.State != "sent" {
		return out, nil
	}
	p, _ := desk.PaperOf(&o)
	held, err := desk.OnPaper(ctx, tx, p)
	if err != nil {
		return out, err
	}
	out.Out = answer.Still(held)
	buys := len(o.Supplied) == 0
	if len(held) == 0 && (!buys || !open && len(o.Lines) > 0) {
		out.State = "received"
		return out, nil
	}
	if o.Due != "" && on > o.Due {
		out.Overdue = on.DaysSince(o.Due)
	}
	return out, nil
}
