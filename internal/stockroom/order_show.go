package stockroom

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/store"
)

// OrderShow returns one order, or all of them when number is empty.
func (room *Room) OrderShow(ctx context.Context, number string) (answer.Orders, error) {
	out := answer.Orders{Orders: []book.Order{}}
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		var all []book.Order // those that the cutters' records are read from
		var err error
		if number == "" {
			all, err = store.All[book.Order](ctx, tx, "")
			out.Orders = append(out.Orders, all...)
		} else {
			var o book.Order
			if o, err = store.Get[book.Order](ctx, tx, number); err != nil {
				return desk.NotFound(err, "order", number)
			}
			out.Orders = []book.Order{o}
			all, err = store.Of[book.Order](ctx, tx, book.ToParty(o.Cutter))
		}
		if err != nil {
			return err
		}
		config, err := desk.LoadConfig(ctx, tx)
		if err != nil {
			return err
		}
		out.Cutters, err = skillsOf(ctx, tx, config, all, out.Orders...)
		return err
	})
	return out, err
}
