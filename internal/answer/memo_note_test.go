package answer

import (
	"strings"
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

func sampleMemoNote() *MemoNote {
	h := sampleHead
	h.Number, h.Title = "MEMO-2026-0001", "Memo M1 to =A Customer"
	value := func(s string) *num.Money { m := eur(s); return &m }
	price := func(s string, b book.LineBasis) *book.AskedPrice {
		return &book.AskedPrice{Amount: num.UnitPrice{Money: eur(s)}, Basis: b}
	}
	stone := func(lot, name string, pieces int64, carats num.Carat) PaperStone {
		return PaperStone{Lot: lot, Name: name, Treatment: "not known", Shape: "oval", Size: "8.00 x 6.00",
			Pieces: pieces, Carats: carats, Weight: carats.Stated(h.Carats)}
	}
	return &MemoNote{Head: h, Memo: "M1", Party: "=A Customer", Addressee: sampleAddressee, Due: "2026-04-30",
		Terms:         "30 days net",
		PriceCurrency: "EUR", Lines: []MemoNoteLine{
			{stone("A1", "sapphire", 2, 2349), price("120", book.LinePerCarat), value("281.88")},
			{stone("A2", "amethyst", 3, 3100), price("60", book.LinePerPiece), value("180.00")},
			{stone("A3", "topaz", 1, 1000), price("250", book.LineTotal), value("250.00")}}}
}

func sampleReceipt() *Receipt {
	h := sampleHead
	h.Number, h.Title = "RECEIPT-2026-0001", "Receipt for M1, batch 2"
	n, owed := sampleMemoNote(), eur("180")
	return &Receipt{Head: h, Way: TakenBack, Party: n.Party, Paper: "M1", Batch: 2, Accepted: "=chipped",
		Lines: []ReceiptStone{{PaperStone: n.Lines[0].PaperStone, Outcome: "accepted"},
			{PaperStone: n.Lines[1].PaperStone, Outcome: "missing", Owed: &owed}},
		Still: []PaperStone{n.Lines[2].PaperStone}}
}

// A memo note and a receipt are for the party: they say nothing of the book, and a
// note with a stone without a price adds up nothing.
func TestMemoNote_ForTheParty(t *testing.T) {
	unpriced := sampleMemoNote()
	unpriced.Lines[1].Price, unpriced.Lines[1].Value = nil, nil
	for name, c := range map[string]struct {
		make func() (*sheet.Workbook, error)
		has  string
	}{
		"note":     {sampleMemoNote().Workbook, "120.00 per carat"},
		"unpriced": {unpriced.Workbook, "see the lines"},
		"receipt":  {sampleReceipt().Workbook, "Still out on M1"},
	} {
		b, err := c.make()
		if err != nil {
			t.Fatal(err)
		}
		words := ""
		for _, row := range b.Sheets[0].Rows {
			for _, cell := range row {
				words += cell.String() + "\n"
			}
		}
		words += strings.Join(b.Sheets[0].Notes, "\n")
		if !strings.Contains(words, c.has) {
			t.Errorf("the %s does not say %q: %s", name, c.has, words)
		}
		for _, bad := range []string{"head hash", "Cost", "Vendor", "Lender"} {
			if strings.Contains(words, bad) {
				t.Errorf("the %s says %q", name, bad)
			}
		}
	}
}
