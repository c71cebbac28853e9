package sheet

import (
	"archive/zip"
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"lotpaper/internal/num"
	"lotpaper/internal/testkit/office"
)

func eur(s string) Cell {
	m, f := num.ParseMoney(s, "EUR")
	if f != nil {
		panic(f)
	}
	return Money(m)
}

// sampleBook has a form that reads a table, a protected input, a long and a
// short drop-down, a picture, and text that looks like a formula.
func sampleBook() Workbook {
	table := Sheet{Name: "Cost build-up", Title: "Cost build-up",
		Notes: []string{"All amounts in EUR. Formulas are live: change a yellow cell and the sheet follows."},
		Columns: []Col{{Header: "Part"}, {Header: "Quantity"}, {Header: "Rate (EUR)"}, {Header: "Amount (EUR)"},
			{Header: "Remark", Width: 24}}, FreezeCol: 1}
	first := table.FirstRow()
	add := func(part string, q int64, rate, amount string, remark string) {
		r := first + len(table.Rows)
		table.Rows = append(table.Rows, []Cell{Text(part), Int(q).As(Input), eur(rate),
			Formula("ROUND("+Ref(2, r)+"*"+Ref(3, r)+",2)", eur(amount)), Paragraph(remark)})
	}
	add("Stones", 3, "12.35", "37.05", "=1+1 stays text, whatever it looks like; a long remark wraps over several "+
		"lines of the cell")
	add("Setting", 3, "4.15", "12.45", "")
	add("Labour", 7, "0.65", "4.55", "per minute")
	last := first + len(table.Rows) - 1
	table.Rows = append(table.Rows, []Cell{Text("Total").As(Total), Empty().As(Total), Empty().As(Total),
		Formula("SUM("+Ref(4, first)+":"+Ref(4, last)+")", eur("54.05")).As(Total), Empty().As(Total)})
	long := make([]string, 60)
	for i := range long {
		long[i] = fmt.Sprintf("species %d, kind", i)
	}
	table.Choices = []Choice{
		{Column: 1, First: first, Last: last, Words: []string{"Stones", "Setting", "Labour"},
			Prompt: "A part of the piece."},
		{Column: 5, First: first, Last: last, Words: long, Strict: true},
	}
	form := Sheet{Name: "Summary", Title: "Line Sea", Columns: []Col{{Width: 24}, {Width: 16}, {Width: 30}},
		Protected: true, Rows: [][]Cell{
			{Text("Money").As(Heading), Empty().As(Heading), Empty().As(Heading)},
			{Text("Cost of a piece (EUR)").As(Label), Formula(On("Cost build-up", Ref(4, last+1)), eur("54.05"))},
			{Text("Verdict").As(Label), Formula(`IF(B4>50,"dear","fair")`, Text("dear"))},
			{Text("Date").As(Label), Date("2026-03-31")},
			{Text("Markup (%)").As(Label), Number(num.MustDec("12.5"), 1).As(Input)},
			{Text("Price (EUR)").As(Label), Formula("ROUND(B4*(1+Markup/100),2)", eur("60.81"))},
			{Text("Unrounded").As(Label), Formula("B4/7", Float(54.05/7, 6))},
		}}
	outlines := Sheet{Name: "Outlines", FullScale: true, Columns: []Col{{Width: 90}},
		Rows: [][]Cell{{Text("The bar is 50 mm long.").As(Note)}},
		Pictures: []Picture{{Name: "check bar", PNG: bar(), X: 10, Y: 12.5, Width: 50, Height: 4},
			{Name: "at a cell", PNG: bar(), Cell: "A9", Width: 33.3, Height: 2}}}
	return Workbook{Title: "Proposal & costs", Created: "2026-03-31", Sheets: []Sheet{form, table, outlines},
		Names: []Name{{"Markup", "Summary!$B$7"}}}
}

func bar() []byte {
	img := image.NewGray(image.Rect(0, 0, 100, 8))
	for x := range 100 {
		for y := range 8 {
			img.SetGray(x, y, color.Gray{Y: 60})
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		panic(err)
	}
	return b.Bytes()
}

func render(t testing.TB, b Workbook) []byte {
	t.Helper()
	var out bytes.Buffer
	must(t, b.Write(&out))
	return out.Bytes()
}

// The same model gives the same bytes: files are stored and hashed.
func TestWorkbook_SameBytes(t *testing.T) {
	first := render(t, sampleBook())
	for range 8 { // the library's maps come in another order each time
		if !bytes.Equal(first, render(t, sampleBook())) {
			t.Fatal("the same workbook gave other bytes")
		}
	}
}

// Everything that was put in is found by another reader: what the library
// drops without an error would be missed here.
func TestWorkbook_Whole(t *testing.T) {
	body := render(t, sampleBook())
	f, err := excelize.OpenReader(bytes.NewReader(body), excelize.Options{RawCellValue: true})
	must(t, err)
	defer f.Close()
	if d := cmp.Diff([]string{"Summary", "Cost build-up", "Outlines", "Lists"}, f.GetSheetList()); d != "" {
		t.Error(d)
	}
	visible, err := f.GetSheetVisible("Lists")
	must(t, err)
	if visible {
		t.Error("the list sheet is visible")
	}
	for cell, want := range map[string]string{"A5": "Stones", "B5": "3", "D5": "37.05",
		"E5": "=1+1 stays text, whatever it looks like; a long remark wraps over several lines of the cell",
		"D8": "54.05"} {
		got, err := f.GetCellValue("Cost build-up", cell)
		must(t, err)
		if got != want {
			t.Errorf("%s = %q, want %q", cell, got, want)
		}
	}
	for _, c := range [][2]string{{"D5", "ROUND(B5*C5,2)"}, {"D8", "SUM(D5:D7)"}, {"E5", ""}} {
		if got, err := f.GetCellFormula("Cost build-up", c[0]); err != nil || got != c[1] {
			t.Errorf("%s: formula %q, %v; want %q", c[0], got, err, c[1])
		}
	}
	rules, err := f.GetDataValidations("Cost build-up")
	must(t, err)
	if len(rules) != 2 || rules[0].Formula1 != `"Stones,Setting,Labour"` || rules[1].Formula1 != "Lists!$A$1:$A$60" {
		t.Errorf("drop-downs %+v", rules)
	}
	panes, err := f.GetPanes("Cost build-up")
	must(t, err)
	if !panes.Freeze || panes.YSplit != 4 || panes.XSplit != 1 {
		t.Errorf("panes %+v", panes)
	}
	pictures, err := f.GetPictureCells("Outlines")
	must(t, err)
	if len(pictures) != 1 { // the absolute one hangs on no cell
		t.Errorf("pictures at %v", pictures)
	}
	names := map[string]string{}
	for _, n := range f.GetDefinedName() {
		names[n.Name+" "+n.Scope] = n.RefersTo
	}
	if names["Markup Workbook"] != "Summary!$B$7" ||
		names["_xlnm.Print_Titles Cost build-up"] != "'Cost build-up'!$4:$4" {
		t.Errorf("names %v", names)
	}
	merged, err := f.GetMergeCells("Cost build-up")
	must(t, err)
	if len(merged) != 2 {
		t.Errorf("merged %v", merged)
	}
	part := func(name string) string {
		z, err := zip.NewReader(bytes.NewReader(body), int64(len(body)))
		must(t, err)
		r, err := z.Open(name)
		must(t, err)
		defer r.Close()
		text, err := io.ReadAll(r)
		must(t, err)
		return string(text)
	}
	drawing := part("xl/drawings/drawing1.xml")
	for _, want := range []string{"absoluteAnchor", `x="360000" y="450000"`, `cx="1800000" cy="144000"`,
		`cx="1198800" cy="72000"`, "oneCellAnchor"} {
		if !strings.Contains(drawing, want) {
			t.Errorf("drawing lacks %s:\n%s", want, drawing)
		}
	}
	for name, want := range map[string]string{"xl/worksheets/sheet1.xml": "<sheetProtection",
		"xl/worksheets/sheet2.xml": `fitToWidth="1"`, "xl/worksheets/sheet3.xml": `scale="100"`,
		"xl/workbook.xml": `fullCalcOnLoad="true"`, "docProps/core.xml": "2026-03-31T00:00:00Z"} {
		if !strings.Contains(part(name), want) {
			t.Errorf("%s lacks %s", name, want)
		}
	}
	if strings.Contains(part("xl/worksheets/sheet3.xml"), `fitToPage="true"`) {
		t.Error("the outlines are fitted to the page")
	}
}

// An independent program computes every formula again and finds our values.
func TestWorkbook_Recalculated(t *testing.T) {
	ours, err := excelize.OpenReader(bytes.NewReader(render(t, sampleBook())), excelize.Options{RawCellValue: true})
	must(t, err)
	defer ours.Close()
	want := map[string]string{}
	for _, sheet := range ours.GetSheetList() {
		rows, err := ours.GetRows(sheet)
		must(t, err)
		for r, row := range rows {
			for c := range row {
				cell := Ref(c+1, r+1)
				if formula, _ := ours.GetCellFormula(sheet, cell); formula != "" {
					want[sheet+"!"+cell] = row[c]
				}
			}
		}
	}
	if len(want) != 8 {
		t.Fatalf("formulas %v", want)
	}
	must(t, ours.UpdateLinkedValue()) // it would keep a cached value
	var book bytes.Buffer
	must(t, ours.Write(&book))
	const table = "lot,weight,color,date\nA-1,1.25,\"blue, green\",2026-03-31\n007,0.1,teal,1999-12-31\n"
	saved := office.Recalculate(t, map[string][]byte{"book": book.Bytes(), "table.csv": []byte(table)})
	theirs, err := excelize.OpenReader(bytes.NewReader(saved["book"]), excelize.Options{RawCellValue: true})
	must(t, err)
	defer theirs.Close()
	readConverted(t, saved["table.csv"], table)
	for at, w := range want {
		sheet, cell, _ := strings.Cut(at, "!")
		got, err := theirs.GetCellValue(sheet, cell)
		must(t, err)
		if got == w {
			continue
		}
		a, errA := strconv.ParseFloat(got, 64)
		b, errB := strconv.ParseFloat(w, 64)
		if errA != nil || errB != nil || math.Abs(a-b) > 1e-9 {
			t.Errorf("%s: recalculated %q, ours %q", at, got, w)
		}
	}
}

// The workbook that another program writes of a CSV file is read as the file.
func readConverted(t *testing.T, body []byte, table string) {
	t.Helper()
	got, faults := readAll(t, "table.xlsx", body, Options{})
	// its number has no leading zeros
	want, _ := readAll(t, "table.csv", []byte(strings.ReplaceAll(table, "007", "7")), Options{})
	if d := cmp.Diff(want, got); d != "" || len(faults) > 0 {
		t.Errorf("%s %v", d, codes(faults))
	}
}

func streamSheet() Sheet {
	s := Sheet{Name: "Stock", FreezeCol: 1, Landscape: true}
	for _, h := range []string{"Lot", "Owner", "Species", "Variety", "Treatment", "Shape", "Pieces", "Weight (ct)",
		"Length (mm)", "Width (mm)", "Depth (mm)", "Color", "Place", "Cost (EUR)", "Date"} {
		s.Columns = append(s.Columns, Col{Header: h, Width: 12})
	}
	return s
}

// stockRows yields n rows of a stock list, each in the same slice.
func stockRows(n int) func() ([]Cell, bool) {
	row := make([]Cell, 15)
	i := 0
	return func() ([]Cell, bool) {
		if i++; i > n {
			return nil, false
		}
		row[0], row[1], row[2], row[3] = Text("P12-"+strconv.Itoa(i)), Text("own"), Text("beryl"), Text("aquamarine")
		row[4], row[5], row[6], row[7] = Text("heat"), Text("oval"), Int(int64(i%40+1)), Carats(num.Carat(i*37))
		row[8], row[9], row[10] = Millimetres(num.Millimetre(700+i%300)), Millimetres(num.Millimetre(500+i%200)),
			Millimetres(num.Millimetre(300+i%200))
		row[11], row[12], row[13], row[14] = Text("light blue"), Text("safe"),
			Money(num.FromMinor(int64(i)*991, "EUR")), Date("2026-03-31")
		return row, true
	}
}

// plain writes the same cells with the library alone: the yardstick.
func plain(w io.Writer, n int) error {
	f := excelize.NewFile()
	defer f.Close()
	sw, err := f.NewStreamWriter("Sheet1")
	if err != nil {
		return err
	}
	header := []any{}
	for _, c := range streamSheet().Columns {
		header = append(header, c.Header)
	}
	if err := sw.SetRow("A1", header); err != nil {
		return err
	}
	for i := 1; i <= n; i++ {
		row := []any{"P12-" + strconv.Itoa(i), "own", "beryl", "aquamarine", "heat", "oval", i%40 + 1, float64(i*37) /
			1000, float64(700+i%300) / 100, float64(500+i%200) / 100,
			float64(300+i%200) / 100, "light blue", "safe", float64(i*991) / 100, 46112}
		cell, _ := excelize.CoordinatesToCellName(1, i+1)
		if err := sw.SetRow(cell, row); err != nil {
			return err
		}
	}
	if err := sw.Flush(); err != nil {
		return err
	}
	return f.Write(w)
}

func TestStream(t *testing.T) {
	var out bytes.Buffer
	must(t, Stream(&out, Workbook{Title: "Stock"}, streamSheet(), stockRows(3)))
	f, err := excelize.OpenReader(&out, excelize.Options{RawCellValue: true})
	must(t, err)
	defer f.Close()
	rows, err := f.GetRows("Stock")
	must(t, err)
	want := []string{"P12-3", "own", "beryl", "aquamarine", "heat", "oval", "4", "0.111", "7.03", "5.03", "3.03",
		"light blue", "safe", "29.73", "46112"}
	if d := cmp.Diff(want, rows[3]); d != "" || len(rows) != 4 {
		t.Errorf("%s (%d rows)", d, len(rows))
	}
	shown, err := f.GetCellValue("Stock", "O4", excelize.Options{})
	must(t, err)
	if shown != "2026-03-31" {
		t.Errorf("the date shows as %q", shown)
	}
}

// Gate: the looks, formats and checks of a stream cost no memory by the row
// beyond the yardstick's, and what is held does not grow with the rows.
func TestStream_Allocations(t *testing.T) {
	count := func(write func(io.Writer) error) (allocs, size uint64) {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		must(t, write(io.Discard))
		runtime.ReadMemStats(&after)
		return after.Mallocs - before.Mallocs, after.TotalAlloc - before.TotalAlloc
	}
	const n = 20000
	ours, oursBytes := count(func(w io.Writer) error { return Stream(w, Workbook{}, streamSheet(), stockRows(n)) })
	theirs, theirBytes := count(func(w io.Writer) error { return plain(w, n) })
	t.Logf("%d rows: %.1f allocations a row, the library alone %.1f; %d and %d KiB", n, float64(ours)/n,
		float64(theirs)/n, oursBytes>>10, theirBytes>>10)
	if float64(ours) > 1.4*float64(theirs) || float64(oursBytes) > 1.4*float64(theirBytes) {
		t.Error("more than 1.4 times what the library alone allocates")
	}
}

func BenchmarkStream(b *testing.B) {
	for b.Loop() {
		if err := Stream(io.Discard, Workbook{}, streamSheet(), stockRows(100_000)); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkStream_Plain(b *testing.B) {
	for b.Loop() {
		if err := plain(io.Discard, 100_000); err != nil {
			b.Fatal(err)
		}
	}
}

func TestWriteCSV(t *testing.T) {
	var out bytes.Buffer
	must(t, WriteCSV(&out, []string{"Lot", "Note", "Weight (ct)", "Cost (EUR)", "Date"}, listed([][]Cell{
		{Text("A-1"), Text("=HYPERLINK(\"x\")"), Carats(1250), eur("1234567.5"), Date("2026-03-31")},
		{Text("-1"), Text("a, \"b\"\nc"), Number(num.MustDec("-0.5"), 2), Empty(), Text("@x")},
		{Text("+1"), Text("\tx"), Float(1.005, 2), Cell{kind: numberValue, number: 1.2345, format: UnitCost},
			Text(" pad")},
	})))
	want := "Lot,Note,Weight (ct),Cost (EUR),Date\r\n" +
		"A-1,\"'=HYPERLINK(\"\"x\"\")\",1.250,1234567.50,2026-03-31\r\n" +
		"'-1,\"a, \"\"b\"\"\nc\",-0.50,,'@x\r\n" +
		"'+1,'\tx,1.01,1.2345,\" pad\"\r\n"
	if d := cmp.Diff(want, out.String()); d != "" {
		t.Error(d)
	}
}

func TestCell_String(t *testing.T) {
	for _, c := range []struct {
		cell Cell
		want string
	}{
		{eur("1234567.5"), "1,234,567.50"}, {Int(-1234), "-1,234"}, {Carats(999), "0.999"}, {Millimetres(0), ""},
		{Millimetres(705), "7.05"},
		{Date("2026-03-31"), "2026-03-31"}, {Date("2199-01-01"), "2199-01-01"}, {Date("soon"), "soon"},
		{Float(math.NaN(), 2), ""},
		{Money(num.FromMinor(5, "JPY")), "5"},
		{Cell{kind: numberValue, number: 12, format: UnitCost}, "12.00"},
		{Percent(num.Percent{Dec: num.MustDec("12.5")}, 1), "12.5"},
	} {
		if got := c.cell.String(); got != c.want {
			t.Errorf("%+v = %q, want %q", c.cell, got, c.want)
		}
	}
}

// Widths of words from the published metrics of the typeface (Helvetica AFM,
// Adobe Core 14 fonts): "Weight (ct)" is 944+556+222+556+556+278+278+333+500+278+333.
func TestTextWidth(t *testing.T) {
	if got, want := textWidth("Weight (ct)", 10, false)*556, 4834.0; math.Abs(got-want) > 0.5 {
		t.Errorf("%.1f, want %.1f", got, want)
	}
}

func TestRowHeight(t *testing.T) {
	long := strings.Repeat("words that wrap ", 10)
	if h := rowHeight([]Cell{Text(long)}, []float64{20}); h != 0 {
		t.Errorf("text that does not wrap makes the row %.1f high", h)
	}
	one, two := rowHeight([]Cell{Paragraph(long)}, []float64{40}), rowHeight([]Cell{Paragraph(long)}, []float64{20})
	if one <= minHeight || two <= one {
		t.Errorf("heights %.1f and %.1f", one, two)
	}
	if h := rowHeight([]Cell{Paragraph(long).Span(3), Empty(), Empty()}, []float64{60, 60, 60}); h != 0 {
		t.Errorf("a span over three columns makes the row %.1f high", h)
	}
}

func TestSheetName(t *testing.T) {
	for in, want := range map[string]string{"a/b:c": "a-b-c", "'x'": "x", "": "Sheet",
		strings.Repeat("é", 40): strings.Repeat("é", 31)} {
		if got := SheetName(in); got != want {
			t.Errorf("SheetName(%q) = %q, want %q", in, got, want)
		}
	}
	for in, want := range map[string]string{"Pieces": "Pieces!A1", "Cost build-up": "'Cost build-up'!A1",
		"A1": "'A1'!A1", "O'Neil": "'O''Neil'!A1", "2026": "'2026'!A1"} {
		if got := On(in, "A1"); got != want {
			t.Errorf("On(%q) = %q, want %q", in, got, want)
		}
	}
}

// listed turns rows into the iterator that WriteCSV and Stream take.
func listed(rows [][]Cell) func() ([]Cell, bool) {
	i := -1
	return func() ([]Cell, bool) {
		i++
		if i >= len(rows) {
			return nil, false
		}
		return rows[i], true
	}
}
