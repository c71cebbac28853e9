package app

import (
	"context"
	"fmt"

	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// OrderNew asks for an order that no plan calls for: a recut, or rough to cut.
type OrderNew struct {
	Write
	Cutter string
	Due    book.Date
	Lines  []book.OrderLine
	Note   string
}

// OrderNew drafts an order by hand.
func (a *App) OrderNew(ctx context.Context, r OrderNew) (book.Order, error) {
	var out book.Order
	if f := book.CheckName("a cutter", r.Cutter); f != nil {
		return out, f.AtFlag("cutter")
	}
	err := a.update(ctx, r.Write, func(tx store.Tx, s stamp) error {
		n, err := tx.Next(ctx, string(book.KindOrder))
		if err != nil {
			return err
		}
		out = book.Order{Number: fmt.Sprintf("O%d", n), Cutter: r.Cutter, State: "draft", On: s.on, Due: r.Due, Lines: r.Lines, Breakage: breakageTerms, Note: r.Note}
		if out.Lines == nil {
			out.Lines = []book.OrderLine{}
		}
		e := s.entry(ledger.Record, "drafted the cutter order "+out.Number)
		e.Records = []book.Record{out}
		return tx.Post(ctx, &e)
	})
	return out, err
}
