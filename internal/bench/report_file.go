package bench

import (
	"context"
	"errors"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/store"
)

// ReportFile asks for the file of a laboratory's report.
type ReportFile struct{ Lab, Number string }

// ReportFile returns a report with the bytes of its file, as they were kept.
func (room *Room) ReportFile(ctx context.Context, r ReportFile) (answer.ReportFile, error) {
	var out answer.ReportFile
	err := room.desk.View(ctx, func(tx store.ReadTx) (err error) {
		key := book.Report{Lab: r.Lab, Number: r.Number}.RecordKey()
		if out.Report, err = desk.Named[book.Report](ctx, tx, key); err != nil {
			return err
		}
		out.Bytes, err = tx.File(ctx, out.Report.SHA256)
		if errors.Is(err, store.ErrNotFound) {
			err = fault.New(fault.NotFound, "report-no-file", "the book has report "+key+" without its file",
				"ask the laboratory for it").AtRef(key)
		}
		return err
	})
	return out, err
}
