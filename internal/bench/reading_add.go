package bench

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// AddReadingRequest is one reading of a stone of a lot.
type AddReadingRequest struct {
	desk.Write
	Reading book.Reading
}

// AddReading writes one reading.
func (room *Room) AddReading(ctx context.Context, req AddReadingRequest) (answer.ReadingAdded, error) {
	r := req.Reading
	err := room.desk.Update(ctx, req.Write, func(tx store.Tx, s desk.Stamp) error {
		lot, err := desk.LotNamed(ctx, tx, r.Lot)
		if err != nil {
			return err
		}
		r.Lot = lot.Code
		if r.On == "" {
			r.On = s.On
		}
		if r.Observer == "" {
			r.Observer = s.Who
		}
		if _, faults := observations(lot, []book.Reading{r}); faults.Blocks() {
			return faults
		}
		if r.Number, err = tx.Next(ctx, string(book.KindReading)); err != nil {
			return err
		}
		e := s.Entry(ledger.Record, "reading of "+lot.Code)
		e.Records = []book.Record{r}
		return tx.Post(ctx, &e)
	})
	return answer.ReadingAdded{Reading: r}, err
}
