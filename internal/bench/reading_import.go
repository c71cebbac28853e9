package bench

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/intake"
	"lotpaper/internal/sheet"
	"lotpaper/internal/store"
)

// ReadingImport asks to keep the readings of a file.
type ReadingImport struct {
	desk.Write
	File desk.Input
}

// ReadingImport writes the readings of a file; each must name a lot of the
// book.
func (room *Room) ReadingImport(ctx context.Context, r ReadingImport) (answer.Imported, error) {
	var next int64
	lots := map[string]book.Lot{}
	return desk.ImportRows(ctx, room.desk, r.Write, r.File, "readings",
		func(tx store.ReadTx, f *sheet.File) ([]intake.Reading, fault.List) {
			return intake.ReadReadings(f, room.desk.Today(tx, r.On))
		},
		func(tx store.Tx, i int, row intake.Reading) (book.Record, *fault.Fault, error) {
			if i == 0 {
				var err error
				if next, err = tx.Next(ctx, string(book.KindReading)); err != nil {
					return nil, nil, err
				}
			}
			if row.Lot == "" { // the file's fault is in the list already
				return row.Reading, nil, nil
			}
			lot, known := lots[row.Lot]
			if !known {
				var err error
				lot, err = desk.StonesNamed(ctx, tx, row.Lot)
				if unknown, err := desk.OfRow(err, row.Where); unknown != nil || err != nil {
					return nil, unknown, err
				}
				lots[row.Lot] = lot
			}
			for _, f := range unknownSigns(row.Reading) {
				where := row.Where
				where.Header = "result"
				return nil, f.At(where), nil
			}
			reading := row.Reading
			reading.Lot, reading.Number = lot.Code, next+int64(i)
			return reading, nil, nil
		})
}
