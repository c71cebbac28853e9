package sheet

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"
)

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
			must(t, f.SetCellRichText("Sheet1", "C2", []excelize.RichTextRun{{Text: "blue "},
				{Text: "green", Font: &excelize.Font{Bold: true}}}))
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
		{"xl/workbook.xml",
			`<x:workbook xmlns:x="m" xmlns:r="r"><x:sheets><x:sheet name="S" sheetId="1" r:id="r1"/></x:sheets></x:workbook>`},
		{"xl/_rels/workbook.xml.rels",
			`<Relationships><Relationship Id="r1" Type="x/worksheet" Target="/xl/worksheets/one.xml"/><Relationship Id="r2" Type="x/sharedStrings" Target="strings.xml"/></Relationships>`},
		{"xl/strings.xml",
			`<sst><si><t>lot</t></si><si><r><t>wei</t></r><r><t>ght</t></r><rPh><t>no</t></rPh></si><si><t xml:space="preserve"> a_x000D_b_x005F_x </t></si></sst>`},
		{"xl/worksheets/one.xml",
			`<x:worksheet xmlns:x="m"><x:sheetData><x:row><x:c t="s"><x:v>0</x:v></x:c><x:c t="s"><x:v>1</x:v></x:c><x:c t="inlineStr"><x:is><x:t>co</x:t><x:rPh><x:t>no</x:t></x:rPh></x:is></x:c><x:c r="C1" t="str"><x:v>color</x:v></x:c><x:c t="inlineStr"><x:is><x:t>date</x:t></x:is></x:c></x:row>
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
		{"1", false, "1900-01-01"}, {"59", false, "1900-02-28"}, {"60", false, ""}, {"61", false, "1900-03-01"},
		{"0", false, ""},
		{"25569", false, "1970-01-01"}, {"46112.75", false, "2026-03-31"}, {"0", true, "1904-01-01"}, {"44650", true,
			"2026-03-31"},
		{"2958465", false, "9999-12-31"}, {"2958466", false, ""}, {"-1", false, ""}, {"x", false, ""},
	} {
		if got, ok := serialDate(c.serial, c.d1904); got != c.want || ok != (c.want != "") {
			t.Errorf("serialDate(%s, %v) = %q, %v; want %q", c.serial, c.d1904, got, ok, c.want)
		}
	}
}

func TestFormatKind(t *testing.T) {
	for code, want := range map[string]cellKind{
		"0.00": cellNumber, "#,##0.00 \"days\"": cellNumber, "yyyy-mm-dd": cellDate, "[$-409]d/m/yy;@": cellDate,
		"0.0%":   cellPercent,
		"[h]:mm": cellDate, "\\d0": cellNumber, "[Red]0.00": cellNumber, "_-* #,##0.00_-": cellNumber,
		"General": cellNumber, "0.00E+00": cellNumber,
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
