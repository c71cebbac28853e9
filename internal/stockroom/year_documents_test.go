package stockroom_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"

	"github.com/xuri/excelize/v2"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/store"
)

// readDocuments writes every issued document again: the bytes that were issued, a
// workbook that our reader opens, and a model that is JSON. The last of each kind is
// drawn as a PDF file too, when it has that form.
func (d *dealer) readDocuments() int {
	var docs []book.Document
	err := d.store.View(d.ctx, func(tx store.ReadTx) error {
		return store.Each(d.ctx, tx, store.RowFilter{}, func(doc book.Document) error {
			docs = append(docs, doc)
			return nil
		})
	})
	if err != nil {
		d.Fatal(err)
	}
	last := map[string]string{}
	for _, doc := range docs {
		written, err := d.house.Desk.DocumentFile(d.ctx, desk.DocumentFile{Number: doc.Number})
		if err != nil {
			d.Fatal(err)
		}
		if sum := sha256.Sum256(written.Bytes); hex.EncodeToString(sum[:]) != doc.SHA256 {
			d.Fatalf("%s is written with other bytes than it was issued with", doc.Number)
		}
		f, faults := sheet.Open(bytes.NewReader(written.Bytes), int64(len(written.Bytes)), doc.File, sheet.Options{})
		if faults.Blocks() || len(f.Sheets()) == 0 {
			d.Fatalf("%s cannot be read: %v", doc.Number, faults)
		}
		if !json.Valid(doc.Model) {
			d.Fatalf("the model of %s is no JSON", doc.Number)
		}
		last[doc.Kind] = doc.Number
	}
	for _, number := range last {
		pdf, err := d.house.Desk.DocumentFile(d.ctx, desk.DocumentFile{Number: number, Form: desk.PDF})
		if l, known := fault.From(err); known && l[0].Code == "document-no-pdf" {
			continue
		}
		if err != nil || !bytes.HasPrefix(pdf.Bytes, []byte("%PDF-")) {
			d.Fatalf("%s is no PDF file: %v", number, err)
		}
	}
	return len(docs)
}

// count issues a count sheet of a safe, fills it in, with some stones missing, some
// found and some weights a little off, and books what differs.
func (d *dealer) count(safe string) {
	issued, err := d.house.Stockroom.StockCountSheet(d.ctx, stockroom.StockCountSheet{Write: d.write,
		Place: book.Place(safe)})
	if err != nil {
		d.Fatal(err)
	}
	file, err := excelize.OpenReader(bytes.NewReader(issued.Document.Bytes))
	if err != nil {
		d.Fatal(err)
	}
	defer file.Close()
	rows, err := file.GetRows("Count")
	if err != nil {
		d.Fatal(err)
	}
	type found struct {
		lot            string
		pieces, carats int64
	}
	var counted []found
	on := map[string]bool{}
	for i, row := range rows {
		if len(row) < 6 || row[3] != safe {
			continue
		}
		here := d.naive.at[row[0]][safe]
		x := found{row[0], here.pieces, here.carats}
		on[x.lot] = true
		if fmt.Sprintf("%s %s", row[4], row[5]) != fmt.Sprintf("%d %s", here.pieces, num.Carat(here.carats)) {
			d.Fatalf("the sheet of %s says %v, want %v", safe, row, here)
		}
		mean := here.carats / here.pieces
		switch free := d.naive.free(x.lot, safe, ""); d.draw("found", 0, 11) {
		case 0:
			if free >= here.pieces {
				x.pieces, x.carats = here.pieces-1, here.carats-mean
			}
		case 1:
			if here.pieces > 1 && mean > 0 {
				x.pieces, x.carats = here.pieces+1, here.carats+mean
			}
		case 2:
			if here.carats > 1000 {
				x.carats = here.carats - 80 // over the tolerance of a count
			}
		}
		if x.pieces == 0 {
			x.carats = 0
		}
		counted = append(counted, x)
		values := []any{x.pieces}
		if x.carats > 0 {
			values = append(values, num.Carat(x.carats).String())
		}
		if err := file.SetSheetRow("Count", fmt.Sprintf("G%d", i+1), &values); err != nil {
			d.Fatal(err)
		}
	}
	for _, lot := range d.naive.lying(safe) {
		if !on[lot] {
			d.Fatalf("%s lies in %s, but its count sheet leaves it out", lot, safe)
		}
	}
	filled, err := file.WriteToBuffer()
	if err != nil {
		d.Fatal(err)
	}
	m := stockroom.Movement{Write: d.write, Accept: "counted twice"}
	m.Reason, d.naive.whom = "the count of the month", ""
	done, err := d.house.Stockroom.StockCount(d.ctx, stockroom.StockCount{Movement: m, Post: true,
		File: desk.Input{Reader: bytes.NewReader(filled.Bytes()), Size: int64(filled.Len()), Name: "count.xlsx"}})
	if err != nil {
		d.Fatal(err)
	}
	if len(done.Missing) > 0 || done.Counted != len(counted) {
		d.Fatalf("%d of %d lots in %s were counted, and %v were not", done.Counted, len(counted), safe, done.Missing)
	}
	if done.Moved == nil {
		return
	}
	d.naive.change(done.Moved.Entry, func() {
		for _, x := range counted {
			here := d.naive.at[x.lot][safe]
			lost := part{here.pieces - x.pieces, here.carats - x.carats, false, "loss/count"}
			switch {
			case lost.pieces > 0 && here.carats == 0:
				d.naive.away(x.lot, safe, "loss/count")
			case lost.pieces > 0:
				d.naive.leave(x.lot, safe, lost)
			case lost.pieces < 0:
				d.naive.add(x.lot, safe, sum{-lost.pieces, -lost.carats, 0})
				d.naive.add(x.lot, "loss/count", sum{lost.pieces, lost.carats, 0})
			case lost.carats != 0:
				d.naive.weigh(x.lot, safe, lost.carats)
			}
		}
	})
	d.entries = append(d.entries, done.Moved.Entry)
	d.counts++
}
