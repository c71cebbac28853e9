package stockroom

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/desk"
	"lotpaper/internal/store"
)

// OrderList asks for all orders.
type OrderList struct{}

// OrderList lists the orders, with what the book believes of their cutters.
func (room *Room) OrderList(ctx context.Context, _ OrderList) (answer.Orders, error) {
	var out answer.Orders
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		all, err := store.All[book.Order](ctx, tx, "")
		if err != nil {
			return err
		}
		if out, err = withCutters(ctx, tx, all, all...); err != nil {
			return err
		}
		out.Head, err = room.desk.ListHead(ctx, tx, "Orders")
		return err
	})
	return out, err
}

// OrderShow asks for one order.
type OrderShow struct{ Number string }

// OrderShow returns one order, with what the book believes of its cutter.
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
		out, err = withCutters(ctx, tx, all, o)
		return err
	})
	return out, err
}

// withCutters are shown orders with their cutters, whose record is all orders.
func withCutters(ctx context.Context, tx store.ReadTx, all []book.Order, shown ...book.Order) (answer.Orders, error) {
	cfg, err := config.Load(ctx, tx)
	if err != nil {
		return answer.Orders{}, err
	}
	out := answer.Orders{Orders: append([]book.Order{}, shown...)}
	if out.Cutters, err = skillsOf(ctx, tx, cfg, all, shown...); err != nil {
		return out, err
	}
	parties, err := desk.ReadParties(ctx, tx)
	for i := range out.Orders {
		out.Orders[i].Cutter = parties.Of(out.Orders[i].Cutter)
	}
	return out, err
}
