package stockroom

import (
	"context"
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/intake"
	"lotpaper/internal/store"
)

// OrderReturn asks to book what came back of an order by the sheet that the
// cutter filled in.
type OrderReturn struct {
	desk.Write
	Number string
	File   desk.Input
	Accept string
}

// OrderReturn reads the sheet Return of a cutter's workbook and books every
// lot of it, all or none. What the cutter supplied from own material is bought
// like any parcel: it is named in a warning.
func (room *Room) OrderReturn(ctx context.Context, r OrderReturn) (answer.OrderReturned, error) {
	out := answer.OrderReturned{Received: []answer.OrderReceived{}, Warnings: fault.List{}}
	f, faults := r.File.Open()
	if faults.Blocks() {
		return out, faults
	}
	rows, faults := intake.ReadReturn(f)
	if faults.Blocks() {
		return out, faults
	}
	if len(rows) == 0 {
		return out, fault.New(fault.Invalid, "return-empty", "no line of the order is filled in",
			"enter what came back: cut pieces and their weight, broken pieces, what is uncut").At(fault.Where{
			File: r.File.Name, Sheet: "Return"})
	}
	out.Warnings = append(out.Warnings, faults...)
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		o, err := sentOrder(ctx, tx, r.Number)
		if err != nil {
			return err
		}
		out.Received = out.Received[:0]
		var l fault.List
		for i, row := range rows {
			if row.Lot == "" {
				out.Warnings = append(out.Warnings, fault.New(fault.Invalid, "return-bought",
					fmt.Sprintf("item %s: %d stones of the cutter's own material came", row.Item, row.Pieces),
					"buy them").At(fault.Where{File: r.File.Name, Row: row.Row}).Do("parcel", "import").AsWarning())
				continue
			}
			one := OrderReceive{
				Number: r.Number, Lot: row.Lot, Pieces: row.Pieces, Carats: row.Carats, Broken: row.Broken,
				Uncut: Moving{row.Lot, row.UncutPieces, row.UncutCarats},
				Shape: shapeOf(o, row.Item), Length: row.Length, Width: row.Width, Depth: row.Depth, Accept: r.Accept,
				Remarks: row.Remarks, Last: i == len(rows)-1,
			}
			done, err := receive(ctx, tx, s, o, one)
			if bad, ok := fault.From(err); ok {
				for _, f := range bad {
					l.Add(f.At(fault.Where{File: r.File.Name, Row: row.Row, Ref: row.Lot}))
				}
				continue
			}
			if err != nil {
				return err
			}
			o = done.Order
			out.Received = append(out.Received, done)
		}
		out.Order = o
		return l.Err()
	})
	return out, err
}
