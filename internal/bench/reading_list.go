package bench

import (
	"context"

	"lotpaper/internal/answer"
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
		lot, err := desk.StockOf(ctx, tx, r.Lot)
		if err != nil {
			return err
		}
		out.Lot = lot.Code
		if out.Head, err = room.desk.ListHead(ctx, tx, "Readings of "+lot.Code); err != nil {
			return err
		}
		index, err := stockReadings(ctx, tx, lot)
		if err != nil {
			return err
		}
		about := index.about(lot.Lot)
		no := index.discounted(about)
		for _, reading := range about {
			why := no[reading.RecordKey()].words()
			out.Readings = append(out.Readings, answer.ReadingRow{Reading: reading, Counts: why == "", Why: why})
		}
		return nil
	})
	return out, err
}
