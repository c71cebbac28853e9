package stockroom_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/testkit/books"
)

// topazOrder is an order of nine oval topazes of 7 x 5 mm, sent to K with the lots
// that are named.
func topazOrder(t *testing.T, a *house.House, lots ...string) answer.OrderSent {
	t.Helper()
	drafted, err := a.Stockroom.OrderDraft(t.Context(), stockroom.OrderDraft{Write: books.Who, Cutter: "K",
		Items: []stockroom.OrderItem{{Material: "topaz", Shape: "oval", Length: 700, Width: 500, Count: 10}}})
	if err != nil {
		t.Fatal(err)
	}
	r := stockroom.OrderSend{Movement: books.Moving, Number: drafted.Orders[0].Number}
	for _, lot := range lots {
		r.Lots = append(r.Lots, stockroom.Supplying{Moving: stockroom.Moving{Lot: lot}})
	}
	sent, err := a.Stockroom.OrderSend(t.Context(), r)
	if err != nil {
		t.Fatal(err)
	}
	return sent
}

// filled is the workbook of an order with cells of its sheet Return filled in, in
// the line under the header; cells go by the beginning of their header.
func filled(t *testing.T, doc answer.DocumentFile, cells map[string]any) *desk.Input {
	t.Helper()
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
			if at < 0 && strings.HasPrefix(strings.ToLower(strings.ReplaceAll(h, "\n", " ")), header) {
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
	return &desk.Input{Reader: bytes.NewReader(b.Bytes()), Size: int64(b.Len()), Name: doc.File}
}

// placed fails unless the first fault has the code and stands in the column of the
// sheet Return.
func placed(t *testing.T, err error, code, column string) {
	t.Helper()
	l, ok := fault.From(err)
	if !ok || l[0].Code != code || l[0].Where.Sheet != "Return" || l[0].Where.Column != column || l[0].Where.Row != 2 {
		t.Errorf("%v, want the fault %s in column %s of the sheet Return", err, code, column)
	}
}

// The order's own workbook, filled in by the cutter, is what comes back. What was
// read is not read again, neither as it was nor with other numbers, until its entry
// was reversed; a sheet of another order is refused.
func TestOrderReceive_OwnWorkbook(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, "lot,species,shape,pieces,weight_ct,price,price_basis\nA,topaz,oval,10,20.00,100,total\n"+
		"B,topaz,oval,10,20.00,100,total\n")
	ctx := t.Context()
	sent := topazOrder(t, a, "A")
	other := topazOrder(t, a, "B")
	receive := func(doc answer.DocumentFile, cells map[string]any) (answer.OrderReceived, error) {
		return a.Stockroom.OrderReceive(ctx, stockroom.OrderReceive{Movement: books.Moving, Number: sent.Order.Number,
			File: filled(t, doc, cells)})
	}
	all := map[string]any{"cut pieces": 9, "cut (ct)": 9.0, "broken": 1, "length": "6.95-7.05", "width": "5.00",
		"depth": "3.35"}
	with := func(header string, v any) map[string]any {
		out := map[string]any{header: v}
		for k, x := range all {
			if k != header {
				out[k] = x
			}
		}
		return out
	}
	_, err := receive(sent.Document, with("cut (ct)", 25.0))
	placed(t, err, "return-heavier", "J")
	_, err = receive(other.Document, all)
	placed(t, err, "return-other", "A")
	_, err = receive(sent.Document, with("batch", ""))
	placed(t, err, "return-batch", "B")
	_, err = receive(sent.Document, with("length", "7.5"))
	placed(t, err, "receive-size", "K")
	_, err = receive(sent.Document, with("depth", "2.50"))
	placed(t, err, "receive-depth", "M")
	_, err = receive(sent.Document, with("cut (ct)", 15.0)) // 1.67 ct each, of 7 x 5 x 3.35 mm
	placed(t, err, "receive-weight", "J")
	_, err = receive(sent.Document, with("material", "beryl"))
	placed(t, err, "receive-material", "V")
	_, err = receive(sent.Document, with("item", "C"))
	placed(t, err, "return-item", "C")

	done, err := receive(sent.Document, all)
	if err != nil {
		t.Fatal(err)
	}
	if len(done.Lots) != 1 || done.Order.State != "received" || done.Batch.RecordKey() != "O1/1" ||
		done.Document.Number != "RECEIPT-2026-0001" {
		t.Fatalf("received %+v", done)
	}
	cut := books.Stock(t, a)[done.Lots[0]]
	if cut.Pieces != 9 || cut.Carats != 9000 || cut.Cost.String() != "100.00" || cut.Shape != "oval" ||
		cut.Length != (book.Size{Min: 695, Max: 705}) {
		t.Errorf("cut stones %+v", cut)
	}
	_, err = receive(sent.Document, all)
	placed(t, err, "return-twice", "B")
	_, err = receive(sent.Document, with("broken", 2))
	placed(t, err, "return-changed", "P")
	if _, err := a.Stockroom.LedgerReverse(ctx, stockroom.LedgerReverse{Write: books.Who,
		Entry: done.Entry}); err != nil {
		t.Fatal(err)
	}
	shown, err := a.Stockroom.OrderShow(ctx, stockroom.OrderShow{Number: "O1"})
	if err != nil || shown.Orders[0].State != "sent" || len(shown.Orders[0].Out) != 1 || shown.Cutters[0].Stones != 0 {
		t.Errorf("after the reversal %+v, %v", shown, err)
	}
	again, err := receive(sent.Document, all)
	if err != nil || again.Batch.Number != 2 || again.Batch.Sheet != 1 || again.Document.Number != "RECEIPT-2026-0002" {
		t.Errorf("the sheet again: batch %+v, %v", again.Batch, err)
	}
	books.Sound(t, a)
}

// A lot comes back in three batches: each takes its cost by carats, and together
// they take all of it.
func TestOrderReceive_ThreeBatches(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, "lot,species,shape,pieces,weight_ct,price,price_basis\nA,topaz,rough,7,21.00,100,total\n")
	ctx := t.Context()
	sent := topazOrder(t, a, "A")
	receive := func(c stockroom.Came) answer.OrderReceived {
		t.Helper()
		c.Lot, c.Item = "A", "A"
		accepted := books.Moving
		accepted.Accept = "the rough was cracked"
		done, err := a.Stockroom.OrderReceive(ctx, stockroom.OrderReceive{Movement: accepted,
			Number: sent.Order.Number, Came: []stockroom.Came{c}})
		if err != nil {
			t.Fatal(err)
		}
		books.Sound(t, a)
		return done
	}
	out := func(d answer.OrderReceived, pieces int64, carats num.Carat, cost string) {
		t.Helper()
		lot := books.Stock(t, a)["A"]
		if lot.Pieces != pieces || lot.Carats != carats || lot.Cost.String() != cost {
			t.Errorf("A has %d pieces, %s ct, %s; want %d, %s, %s", lot.Pieces, lot.Carats, lot.Cost, pieces,
				carats, cost)
		}
	}
	made := func(d answer.OrderReceived, i int, cost string) {
		t.Helper()
		if lot := books.Stock(t, a)[d.Lots[i]]; lot.Cost.String() != cost {
			t.Errorf("%s costs %s, want %s", lot.Code, lot.Cost, cost)
		}
	}
	// Two pieces at the mean weight of 3 ct: 6 of 21 ct, 100 x 6/21 = 28.571...
	first := receive(stockroom.Came{Weighed: book.Weighed{Pieces: 2, Carats: 2000}})
	made(first, 0, "28.57")
	out(first, 5, 15000, "71.43")
	if first.Order.State != "sent" {
		t.Errorf("after the first batch the order is %s", first.Order.State)
	}
	// Two stones of one piece that weighed 4.2 ct. Of it 0.5 ct are left over, a lot of
	// its own without cost: what was cut and what is still out carry the cost, 3.7 of
	// 14.5 ct, 71.43 x 3.7/14.5 = 18.2269...
	second := receive(stockroom.Came{Weighed: book.Weighed{Pieces: 2, Carats: 1900},
		From: book.Weighed{Pieces: 1, Carats: 4200}, Rough: book.Weighed{Pieces: 1, Carats: 500}})
	made(second, 0, "18.23")
	made(second, 1, "0.00")
	out(second, 4, 10800, "53.20")
	third := receive(stockroom.Came{Weighed: book.Weighed{Pieces: 2, Carats: 2100}, Broken: 1,
		Uncut: book.Weighed{Pieces: 1, Carats: 2600}, Chips: 300})
	if third.Order.State != "received" {
		t.Errorf("after the last batch the order is %s", third.Order.State)
	}
	total := num.Zero("EUR")
	for _, lot := range books.Stock(t, a) {
		total = total.Add(lot.Cost)
	}
	if total.String() != "100.00" {
		t.Errorf("all together cost %s, want 100.00", total)
	}
	shown, err := a.Stockroom.OrderShow(ctx, stockroom.OrderShow{Number: sent.Order.Number})
	if err != nil || len(shown.Orders[0].Batches) != 3 || shown.Orders[0].Came[0].Pieces != 6 {
		t.Errorf("shown %+v, %v", shown, err)
	}
}

// A receipt of nothing writes no batch: once it wrote an empty one, and after a first
// batch it panicked.
func TestOrderReceive_Nothing(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, "lot,species,shape,pieces,weight_ct,price,price_basis\nA,topaz,rough,7,21.00,100,total\n")
	ctx := t.Context()
	sent := topazOrder(t, a, "A")
	receive := func(came ...stockroom.Came) error {
		_, err := a.Stockroom.OrderReceive(ctx, stockroom.OrderReceive{Movement: books.Moving,
			Number: sent.Order.Number, Came: came})
		return err
	}
	books.Refused(t, receive(), "receive-nothing")
	if err := receive(stockroom.Came{Lot: "A", Uncut: book.Weighed{Pieces: 1, Carats: 3000}}); err != nil {
		t.Fatal(err)
	}
	books.Refused(t, receive(), "receive-nothing")
}
