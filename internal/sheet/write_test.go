package sheet

import (
	"bytes"
	"os"
	"testing"

	"github.com/xuri/excelize/v2"

	"lotpaper/internal/num"
)

func sampleBook() Workbook {
	eur := func(s string) num.Money {
		m, f := num.ParseMoney(s, "EUR")
		if f != nil {
			panic(f)
		}
		return m
	}
	table := Sheet{Name: "Cost build-up", Title: "Cost build-up", Notes: []string{"All amounts in EUR. Formulas are live: change a yellow cell and the sheet follows."},
		Columns: []Col{{Header: "Part"}, {Header: "Quantity"}, {Header: "Rate (EUR)"}, {Header: "Amount (EUR)"}, {Header: "Remark", Width: 24}}, FreezeCol: 1}
	first := table.FirstRow()
	add := func(part string, q int64, rate, amount string, remark string) {
		r := first + len(table.Rows)
		table.Rows = append(table.Rows, []Cell{Text(part), Int(q).As(Input), Money(eur(rate)), Formula("ROUND("+Ref(2, r)+"*"+Ref(3, r)+",2)", Money(eur(amount))), Paragraph(remark)})
	}
	add("Stones", 3, "12.35", "37.05", "=1+1 stays text, whatever it looks like; a long remark wraps over several lines of the cell")
	add("Setting", 3, "4.15", "12.45", "")
	add("Labour", 7, "0.65", "4.55", "per minute")
	last := first + len(table.Rows) - 1
	table.Rows = append(table.Rows, []Cell{Text("Total").As(Total), Empty().As(Total), Empty().As(Total), Formula("SUM("+Ref(4, first)+":"+Ref(4, last)+")", Money(eur("54.05"))).As(Total), Empty().As(Total)})
	table.Choices = []Choice{{Column: 1, First: first, Last: last, Words: []string{"Stones", "Setting", "Labour"}, Prompt: "A part of the piece."}}
	form := Sheet{Name: "Summary", Title: "Line Sea", Columns: []Col{{Width: 24}, {Width: 16}, {Width: 30}}, Protected: true, Rows: [][]Cell{
		{Text("Money").As(Heading), Empty().As(Heading), Empty().As(Heading)},
		{Text("Cost of a piece (EUR)").As(Label), Formula(On("Cost build-up", Ref(4, last+1)), Money(eur("54.05")))},
		{Text("Verdict").As(Label), Formula(`IF(B5>50,"dear","fair")`, Text("dear"))},
		{Text("Date").As(Label), Date("2026-03-31")},
		{Text("Markup (%)").As(Label), Number(num.MustDec("12.5"), 1).As(Input)},
		{Text("Price (EUR)").As(Label), Formula("ROUND(B5*(1+B8/100),2)", Money(eur("60.81")))},
	}}
	return Workbook{Title: "Proposal & costs", Created: "2026-03-31", Sheets: []Sheet{form, table}, Names: []Name{{"Markup", "Summary!$B$8"}}}
}

func TestWorkbook_Write(t *testing.T) {
	var a, b bytes.Buffer
	if err := sampleBook().Write(&a); err != nil {
		t.Fatal(err)
	}
	for range 5 {
		b.Reset()
		if err := sampleBook().Write(&b); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Fatal("the same workbook gave other bytes")
		}
	}
	if out := os.Getenv("SHEET_OUT"); out != "" {
		os.WriteFile(out, a.Bytes(), 0o644)
	}
	f, err := excelize.OpenReader(&a)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := f.GetRows("Cost build-up")
	t.Log(rows, err)
}
