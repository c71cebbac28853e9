package stockroom

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/store"
)

// PaymentList asks for the payments.
type PaymentList struct {
	All bool // void ones too
}

// PaymentList lists the payments, oldest first.
func (room *Room) PaymentList(ctx context.Context, r PaymentList) (answer.PaymentList, error) {
	out := answer.PaymentList{Payments: []answer.PaymentRow{}}
	err := room.desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.Head, err = room.desk.ListHead(ctx, tx, "Payments"); err != nil {
			return err
		}
		void, err := tx.Reversals(ctx)
		if err != nil {
			return err
		}
		rows, err := tx.Rows(ctx, book.KindPayment, store.RowFilter{})
		if err != nil {
			return err
		}
		for _, row := range rows {
			p, err := store.Get[book.Payment](ctx, tx, row.Key)
			if err != nil {
				return err
			}
			if gone := void[row.Since] != ""; r.All || !gone {
				out.Payments = append(out.Payments, answer.PaymentRow{Payment: p, Void: gone})
			}
		}
		return nil
	})
	return out, err
}
