package answer

import (
	"bytes"
	"encoding/csv"
	"slices"
	"strings"
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/durability"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
)

// listings is one list of each kind, with a row or two.
func listings() map[string]Listing {
	h := Head{Title: "A list", On: "2026-03-31", Dealer: "Sample Stones", Book: "abc", Currency: "EUR"}
	eur := func(s string) num.Money { return num.MoneyFromDec(num.MustDec(s), "EUR", num.HalfUp) }
	entry := ledger.Entry{Code: "E1", Kind: ledger.Record, PostedOn: "2026-03-31", Reason: "bought", Who: "Ada",
		Postings: []ledger.Posting{{Lot: "A1", Place: book.Safe, Pieces: 3, Carats: 1250, Cost: eur("40")},
			{Lot: "A1", Place: book.Safe, Pieces: -1, Carats: -250, Cost: eur("-4.50")}}}
	value := sampleValue()
	matrix := sampleMatrix()
	identity := sampleIdentity(false)
	return map[string]Listing{
		"config": (&ConfigShow{Head: h, Currency: "EUR", Zone: "UTC", Settings: []ConfigRow{{Key: "haircut",
			Value: "0", Default: true, Words: "percent"}}}).List(),
		"documents": (&DocumentList{Head: h, Documents: []IssuedRow{{Issued: Issued{Number: "ORDER-2026-0001",
			On:    "2026-03-31",
			Title: "Order", File: "o.xlsx", SHA256: "ab"}}}}).List(),
		"rates": (&RatesShow{Head: h, Rates: []book.Rate{{Kind: "fx", Name: "JPY", Value: num.MustDec("0.6112"),
			Per: 100}}}).List(),
		"prices": (&PricesShow{Head: h, Prices: []book.Price{{Species: "topaz", LengthMin: 500}}}).List(),
		"parcels": (&Parcels{Head: h, Parcels: []ParcelShow{{Parcel: book.Parcel{Code: "P1", Lots: 2, Pieces: 32,
			Carats: 17000, Price: eur("1080")}}}}).List(),
		"memos": (&Memos{Head: h, Memos: []Memo{{Number: "M1"}, {Number: "M2", Lots: []MemoLot{{
			SuppliedLot: book.SuppliedLot{Lot: "A1", Pieces: 2}}}}}}).List(),
		"memo in": (&MemoIn{Head: h, Lots: []MemoInLot{{Lender: "B", Lot: "M1", Pieces: 3}}}).List(),
		"holds":   (&Holds{Head: h, Holds: []Hold{{Lot: "A1", Pieces: 1, Of: 2, For: "Sea"}}}).List(),
		"orders": (&Orders{Head: h, Orders: []Order{Drafted(book.Order{Number: "O1",
			Lines: []book.OrderLine{{Species: []string{"topaz"},
				WantedStone: book.WantedStone{Length: 800, Width: 600, Count: 3}, PriceMax: eur("12.50")}}})}}).List(),
		"offers": (&Offers{Head: h, Carats: 10000, Offers: []book.Offer{{Number: 1, Side: "ask", Total: eur("90")}}}).
			List(),
		"lines": (&Lines{Head: h, Lines: []LineShow{{Line: book.Line{Name: "Sea"}, Designs: []book.Design{{Name: "Ring",
			PriceTrade: eur("90"), Positions: []book.Position{{Name: "center", Count: 1}}}}}}}).List(),
		"ledger":  (&LedgerShow{Head: h, Entries: []ledger.Entry{entry, {Code: "E2"}}}).List(),
		"history": (&LotHistory{Head: h, Lot: "A1", Entries: []ledger.Entry{entry}}).List(),
		"count": (&StockCount{Head: h, Differences: []CountDifference{{Lot: "A1", Place: book.Safe, BookPieces: 3}},
			Missing: []string{"A2"}}).List(),
		"losses":   (&SettingLosses{Head: h, Rates: []LossRate{{Rate: durability.Rate{Mean: 0.01}}}}).List(),
		"pairs":    (&SettingCheck{Pairs: []SettingPair{{Pair: "a"}, {Pair: "b"}}}).List(),
		"cases":    (&Cases{Cases: []Case{{Name: "a", Verdict: "open"}}}).List(),
		"identity": identity.List(),
		"value":    value.List(),
		"matrix":   matrix.List(),
		"price": (&LinePrice{Line: "Sea", Plan: LinePlan{Head: h}, Designs: []DesignPrice{{Design: "Ring",
			Cost: &costing.Node{Amount: eur("40")}, Trade: Amount{eur("90")}}}}).List(),
	}
}

// Every list that files hold has named columns, each once, and the same ones as
// CSV and as a workbook; what screen and file both show of a row is the same.
func TestListings_SameInEveryForm(t *testing.T) {
	for name, l := range listings() {
		var raw bytes.Buffer
		if err := l.WriteCSV(&raw); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		file, err := csv.NewReader(&raw).ReadAll()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if len(file) < 2 {
			t.Errorf("%s: no rows", name)
		}
		seen := map[string]bool{}
		for _, header := range file[0] {
			if header == "" || seen[header] || strings.HasSuffix(header, "()") {
				t.Errorf("%s: a column is headed %q: empty, twice, or without its unit", name, header)
			}
			seen[header] = true
		}
		wb, err := l.Workbook()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if wb.Title == "" || wb.Sheets[0].Name == "" {
			t.Errorf("%s: the workbook has no name", name)
		}
		switch name {
		case "value", "matrix": // have workbooks of their own
			continue
		}
		s := wb.Sheets[0]
		if len(s.Rows) != len(file)-1 {
			t.Errorf("%s: %d rows in the workbook, %d in CSV", name, len(s.Rows), len(file)-1)
		}
		for i, c := range s.Columns {
			if c.Header != file[0][i] || c.Width <= 0 {
				t.Errorf("%s: column %d is %q (%v wide) in the workbook, %q in CSV", name, i, c.Header,
					c.Width, file[0][i])
			}
			for j, row := range s.Rows {
				if got := row[i].Plain(); got != file[j+1][i] {
					t.Errorf("%s: %q is %q in the workbook, %q in CSV", name, c.Header, got, file[j+1][i])
				}
			}
		}
		if len(l.Screen()) == 0 {
			t.Errorf("%s: nothing on screen", name)
		}
	}
}

// A lot that nobody counted is named on screen and is a row of the file.
func TestStockCount_Missing(t *testing.T) {
	c := StockCount{Counted: 1, Missing: make([]string, missingShown+2)}
	for i := range c.Missing {
		c.Missing[i] = "A" + string(rune('a'+i))
	}
	s := c.List().Screen()
	words := s[len(s)-2].Text + s[len(s)-1].Text
	if !strings.Contains(words, "not counted: Aa, Ab,") || !strings.HasSuffix(words, "... and 2 more") {
		t.Errorf("screen: %q", words)
	}
	wb, err := c.List().Workbook()
	if err != nil || len(wb.Sheets[0].Rows) != len(c.Missing) {
		t.Errorf("%v: %d rows", err, len(wb.Sheets[0].Rows))
	}
	last := wb.Sheets[0].Rows[0]
	if !slices.Equal([]string{last[0].Plain(), last[2].Plain(), last[6].Plain()}, []string{"Aa", "", "not counted"}) {
		t.Errorf("a row: %v", last)
	}
}
