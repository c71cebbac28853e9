package bench

import (
	"cmp"
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// ReadingAdd asks to keep one reading of a stone of a lot.
type ReadingAdd struct {
	desk.Write
	Reading book.Reading
}

// ReadingAdd writes one reading.
func (room *Room) ReadingAdd(ctx context.Context, r ReadingAdd) (answer.ReadingAdded, error) {
	reading := r.Reading
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		lot, err := desk.StonesNamed(ctx, tx, reading.Lot)
		if err != nil {
			return err
		}
		reading.Lot = lot.Code
		reading.On = cmp.Or(reading.On, s.On)
		reading.Observer = cmp.Or(reading.Observer, s.Who)
		if _, faults := observations(lot, []book.Reading{reading}); faults.Blocks() {
			return faults
		}
		if faults := unknownSigns(reading); faults.Blocks() {
			for i, f := range faults {
				faults[i] = f.At(fault.Where{Ref: lot.Code, Field: "result"})
			}
			return faults
		}
		if reading.Number, err = tx.Next(ctx, string(book.KindReading)); err != nil {
			return err
		}
		e := s.Entry(ledger.Record, "reading of "+lot.Code)
		e.Records = []book.Record{reading}
		return tx.Post(ctx, &e)
	})
	return answer.ReadingAdded{Reading: reading}, err
}
