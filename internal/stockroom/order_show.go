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
		all, err := store.All[book.Order](ctx, tx, "")
		if err != nil {
			return err
		}
		out.Orders = append(out.Orders, all...)
		if number != "" {
			o, err := store.Get[book.Order](ctx, tx, number)
			if err != nil {
				return desk.NotFound(err, "order", number)
			}
			out.Orders = []book.Order{o}
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
