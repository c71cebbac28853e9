package stockroom_test

import (
	"bytes"
	"fmt"
	"slices"

	"github.com/xuri/excelize/v2"

	"lotpaper/internal/answer"
	"lotpaper/internal/desk"
)

// workbook is the order's own workbook, from the bytes that were issued, with the
// sheet Return filled in by the cutter: each lot in the line that was prepared for it.
func (b *orderBatch) workbook(batch int64) *desk.Input {
	doc, err := b.house.Desk.DocumentFile(b.ctx, desk.DocumentFile{Number: b.order.document})
	if err != nil {
		b.Fatal(err)
	}
	file, err := excelize.OpenReader(bytes.NewReader(doc.Bytes))
	if err != nil {
		b.Fatal(err)
	}
	defer file.Close()
	rows, err := file.GetRows(answer.ReturnSheet)
	if err != nil {
		b.Fatal(err)
	}
	set := func(column string, row int, value any) {
		at := slices.Index(answer.ReturnHeaders, column)
		name, err := excelize.CoordinatesToCellName(at+1, row)
		if err == nil {
			err = file.SetCellValue(answer.ReturnSheet, name, value)
		}
		if err != nil {
			b.Fatal(err)
		}
	}
	for i, c := range b.cuts {
		line := slices.IndexFunc(rows, func(row []string) bool { return len(row) > 3 && row[3] == b.of[i] })
		if line < 0 || rows[line][0] != b.number {
			b.Fatalf("the sheet of %s has no line for %s: %q", b.number, b.of[i], rows)
		}
		set("Batch", line+1, batch)
		for column, value := range map[string]int64{"Cut pieces": c.accepted.Pieces, "From pieces": c.from.Pieces,
			"Broken pieces": c.broken, "Uncut pieces back": c.uncut.Pieces, "Rough pieces back": c.rough.Pieces} {
			if value > 0 {
				set(column, line+1, value)
			}
		}
		for column, value := range map[string]fmt.Stringer{"Cut (ct)": c.accepted.Carats, "From (ct)": c.from.Carats,
			"Uncut back (ct)": c.uncut.Carats, "Rough back (ct)": c.rough.Carats,
			"Powder and chips back (ct)": c.chips} {
			if value.String() != "0.000" {
				set(column, line+1, value.String())
			}
		}
	}
	filled, err := file.WriteToBuffer()
	if err != nil {
		b.Fatal(err)
	}
	return &desk.Input{Reader: bytes.NewReader(filled.Bytes()), Size: int64(filled.Len()), Name: doc.File}
}

// marks are the days that the book is read again as of: the first month's end, the
// one before the last, and the last.
func marks(ends []string) []string {
	if len(ends) < 3 {
		return ends
	}
	return []string{ends[0], ends[len(ends)-2], ends[len(ends)-1]}
}
