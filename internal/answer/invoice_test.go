package answer

import (
	"strings"
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

// sampleInvoice has a line per carat, one per piece, and two for one price:
// 2.345 x 350.55 = 822.04 (822.03975), 3 x 60.00 and 400.00 are 1,402.04; 23 % of
// it are 322.47 (322.4692).
func sampleInvoice() *Invoice {
	h := sampleHead
	h.Number, h.Title = "INVOICE-2026-0001", "Invoice"
	amount := func(s string) *num.Money { m := eur(s); return &m }
	price := func(s string) num.UnitPrice { return num.UnitPrice{Money: eur(s)} }
	return &Invoice{Head: h, Sale: "S1", Customer: "=A Customer", Addressee: sampleAddressee,
		Due: "2026-04-30", Terms: "30 days net", Billed: "EUR", Lines: []InvoiceLine{
			{"A1", "sapphire, oval", 2, ct("2.345"), book.LinePerCarat, price("350.55"), amount("822.04")},
			{"A2", "amethyst, round", 3, ct("3.100"), book.LinePerPiece, price("60"), amount("180.00")},
			{"A3", "topaz, pear", 1, ct("1.000"), book.LineTogether, price("250"), nil},
			{"A4", "topaz, pear", 1, ct("0.900"), book.LineTogether, price("150"), nil}},
		Together: amount("400"), Tax: &InvoiceTax{Rate: pct("23"), Amount: eur("322.47")}, Net: eur("1402.04"),
		Total: eur("1724.51"), Note: "with thanks"}
}

var sampleAddressee = AddresseeOf(book.Party{Address: "1 High Street\nPorto", TaxNumber: "PT 123", Language: "pt",
	Email: "shop@example.com", Tier: "trade"})

func sampleStatement() *Statement {
	h := sampleHead
	h.Number, h.Title = "STATEMENT-2026-0001", "Statement of account"
	v := &Statement{Head: h, Party: "A Customer", Addressee: sampleAddressee, From: "2026-03-01"}
	zero := eur("0")
	p := v.Part("EUR")
	p.Lines = []StatementLine{
		{"2026-04-10", "CREDIT-2026-0001", "credit note for INVOICE-2026-0001", "", zero, eur("20"), zero},
		{"2026-02-01", "INVOICE-2026-0001", "invoice", "2026-03-03", eur("100"), zero, zero},
		{"2026-03-08", "INVOICE-2026-0002", "invoice", "2026-04-07", eur("55.50"), zero, zero},
	}
	p.Age.Add(28, eur("80"))
	p.Age.Add(-7, eur("55.50"))
	p.Balance(v.From)
	return v
}

// A statement runs from what was open before, and ages what is open.
func TestStatement_Balance(t *testing.T) {
	p := sampleStatement().Parts[0]
	if p.Before.String() != "100.00" || len(p.Lines) != 2 || p.Lines[1].Open.String() != "135.50" ||
		p.Age.To30.String() != "80.00" || p.Age.NotDue.String() != "55.50" {
		t.Errorf("statement %+v", p)
	}
}

// An invoice whose amounts are not what its prices give is refused.
func TestInvoice_RefusesWrongAmount(t *testing.T) {
	for what, change := range map[string]func(*Invoice){
		"line":  func(v *Invoice) { *v.Lines[0].Amount = eur("822.05") },
		"tax":   func(v *Invoice) { v.Tax.Amount = eur("322.46") },
		"total": func(v *Invoice) { v.Total = eur("1724.52") },
		"net":   func(v *Invoice) { v.Net = eur("1402.05") },
	} {
		v := sampleInvoice()
		change(v)
		if _, err := v.Workbook(); err == nil || !strings.Contains(err.Error(), "invoice of S1") {
			t.Errorf("a wrong %s: %v", what, err)
		}
	}
}
