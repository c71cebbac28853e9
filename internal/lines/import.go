package lines

import (
	"context"
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/intake"
	"lotpaper/internal/ledger"
	"lotpaper/internal/sheet"
	"lotpaper/internal/store"
)

// Import asks for the designs of a line and their positions to be read.
type Import struct {
	desk.Write
	Line      string
	Designs   desk.Input
	Positions *desk.Input // nil: both stand in one workbook
}

// Import reads the designs of a line and their positions.
func (room *Room) Import(ctx context.Context, r Import) (answer.Imported, error) {
	out := answer.Imported{What: "designs", Warnings: fault.List{}}
	f, faults := r.Designs.Open()
	if faults.Blocks() {
		return out, faults
	}
	var second *sheet.File
	if r.Positions != nil {
		if second, faults = r.Positions.Open(); faults.Blocks() {
			return out, faults
		}
	}
	var line intake.Line
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		line, faults = intake.ReadLine(f, second, r.Line, tx.Meta().Currency)
		return faults.Err()
	})
	if err != nil {
		return out, err
	}
	out.Warnings = append(out.Warnings, faults...)
	err = room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		e := s.Entry(ledger.Record, "the line "+r.Line+" from "+r.Designs.Name)
		l := book.Line{Name: r.Line, On: s.On, Source: r.Designs.Name}
		for i, d := range line.Designs {
			for j := range d.Positions {
				if d.Positions[j].Name == "" {
					d.Positions[j].Name = fmt.Sprintf("position %d", j+1)
				}
			}
			l.Designs = append(l.Designs, d.Name)
			e.Records = append(e.Records, line.Designs[i])
		}
		e.Records = append(e.Records, l)
		if err := tx.Post(ctx, &e); err != nil {
			return err
		}
		out.Entry, out.Rows = e.Code, len(line.Designs)
		return nil
	})
	return out, err
}
