package stockroom

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// MemoList asks for the memos.
type MemoList struct {
	desk.AsOf
	All bool // also the closed ones and those that are void
}

// MemoList lists the memos, what is overdue first, with what is out by party at
// the memos' prices. Of a past moment, what a memo said then counts.
func (room *Room) MemoList(ctx context.Context, r MemoList) (answer.Memos, error) {
	out := answer.Memos{Memos: []answer.Memo{}}
	err := room.desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.Head, err = room.desk.ListHead(ctx, tx, "Memos"); err != nil {
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
		reversed, err := tx.Reversals(ctx)
		if err != nil {
			return err
		}
		rows, err := tx.Rows(ctx, book.KindMemo, store.RowFilter{})
		if err != nil {
			return err
		}
		for _, row := range rows {
			had, err := then.Has(ctx, tx, row.Since)
			if err != nil {
				return err
			}
			if !had {
				continue
			}
			memo, err := desk.Then[book.Memo](ctx, tx, then, row)
			if err != nil {
				return err
			}
			void := reversed[row.Since] != ""
			if void {
				if void, err = then.Has(ctx, tx, reversed[row.Since]); err != nil {
					return err
				}
			}
			m, err := memoAnswer(ctx, tx, then, memo, void, room.desk.Today(tx, then.Day()))
			if err != nil {
				return err
			}
			m.Party = parties.Of(m.Party)
			if r.All || m.State == "out" {
				out.Memos = append(out.Memos, m)
			}
		}
		out.Sum(num.Zero(tx.Meta().Currency))
		return nil
	})
	return out, err
}
