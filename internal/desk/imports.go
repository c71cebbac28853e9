package desk

import (
	"context"
	"slices"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/intake"
	"lotpaper/internal/ledger"
	"lotpaper/internal/sheet"
	"lotpaper/internal/store"
)

// ImportRows reads a file outside the write, then writes its records as one
// entry. check, when given, holds the records against the book.
func ImportRows[T any](ctx context.Context, a *Desk, w Write, in Input, reason string,
	read func(tx store.ReadTx, f *sheet.File) ([]T, fault.List),
	record func(tx store.Tx, i int, row T) (book.Record, *fault.Fault, error)) (answer.Imported, error) {
	out := answer.Imported{Warnings: fault.List{}}
	f, faults := in.Open()
	if faults.Blocks() {
		return out, faults
	}
	var rows []T
	err := a.View(ctx, func(tx store.ReadTx) error {
		rows, faults = read(tx, f)
		return nil
	})
	if err != nil {
		return out, err
	}
	out.Warnings = append(out.Warnings, faults...)
	err = a.Update(ctx, w, func(tx store.Tx, s Stamp) error {
		e := s.Entry(ledger.Record, reason)
		l := slices.Clone(faults) // what the book says against the rows comes with what the file says
		if !l.Blocks() {
			l = nil
		}
		for i, row := range rows {
			r, f, err := record(tx, i, row)
			if err != nil {
				return err
			}
			if f != nil {
				l.Add(f)
				continue
			}
			e.Records = append(e.Records, r)
		}
		if l.Blocks() {
			return l
		}
		if err := tx.Post(ctx, &e); err != nil {
			return err
		}
		out.Entry, out.Rows = e.Code, len(rows)
		return nil
	})
	return out, err
}

// RatesImport reads a rates sheet.
func (desk *Desk) RatesImport(ctx context.Context, w Write, in Input) (answer.Imported, error) {
	return ImportRows(ctx, desk, w, in, "rates from "+in.Name,
		func(tx store.ReadTx, f *sheet.File) ([]intake.Rate, fault.List) {
			return intake.ReadRates(f, tx.Meta().Currency)
		},
		func(_ store.Tx, _ int, row intake.Rate) (book.Record, *fault.Fault, error) { return row.Rate, nil, nil })
}

// PricesImport reads a price list.
func (desk *Desk) PricesImport(ctx context.Context, w Write, in Input) (answer.Imported, error) {
	return ImportRows(ctx, desk, w, in, "prices from "+in.Name,
		func(tx store.ReadTx, f *sheet.File) ([]intake.Price, fault.List) {
			return intake.ReadPrices(f, tx.Meta().Currency)
		},
		func(_ store.Tx, _ int, row intake.Price) (book.Record, *fault.Fault, error) {
			return row.Price, nil, nil
		})
}
