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

// LineImport reads the designs of a line and their positions. positions is nil
// when both stand in one workbook.
func (room *Room) LineImport(ctx context.Context, w desk.Write, name string, in desk.Input,
	positions *desk.Input) (answer.Imported, error) {
	out := answer.Imported{Warnings: fault.List{}}
	f, faults := in.Open()
	if faults.Blocks() {
		return out, faults
	}
	var second *sheet.File
	if positions != nil {
		if second, faults = positions.Open(); faults.Blocks() {
			return out, faults
		}
	}
	var line intake.Line
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		line, faults = intake.ReadLine(f, second, name, tx.Meta().Currency)
		return faults.Err()
	})
	if err != nil {
		return out, err
	}
	out.Warnings = append(out.Warnings, faults...)
	err = room.desk.Update(ctx, w, func(tx store.Tx, s desk.Stamp) error {
		e := s.Entry(ledger.Record, "the line "+name+" from "+in.Name)
		l := book.Line{Name: name, On: s.On, Source: in.Name}
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
