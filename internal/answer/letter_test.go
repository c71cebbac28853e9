package answer

import (
	"strings"
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	paper "lotpaper/internal/page"
	"lotpaper/internal/pdf"
)

// sampleHouse is the house on its letters, with a term of each kind.
var sampleHouse = book.House{Trade: "gemstones and jewelry lines", Address: []string{"14 Harbour Steps",
	"2380 Sandmouth"},
	Telephone: "+00 20 555 01 40", Email: "office@tideandquill.example", TaxNumber: "VAT XX 000 123 456",
	Bank: "Bank of Sandmouth, IBAN XX00 0000", Signs: "Ines Rook", Payment: "No deduction",
	Returns: "Unworn within 14 days", Insurance: "The receiver, on receipt", Smallest: num.Int(0), Paper: "A4",
	Accent: "110/30/60", Dates: "day"}

// letters are the papers for readers outside, as they are laid out.
func letters() map[string]func(book.House) *paper.Paper {
	return map[string]func(book.House) *paper.Paper{
		"memo":      func(h book.House) *paper.Paper { v := sampleMemoNote(); v.House = h; return v.Layout() },
		"invoice":   func(h book.House) *paper.Paper { v := sampleInvoice(); v.House = h; return v.Layout() },
		"receipt":   func(h book.House) *paper.Paper { v := sampleReceipt(); v.House = h; return v.Layout() },
		"statement": func(h book.House) *paper.Paper { v := sampleStatement(); v.House = h; return v.Layout() },
		"credit": func(h book.House) *paper.Paper {
			v := sampleInvoice()
			v.House, v.Of, v.Due = h, "INVOICE-2026-0001", ""
			return v.Layout()
		},
	}
}

// Each letter fits one sheet in both sizes, and says what it is kept to say, in the
// order in which it is read.
func TestLetters(t *testing.T) {
	for name, laid := range letters() {
		for _, size := range []string{"A4", "Letter"} {
			h := sampleHouse
			h.Paper = size
			sheets, err := pdf.Sheets(laid(h))
			if err != nil || len(sheets) != 1 {
				t.Errorf("%s in %s: %d sheets, %v", name, size, len(sheets), err)
				continue
			}
			if size == "A4" {
				var lines []string
				for _, w := range sheets[0].Words {
					lines = append(lines, w.Words)
				}
				golden(t, name+".paper.txt", strings.Join(lines, "\n")+"\n")
			}
		}
	}
}

// No default promises anything: a house that has set no term prints none, and a
// letter of a house without name or address is still a letter.
func TestLetters_UnsetTerms(t *testing.T) {
	for name, laid := range letters() {
		sheets, err := pdf.Sheets(laid(book.House{Paper: "A4", Accent: "18/82/92", Dates: "day"}))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for _, w := range sheets[0].Words {
			for _, term := range []string{"Insurance", "Returns", "Pay to"} {
				if w.Words == term {
					t.Errorf("%s says %q of a house that has set no such term", name, term)
				}
			}
		}
	}
}
