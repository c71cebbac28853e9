package bench

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/store"
)

// ReadingList asks for the readings of a lot's stones.
type ReadingList struct{ Lot string }

// ReadingList returns every reading of the stones that a lot has, in the order
// of the book, and says which of them count.
func (room *Room) ReadingList(ctx context.Context, r ReadingList) (answer.ReadingList, error) {
	out := answer.ReadingList{Readings: []answer.ReadingRow{}}
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		lot, err := desk.Named[book.Lot](ctx, tx, r.Lot)
		if err != nil {
			return err
		}
		out.Lot = lot.Code
		if out.Head, err = room.desk.ListHead(ctx, tx, "Readings of "+lot.Code); err != nil {
			return err
		}
		index, err := lotReadings(ctx, tx, lot)
		if err != nil {
			return err
		}
		for _, reading := range index.about(lot) {
			row := answer.ReadingRow{Reading: reading, Counts: true}
			if void, is := index.voids[reading.RecordKey()]; is {
				row.Counts, row.Why = false, "void, "+void.Reason
			}
			out.Readings = append(out.Readings, row)
		}
		return nil
	})
	return out, err
}
