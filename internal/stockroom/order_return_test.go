package stockroom_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/testkit/books"
)

// The order's own workbook, filled in by the cutter, is what comes back: its
// sheet Return books every lot that was sent.
func TestOrderReturn_OwnWorkbook(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, books.OneLot)
	ctx := t.Context()
	drafted, err := a.Stockroom.OrderDraft(ctx, stockroom.OrderDraft{Write: books.Who, Cutter: "K",
		Items: []stockroom.OrderItem{{Material: "topaz", Shape: "oval", Length: 700, Width: 500, Count: 9}}})
	if err != nil {
		t.Fatal(err)
	}
	o := drafted.Orders[0]
	sent, err := a.Stockroom.OrderSend(ctx, stockroom.OrderSend{Movement: books.Moving, Number: o.Number,
		Lots: []stockroom.Moving{{Lot: "A"}}})
	if err != nil {
		t.Fatal(err)
	}
	doc := sent.Document
	fill := func(cells map[string]any) desk.Input {
		f, err := excelize.OpenReader(bytes.NewReader(doc.Bytes))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		rows, err := f.GetRows("Return")
		if err != nil || len(rows) < 2 {
			t.Fatalf("sheet Return: %v, %v", rows, err)
		}
		for header, v := range cells {
			at := -1
			for i, h := range rows[0] {
				if strings.HasPrefix(strings.ToLower(strings.ReplaceAll(h, "\n", " ")), header) {
					at = i
				}
			}
			if at < 0 {
				t.Fatalf("no column %q in %q", header, rows[0])
			}
			name, _ := excelize.CoordinatesToCellName(at+1, 2)
			if err := f.SetCellValue("Return", name, v); err != nil {
				t.Fatal(err)
			}
		}
		var b bytes.Buffer
		if err := f.Write(&b); err != nil {
			t.Fatal(err)
		}
		return desk.Input{Reader: bytes.NewReader(b.Bytes()), Size: int64(b.Len()), Name: doc.File}
	}
	_, err = a.Stockroom.OrderReturn(ctx, stockroom.OrderReturn{Write: books.Who, Number: o.Number,
		File: fill(map[string]any{"cut pieces": 10, "cut (ct)": 25.0})})
	if fault.KindOf(err) != fault.Invalid {
		t.Errorf("more weight than was sent: %v", err)
	}
	done, err := a.Stockroom.OrderReturn(ctx, stockroom.OrderReturn{Write: books.Who, Number: o.Number,
		File: fill(map[string]any{"cut pieces": 9, "cut (ct)": 12.5, "broken": 1, "length": "6.95-7.05",
			"width": "5.00"})})
	if err != nil {
		t.Fatal(err)
	}
	if len(done.Received) != 1 || done.Order.State != "received" {
		t.Fatalf("received %+v", done)
	}
	cut := books.Stock(t, a)[done.Received[0].Lots[0]]
	if cut.Pieces != 9 || cut.Carats != 12500 || cut.Cost.String() != "100.00" || cut.Shape != "oval" ||
		cut.Length != (book.Size{Min: 695, Max: 705}) {
		t.Errorf("cut stones %+v", cut)
	}
	books.Sound(t, a)
}
