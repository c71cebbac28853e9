package stockroom

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/store"
)

// LotShow returns one lot.
func (room *Room) LotShow(ctx context.Context, code string) (answer.LotShow, error) {
	var out answer.LotShow
	err := room.desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.StockLot, err = desk.StockOf(ctx, tx, code); err != nil {
			return err
		}
		out.Children = []string{}
		err = store.Each(ctx, tx, store.RowFilter{Prefix: out.Code + ".", Limit: desk.PageLots},
			func(l book.Lot) error {
				if l.Parent == out.Code {
					out.Children = append(out.Children, l.Code)
				}
				return nil
			})
		if err != nil {
			return err
		}
		readings, err := desk.ReadingsOf(ctx, tx, out.Code)
		if err != nil {
			return err
		}
		out.Readings = len(readings)
		if out.Reports, err = desk.ReportsOf(ctx, tx, out.Code); err != nil {
			return err
		}
		out.Holds, err = desk.HoldsOf(ctx, tx, out.Code)
		return err
	})
	return out, err
}
