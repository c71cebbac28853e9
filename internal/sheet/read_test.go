package sheet

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"lotpaper/internal/fault"
)

var testColumns = Columns{
	{Name: "lot", Aliases: []string{"lot_no"}, Required: true},
	{Name: "weight", Kind: NumberColumn, Required: true},
	{Name: "color", Aliases: []string{"colour"}},
	{Name: "date", Kind: DateColumn},
}

// readAll reads the first sheet; each row is its number and its texts in the
// order of testColumns.
func readAll(t testing.TB, name string, body []byte, opt Options) ([]string, fault.List) {
	t.Helper()
	f, faults := Open(bytes.NewReader(body), int64(len(body)), name, opt)
	if faults != nil {
		return nil, faults
	}
	var rows []string
	faults = f.Read(Table{Sheet: f.Sheets()[0], Kind: "parcel", Columns: testColumns}, func(r Row, _ *fault.List) {
		line := fmt.Sprint(r.Number)
		for _, c := range testColumns {
			line += "|" + r.Text(c.Name)
		}
		rows = append(rows, line)
	})
	return rows, faults
}

// codes lists the faults as code@row:column.
func codes(l fault.List) []string {
	var out []string
	for _, f := range l {
		s := fmt.Sprintf("%s@%d:%s", f.Code, f.Where.Row, f.Where.Column)
		if f.Warning {
			s = "warning " + s
		}
		out = append(out, s)
	}
	return out
}

// xlsx builds a workbook with the library, for what our writer never makes.
func xlsx(t testing.TB, build func(f *excelize.File)) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	for i, h := range []string{"Lot", "Weight", "Colour", "Date"} {
		if err := f.SetCellValue("Sheet1", Ref(i+1, 1), h); err != nil {
			t.Fatal(err)
		}
	}
	build(f)
	b, err := f.WriteToBuffer()
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func TestRead_CSV(t *testing.T) {
	want := []string{"2|A-1|1.25|blue|2026-03-31", "3|A-2|0.5|blue, green|"}
	for _, c := range []struct{ name, body string }{
		{"comma", "lot,weight,color,date\nA-1,1.25,blue,2026-03-31\nA-2,0.5,\"blue, green\",\n"},
		{"crlf", "lot,weight,color,date\r\nA-1,1.25,blue,2026-03-31\r\nA-2,0.5,\"blue, green\",\r\n"},
		{"mark", "\ufefflot,weight,color,date\nA-1,1.25,blue,2026-03-31\nA-2,0.5,\"blue, green\",\n"},
		{"semicolon", "lot;weight;color;date\nA-1;1.25;blue;2026-03-31\nA-2;0.5;blue, green;\n"},
		{"tab", "lot\tweight\tcolor\tdate\nA-1\t1.25\tblue\t2026-03-31\nA-2\t0.5\tblue, green\t\n"},
		{"colour", "lot,weight,colour,date\nA-1,1.25,blue,2026-03-31\nA-2,0.5,\"blue, green\",\n"},
		{"any order", "Date, COLOR ,Lot No,WEIGHT\n2026-03-31,blue,A-1,1.25\n,\"blue, green\",A-2,0.5\n"},
		{"short rows", "lot,weight,color,date\nA-1,1.25,blue,2026-03-31\nA-2,0.5,\"blue, green\"\n"},
		{"blanks", "lot,weight,color,date\n A-1 , 1.25,blue\u00a0,2026-03-31\nA-2,0.5,\"blue, green\",\n"},
		{"units in brackets", "Lot No.;Weight;Color;Date\nA-1;1.25;blue;2026-03-31\nA-2;0.5;blue, green;\n"},
		{"no last line end", "lot,weight,color,date\nA-1,1.25,blue,2026-03-31\nA-2,0.5,\"blue, green\","},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, faults := readAll(t, "a.csv", []byte(c.body), Options{})
			if len(faults) > 0 {
				t.Fatalf("faults %v", codes(faults))
			}
			if d := cmp.Diff(want, got); d != "" {
				t.Error(d)
			}
		})
	}
}

// The row number is the one a spreadsheet shows: blank lines count, lines
// inside a quoted text do not.
func TestRead_RowNumbers(t *testing.T) {
	body := "sep=;\n\nlot;weight;color\n\nA-1;1;\"blue\nand\ngreen\"\n;;\nA-2;2;red\n"
	got, faults := readAll(t, "a.csv", []byte(body), Options{})
	if d := cmp.Diff([]string{"5|A-1|1|blue\nand\ngreen|", "7|A-2|2|red|"}, got); d != "" || len(faults) > 0 {
		t.Errorf("%s %v", d, codes(faults))
	}
}

// A title, a sender and a date may stand above the header.
func TestRead_TitleAbove(t *testing.T) {
	want := []string{"5|A-1|1.25|blue|2026-03-31"}
	got, faults := readAll(t, "a.csv", []byte("Stones of March\n\nfrom;Kowal\nLot;Weight;Color;Date\n"+
		"A-1;1.25;blue;2026-03-31\n"), Options{})
	if d := cmp.Diff(want, got); d != "" || len(faults) > 0 {
		t.Errorf("%s %v", d, codes(faults))
	}
	s := Sheet{Name: "Stones", Title: "Stones of March", Notes: []string{"from Kowal"}, Columns: []Col{{Header: "Lot"},
		{Header: "WEIGHT"}, {Header: "Color"}, {Header: "Date"}},
		Rows: [][]Cell{{Text("A-1"), Float(1.25, 3), Text("blue"), Date("2026-03-31")}}}
	got, faults = readAll(t, "a.xlsx", render(t, Workbook{Sheets: []Sheet{s}}), Options{})
	if d := cmp.Diff(want, got); d != "" || len(faults) > 0 { // the merged title is no fault
		t.Errorf("%s %v", d, codes(faults))
	}
}

func TestRead_Encoding(t *testing.T) {
	body := []byte("lot,weight,color\nA-1,1,caf\xe9\nA-2,2,blue\n")
	_, faults := readAll(t, "a.csv", body, Options{})
	if d := cmp.Diff([]string{"text-encoding@2:C"}, codes(faults)); d != "" {
		t.Fatal(d)
	}
	if !strings.Contains(faults[0].Mend, "the encoding windows-1252") {
		t.Errorf("mend %q", faults[0].Mend)
	}
	got, faults := readAll(t, "a.csv", body, Options{Encoding: "windows-1252"})
	if d := cmp.Diff([]string{"2|A-1|1|café|", "3|A-2|2|blue|"}, got); d != "" || len(faults) > 0 {
		t.Errorf("%s %v", d, codes(faults))
	}
	// A mark says UTF-8, whatever was asked; 0x81 is no character of windows-1252.
	got, _ = readAll(t, "a.csv", []byte("\ufefflot,weight,color\nA-1,1,café\n"), Options{Encoding: "windows-1252"})
	if d := cmp.Diff([]string{"2|A-1|1|café|"}, got); d != "" {
		t.Error(d)
	}
	_, faults = readAll(t, "a.csv", []byte("lot,weight,color\nA-1,1,caf\x81\n"), Options{Encoding: "windows-1252"})
	if d := cmp.Diff([]string{"text-encoding@2:C"}, codes(faults)); d != "" {
		t.Error(d)
	}
	// Composed and decomposed accents are one name.
	got, _ = readAll(t, "a.csv", []byte("lot,weight,color\nA-1,1,cafe\u0301\n"), Options{})
	if d := cmp.Diff([]string{"2|A-1|1|café|"}, got); d != "" {
		t.Error(d)
	}
}

func TestRead_Header(t *testing.T) {
	for _, c := range []struct {
		name, body string
		want       []string
	}{
		{"missing", "lot,color\nA,b\n", []string{"column-missing@1:"}},
		{"misspelt", "lot,wieght\nA,1\n", []string{"column-missing@1:", "warning column-unknown@1:B"}},
		{"twice", "lot,weight,colour,color\nA,1,b,b\n", []string{"column-twice@1:D"}},
		{"twice by alias", "lot,lot_no,weight\nA,B,1\n", []string{"column-twice@1:B"}},
		{"unknown", "lot,weight,luster\nA,1,b\n", []string{"warning column-unknown@1:C"}},
		{"none known", "a,b,c\n1,2,3\n", []string{"header-unknown@1:"}},
		{"no rows", "lot,weight\n", []string{"rows-missing@1:"}},
		{"too long", "lot,weight,color\nA,1,nice, blue\n", []string{"row-too-long@2:D"}},
		{"no header for values", "lot,weight,\nA,1,x\nB,2,y\n", []string{"warning column-unnamed@2:C"}},
		{"open quote", "lot,weight\nA,1\n\"B,2\n", []string{"csv-quote@3:"}},
		{"quote inside", "lot,weight\nA\"B,1\n", []string{"csv-quote@2:"}},
		{"control", "lot,weight\nA\x01B,1\n", []string{"text-control@2:A"}},
		{"bad header bytes", "lot,weight,caf\xe9\nA,1,b\n", []string{"text-encoding@1:C"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, faults := readAll(t, "a.csv", []byte(c.body), Options{})
			if d := cmp.Diff(c.want, codes(faults)); d != "" {
				t.Error(d)
			}
			for _, f := range faults {
				if f.Where.File != "a.csv" || f.Mend == "" {
					t.Errorf("fault without file or mend: %s", f.JSON())
				}
			}
		})
	}
	_, faults := readAll(t, "a.csv", []byte("lot,wieght\nA,1\n"), Options{})
	if !strings.Contains(faults[0].Mend, `rename column "wieght" to weight`) || !strings.Contains(faults[1].Mend,
		"did you mean weight") {
		t.Errorf("mends %q, %q", faults[0].Mend, faults[1].Mend)
	}
}

func TestOpen_Refused(t *testing.T) {
	whole := xlsx(t, func(f *excelize.File) { must(t, f.SetCellValue("Sheet1", "A2", "A-1")) })
	zipOf := func(parts map[string]string) []byte {
		var b bytes.Buffer
		z := zip.NewWriter(&b)
		for name, body := range parts {
			w, err := z.Create(name)
			must(t, err)
			_, err = io.WriteString(w, body)
			must(t, err)
		}
		must(t, z.Close())
		return b.Bytes()
	}
	for _, c := range []struct {
		name, file, want string
		body             []byte
	}{
		{"empty", "a.csv", "file-empty", nil},
		{"blanks", "a.csv", "file-empty", []byte("\ufeff \n\n")},
		{"xls", "a.xls", "file-xls", []byte("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1 and more")},
		{"renamed xls", "a.xlsx", "file-xls", []byte("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1 and more")},
		{"cut off", "a.xlsx", "zip-damaged", whole[:len(whole)/2]},
		{"text as xlsx", "a.xlsx", "file-kind", []byte("lot,weight\nA,1\n")},
		{"web page", "a.csv", "file-kind", []byte("<html><table></table></html>")},
		{"binary", "a.csv", "file-kind", []byte("lot\x00weight")},
		{"utf-16", "a.csv", "file-utf16", []byte("\xFF\xFEl\x00o\x00t\x00")},
		{"other zip", "a.xlsx", "file-kind", zipOf(map[string]string{"a.txt": "hello"})},
		{"ods", "a.ods", "file-kind",
			zipOf(map[string]string{"mimetype": "application/vnd.oasis.opendocument.spreadsheet",
				"content.xml": "<x/>"})},
		{"xlsb", "a.xlsb", "file-kind", zipOf(map[string]string{"[Content_Types].xml": "<x/>", "_rels/.rels": "<x/>",
			"xl/workbook.bin": ""})},
		{"cut off sheet", "a.xlsx", "zip-damaged",
			zipOf(map[string]string{
				"xl/workbook.xml":            `<workbook xmlns:r="r"><sheets><sheet name="S" r:id="r1"/></sheets></workbook>`,
				"xl/_rels/workbook.xml.rels": `<Relationships><Relationship Id="r1" Type="x/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`,
				"xl/worksheets/sheet1.xml":   `<worksheet><sheetData><row r="1"><c t="str"><v>lot</v></c><c t="str"><v>weight</v></c></row>`})},
		{"no sheets", "a.xlsx", "zip-damaged", zipOf(map[string]string{"xl/workbook.xml": "<workbook/>",
			"xl/_rels/workbook.xml.rels": "<Relationships/>"})},
		{"broken xml", "a.xlsx", "zip-damaged", zipOf(map[string]string{"xl/workbook.xml": "<workbook><sheets>",
			"xl/_rels/workbook.xml.rels": "<Relationships/>"})},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, faults := readAll(t, c.file, c.body, Options{})
			if len(faults) != 1 || faults[0].Code != c.want || faults[0].Where.File != c.file || faults[0].Mend == "" {
				t.Fatalf("got %v, want %s", faults, c.want)
			}
		})
	}
}

// A bomb is refused before it fills the memory: by what the directory says, or
// while it unpacks when the directory lies or the text never ends.
func TestOpen_Bomb(t *testing.T) {
	const parts = `<Relationships><Relationship Id="r1" Type="x/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`
	build := func(sheet func(w io.Writer)) []byte {
		var b bytes.Buffer
		z := zip.NewWriter(&b)
		for _, p := range []struct {
			name string
			fill func(w io.Writer)
		}{
			{"xl/workbook.xml", func(w io.Writer) {
				io.WriteString(w, `<workbook xmlns:r="r"><sheets><sheet name="S" r:id="r1"/></sheets></workbook>`)
			}},
			{"xl/_rels/workbook.xml.rels", func(w io.Writer) { io.WriteString(w, parts) }},
			{"xl/worksheets/sheet1.xml", sheet},
		} {
			w, err := z.Create(p.name)
			must(t, err)
			p.fill(w)
		}
		must(t, z.Close())
		return b.Bytes()
	}
	spaces := bytes.Repeat([]byte(" "), 1<<20)
	told := build(func(w io.Writer) {
		for range 40 {
			w.Write(spaces)
		}
	})
	endless := build(func(w io.Writer) {
		io.WriteString(w, `<worksheet><sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>`)
		for range 12 { // below what the directory check refuses
			w.Write(spaces)
		}
	})
	for name, body := range map[string][]byte{"told": told, "endless text": endless} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, faults := readAll(t, "bomb.xlsx", body, Options{})
		runtime.ReadMemStats(&after)
		if len(faults) != 1 || faults[0].Code != "zip-too-large" {
			t.Errorf("%s: %v", name, faults)
		}
		if used := after.TotalAlloc - before.TotalAlloc; used > 16<<20 {
			t.Errorf("%s: %d MiB allocated to refuse it", name, used>>20)
		}
	}
}

// Only one row is held at a time: ten times the rows need no more memory.
func TestRead_Memory(t *testing.T) {
	body := func(rows int) []byte {
		var b bytes.Buffer
		b.WriteString("lot,weight,color,date\n")
		for i := range rows {
			fmt.Fprintf(&b, "A-%d,%d.25,light blue-green,2026-03-31\n", i, i%900)
		}
		return b.Bytes()
	}
	peak := func(body []byte) (most uint64) {
		f, faults := Open(bytes.NewReader(body), int64(len(body)), "a.csv", Options{})
		if faults != nil {
			t.Fatal(faults)
		}
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		base := m.HeapAlloc
		n := 0
		faults = f.Read(Table{Kind: "parcel", Columns: testColumns}, func(Row, *fault.List) {
			if n++; n%2000 == 0 {
				runtime.GC()
				runtime.ReadMemStats(&m)
				most = max(most, m.HeapAlloc-min(base, m.HeapAlloc))
			}
		})
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		return most
	}
	small, large := peak(body(6_000)), peak(body(60_000))
	if large > small+1<<20 {
		t.Errorf("60,000 rows hold %d KiB, 6,000 hold %d KiB", large>>10, small>>10)
	}
}

func TestRead_AllocationsPerRow(t *testing.T) {
	var b bytes.Buffer
	b.WriteString("lot,weight,color,date\n")
	const rows = 5000
	for i := range rows {
		fmt.Fprintf(&b, "A-%d,%d.25,blue,2026-03-31\n", i, i%900)
	}
	allocs := testing.AllocsPerRun(3, func() {
		if _, faults := readRows(b.Bytes()); faults > 0 {
			t.Fatal("faults")
		}
	})
	if perRow := allocs / rows; perRow > 2 { // one is the csv package's text of a row
		t.Errorf("%.2f allocations a row", perRow)
	}
}

func readRows(body []byte) (rows, faults int) {
	f, bad := Open(bytes.NewReader(body), int64(len(body)), "a.csv", Options{})
	if bad != nil {
		return 0, len(bad)
	}
	bad = f.Read(Table{Sheet: f.Sheets()[0], Kind: "parcel", Columns: testColumns}, func(Row, *fault.List) { rows++ })
	return rows, len(bad)
}

func BenchmarkRead_CSV(b *testing.B) {
	var body bytes.Buffer
	body.WriteString("lot,weight,color,date\n")
	for i := range 100_000 {
		fmt.Fprintf(&body, "A-%d,%d.25,blue,2026-03-31\n", i, i%900)
	}
	for b.Loop() {
		readRows(body.Bytes())
	}
}

// A table of nothing but faults ends at a limit; warnings do not end it.
func TestRead_Limits(t *testing.T) {
	read := func(warn bool) (rows int, faults fault.List) {
		body := "lot,weight\n" + strings.Repeat("A,1\n", 12_000)
		f, bad := Open(strings.NewReader(body), int64(len(body)), "a.csv", Options{})
		if bad != nil {
			t.Fatal(bad)
		}
		faults = f.Read(Table{Columns: testColumns}, func(r Row, l *fault.List) {
			rows++
			x := fault.New(fault.Invalid, "x", "what", "mend").At(r.Where("lot"))
			if warn {
				x = x.AsWarning()
			}
			l.Add(x)
		})
		return rows, faults
	}
	if rows, faults := read(true); rows != 12_000 || len(faults) != 1001 || faults[1000].Code != "warnings-many" ||
		faults.Blocks() {
		t.Errorf("%d rows, %d warnings", rows, len(faults))
	}
	if rows, faults := read(false); rows != 10_000 || len(faults) != 10_001 || faults[10_000].Code != "faults-many" {
		t.Errorf("%d rows, %d faults", rows, len(faults))
	}
}
