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
	"pgregory.net/rapid"

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
	got, faults := readAll(t, "a.csv", []byte("Stones of March\n\nfrom;Kowal\nLot;Weight;Color;Date\nA-1;1.25;blue;2026-03-31\n"), Options{})
	if d := cmp.Diff(want, got); d != "" || len(faults) > 0 {
		t.Errorf("%s %v", d, codes(faults))
	}
	s := Sheet{Name: "Stones", Title: "Stones of March", Notes: []string{"from Kowal"}, Columns: []Col{{Header: "Lot"}, {Header: "WEIGHT"}, {Header: "Color"}, {Header: "Date"}},
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
	if !strings.Contains(faults[0].Mend, "--encoding windows-1252") {
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
	if !strings.Contains(faults[0].Mend, `rename column "wieght" to weight`) || !strings.Contains(faults[1].Mend, "did you mean weight") {
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
		{"ods", "a.ods", "file-kind", zipOf(map[string]string{"mimetype": "application/vnd.oasis.opendocument.spreadsheet", "content.xml": "<x/>"})},
		{"xlsb", "a.xlsb", "file-kind", zipOf(map[string]string{"[Content_Types].xml": "<x/>", "_rels/.rels": "<x/>", "xl/workbook.bin": ""})},
		{"no sheets", "a.xlsx", "zip-damaged", zipOf(map[string]string{"xl/workbook.xml": "<workbook/>", "xl/_rels/workbook.xml.rels": "<Relationships/>"})},
		{"broken xml", "a.xlsx", "zip-damaged", zipOf(map[string]string{"xl/workbook.xml": "<workbook><sheets>", "xl/_rels/workbook.xml.rels": "<Relationships/>"})},
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

func TestRead_XLSX(t *testing.T) {
	day := 46112.0 // 2026-03-31 in the 1900 system
	dated := func(f *excelize.File) int {
		id, err := f.NewStyle(&excelize.Style{NumFmt: 14})
		must(t, err)
		return id
	}
	percent := func(f *excelize.File) int {
		id, err := f.NewStyle(&excelize.Style{NumFmt: 10})
		must(t, err)
		return id
	}
	set := func(f *excelize.File, cell string, v any) { must(t, f.SetCellValue("Sheet1", cell, v)) }
	for _, c := range []struct {
		name  string
		build func(f *excelize.File)
		rows  []string
		want  []string
	}{
		{"values", func(f *excelize.File) {
			set(f, "A2", "A-1")
			set(f, "B2", 1.25)
			set(f, "C2", "blue & <green>")
			set(f, "D2", day)
			must(t, f.SetCellStyle("Sheet1", "D2", "D2", dated(f)))
			set(f, "A5", 7)
			set(f, "B5", "0.5")
		}, []string{"2|A-1|1.25|blue & <green>|2026-03-31", "5|7|0.5||"}, nil},
		{"1904", func(f *excelize.File) {
			must(t, f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: ptr(true)}))
			set(f, "A2", "A-1")
			set(f, "B2", 1)
			set(f, "D2", day-1462) // the 1904 system counts 1462 days less
			must(t, f.SetCellStyle("Sheet1", "D2", "D2", dated(f)))
		}, []string{"2|A-1|1||2026-03-31"}, nil},
		{"fifteen digits", func(f *excelize.File) {
			for i, v := range []string{"0.30000000000000004", "1.2E-3", "1E3", "12345678901234567", "-0"} {
				must(t, f.SetCellDefault("Sheet1", Ref(2, i+2), v))
				set(f, Ref(1, i+2), "x")
			}
		}, []string{"2|x|0.3||", "3|x|0.0012||", "4|x|1000||", "5|x|12345678901234600||", "6|x|-0||"}, nil},
		{"formula", func(f *excelize.File) {
			set(f, "A2", "A-1")
			must(t, f.SetCellFormula("Sheet1", "B2", "1+1"))
			set(f, "A3", "A-2")
			set(f, "B3", 2)
		}, []string{"2|A-1|||", "3|A-2|2||"}, []string{"cell-formula@2:B"}},
		{"formula outside", func(f *excelize.File) {
			set(f, "A2", "A-1")
			set(f, "B2", 2)
			set(f, "E1", "check")
			must(t, f.SetCellFormula("Sheet1", "E2", "B2*2"))
		}, []string{"2|A-1|2||"}, []string{"warning column-unknown@1:E"}},
		{"merged", func(f *excelize.File) {
			set(f, "A2", "A-1")
			set(f, "B2", 1)
			set(f, "B3", 2)
			must(t, f.MergeCell("Sheet1", "A2", "A3"))
		}, []string{"2|A-1|1||", "3||2||"}, []string{"cell-merged@2:A"}},
		{"merged outside", func(f *excelize.File) {
			set(f, "A2", "A-1")
			set(f, "B2", 1)
			must(t, f.MergeCell("Sheet1", "G2", "H3"))
		}, []string{"2|A-1|1||"}, nil},
		{"made a date", func(f *excelize.File) {
			set(f, "A2", day)
			must(t, f.SetCellStyle("Sheet1", "A2", "A2", dated(f)))
			set(f, "B2", 1)
		}, []string{"2||1||"}, []string{"cell-date@2:A"}},
		{"number for a date", func(f *excelize.File) {
			set(f, "A2", "A-1")
			set(f, "B2", 1)
			set(f, "D2", 20260331)
		}, []string{"2|A-1|1||"}, []string{"date-format@2:D"}},
		{"percent", func(f *excelize.File) {
			set(f, "A2", "A-1")
			set(f, "B2", 0.125)
			must(t, f.SetCellStyle("Sheet1", "B2", "B2", percent(f)))
		}, []string{"2|A-1|12.5%||"}, nil},
		{"rich text", func(f *excelize.File) {
			set(f, "A2", "A-1")
			set(f, "B2", 1)
			must(t, f.SetCellRichText("Sheet1", "C2", []excelize.RichTextRun{{Text: "blue "}, {Text: "green", Font: &excelize.Font{Bold: true}}}))
		}, []string{"2|A-1|1|blue green|"}, nil},
		{"value beside the table", func(f *excelize.File) {
			set(f, "A2", "A-1")
			set(f, "B2", 1)
			set(f, "F2", "stray")
		}, []string{"2|A-1|1||"}, []string{"warning column-unnamed@2:F"}},
		{"hidden sheet first", func(f *excelize.File) {
			set(f, "A2", "A-1")
			set(f, "B2", 1)
			_, err := f.NewSheet("Other")
			must(t, err)
			must(t, f.SetCellValue("Other", "A1", "lot"))
			must(t, f.SetCellValue("Other", "B1", "weight"))
			must(t, f.SetCellValue("Other", "A2", "B-1"))
			f.SetActiveSheet(1)
			must(t, f.SetSheetVisible("Sheet1", false))
		}, []string{"2|B-1|||"}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			rows, faults := readAll(t, "a.xlsx", xlsx(t, c.build), Options{})
			if d := cmp.Diff(c.rows, rows); d != "" {
				t.Error(d)
			}
			if d := cmp.Diff(c.want, codes(faults)); d != "" {
				t.Error(d)
			}
		})
	}
}

// What other programs write: prefixed names, cells without references, shared
// and inline strings, reading aids, escapes, errors, truth values.
func TestRead_XLSX_OtherWriters(t *testing.T) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, p := range [][2]string{
		{"xl/workbook.xml", `<x:workbook xmlns:x="m" xmlns:r="r"><x:sheets><x:sheet name="S" sheetId="1" r:id="r1"/></x:sheets></x:workbook>`},
		{"xl/_rels/workbook.xml.rels", `<Relationships><Relationship Id="r1" Type="x/worksheet" Target="/xl/worksheets/one.xml"/><Relationship Id="r2" Type="x/sharedStrings" Target="strings.xml"/></Relationships>`},
		{"xl/strings.xml", `<sst><si><t>lot</t></si><si><r><t>wei</t></r><r><t>ght</t></r><rPh><t>no</t></rPh></si><si><t xml:space="preserve"> a_x000D_b_x005F_x </t></si></sst>`},
		{"xl/worksheets/one.xml", `<x:worksheet xmlns:x="m"><x:sheetData><x:row><x:c t="s"><x:v>0</x:v></x:c><x:c t="s"><x:v>1</x:v></x:c><x:c t="inlineStr"><x:is><x:t>co</x:t><x:rPh><x:t>no</x:t></x:rPh></x:is></x:c><x:c r="C1" t="str"><x:v>color</x:v></x:c><x:c t="inlineStr"><x:is><x:t>date</x:t></x:is></x:c></x:row>
			<x:row r="4"><x:c r="A4" t="s"><x:v>2</x:v></x:c><x:c r="B4" t="e"><x:v>#N/A</x:v></x:c><x:c r="C4" t="b"><x:v>1</x:v></x:c><x:c r="D4" t="d"><x:v>2026-03-31T00:00:00</x:v></x:c></x:row></x:sheetData></x:worksheet>`},
	} {
		w, err := z.Create(p[0])
		must(t, err)
		_, err = io.WriteString(w, p[1])
		must(t, err)
	}
	must(t, z.Close())
	rows, faults := readAll(t, "a.xlsx", b.Bytes(), Options{})
	if d := cmp.Diff([]string{"4|a\rb_x||true|2026-03-31"}, rows); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff([]string{"cell-error@4:B"}, codes(faults)); d != "" {
		t.Error(d)
	}
}

// Day numbers as ECMA-376 part 1, 18.17.4.1 counts them, with the 29 February
// 1900 that never was.
func TestSerialDate(t *testing.T) {
	for _, c := range []struct {
		serial string
		d1904  bool
		want   string
	}{
		{"1", false, "1900-01-01"}, {"59", false, "1900-02-28"}, {"60", false, ""}, {"61", false, "1900-03-01"}, {"0", false, ""},
		{"25569", false, "1970-01-01"}, {"46112.75", false, "2026-03-31"}, {"0", true, "1904-01-01"}, {"44650", true, "2026-03-31"},
		{"2958465", false, "9999-12-31"}, {"2958466", false, ""}, {"-1", false, ""}, {"x", false, ""},
	} {
		if got, ok := serialDate(c.serial, c.d1904); got != c.want || ok != (c.want != "") {
			t.Errorf("serialDate(%s, %v) = %q, %v; want %q", c.serial, c.d1904, got, ok, c.want)
		}
	}
}

func TestFormatKind(t *testing.T) {
	for code, want := range map[string]cellKind{
		"0.00": cellNumber, "#,##0.00 \"days\"": cellNumber, "yyyy-mm-dd": cellDate, "[$-409]d/m/yy;@": cellDate, "0.0%": cellPercent,
		"[h]:mm": cellDate, "\\d0": cellNumber, "[Red]0.00": cellNumber, "_-* #,##0.00_-": cellNumber, "General": cellNumber, "0.00E+00": cellNumber,
	} {
		if got := codeKind(code); got != want {
			t.Errorf("%s: %d, want %d", code, got, want)
		}
	}
}

// What we read is what an independent reader of the same file reads.
func TestRead_XLSX_AgainstLibrary(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		text := rapid.StringMatching(`[A-Za-z0-9 =+<&>'"é_x]{0,12}`)
		f := excelize.NewFile()
		defer f.Close()
		for i, h := range []string{"lot", "weight", "color", "date"} {
			must(t, f.SetCellValue("Sheet1", Ref(i+1, 1), h))
		}
		n := rapid.IntRange(1, 8).Draw(rt, "rows")
		for r := range n {
			if rapid.Bool().Draw(rt, "filled") {
				must(t, f.SetCellValue("Sheet1", Ref(1, r+2), text.Draw(rt, "lot")))
			}
			must(t, f.SetCellValue("Sheet1", Ref(2, r+2), rapid.Float64Range(-1e9, 1e9).Draw(rt, "weight")))
			must(t, f.SetCellValue("Sheet1", Ref(3, r+2), text.Draw(rt, "color")))
		}
		b, err := f.WriteToBuffer()
		must(t, err)
		back, err := excelize.OpenReader(bytes.NewReader(b.Bytes()), excelize.Options{RawCellValue: true})
		must(t, err)
		defer back.Close()
		theirs, err := back.GetRows("Sheet1")
		must(t, err)
		var want []string
		for i, r := range theirs[1:] {
			for len(r) < 4 {
				r = append(r, "")
			}
			want = append(want, fmt.Sprintf("%d|%s|%s|%s|%s", i+2, clean(r[0]), plainNumber(r[1]), clean(r[2]), r[3]))
		}
		got, faults := readAll(t, "a.xlsx", b.Bytes(), Options{})
		if d := cmp.Diff(want, got); d != "" || len(faults) > 0 {
			rt.Fatalf("%s %v", d, codes(faults))
		}
	})
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
	if rows, faults := read(true); rows != 12_000 || len(faults) != 1001 || faults[1000].Code != "warnings-many" || faults.Blocks() {
		t.Errorf("%d rows, %d warnings", rows, len(faults))
	}
	if rows, faults := read(false); rows != 10_000 || len(faults) != 10_001 || faults[10_000].Code != "faults-many" {
		t.Errorf("%d rows, %d faults", rows, len(faults))
	}
}
