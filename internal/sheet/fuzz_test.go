package sheet

import (
	"archive/zip"
	"bytes"
	"strings"
	"testing"

	"lotpaper/internal/fault"
)

// fuzzRead reads any bytes as a table of testColumns: its rows as cells, and
// whether it was read without a fault.
func fuzzRead(t *testing.T, body []byte) (rows [][]Cell, sound bool) {
	f, faults := Open(bytes.NewReader(body), int64(len(body)), "f.csv", Options{})
	if faults == nil {
		if !f.IsCSV() {
			t.Skip("a workbook")
		}
		faults = f.Read(Table{Kind: "parcel", Columns: testColumns}, func(r Row, _ *fault.List) {
			var row []Cell
			for _, c := range testColumns {
				row = append(row, Text(r.Text(c.Name)))
			}
			rows = append(rows, row)
		})
	}
	for _, x := range faults {
		if x.Where.File != "f.csv" || x.Mend == "" || x.Code == "" {
			t.Fatalf("fault without file, code or mend: %s", x.JSON())
		}
	}
	return rows, !faults.Blocks()
}

// Law: what is read without a fault is written and read again as the same
// rows; what is not read has faults that all name the file and a mend.
func FuzzCSV(f *testing.F) {
	for _, s := range []string{
		"lot,weight,color,date\nA-1,1.25,blue,2026-03-31\n", "\ufefflot;weight\n\"A;1\";2\n",
		"sep=;\nlot;weight\n=1+1;2\n",
		"lot\tweight\n\"a\n\"\"b\"\"\";1\n", "weight,lot,weight\n1,2,3\n", "lot,weight\n\"open", "\n\n\n",
		"lot,weight\n' ,-1\n@x,+1\n", "a,b\xff\n", ",lot,weight\n0",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, body []byte) {
		rows, sound := fuzzRead(t, body)
		if !sound {
			return
		}
		var out bytes.Buffer
		if err := WriteCSV(&out, testColumns.Names(), listed(rows)); err != nil {
			t.Fatal(err)
		}
		again, sound := fuzzRead(t, out.Bytes())
		if !sound {
			t.Fatalf("%q was written as %q, which is not read", body, out.String())
		}
		if len(again) != len(rows) {
			t.Fatalf("%d rows became %d", len(rows), len(again))
		}
		for i := range rows {
			for j := range rows[i] {
				if want, got := rows[i][j].text, again[i][j].text; got != want {
					t.Fatalf("row %d: %q became %q", i, want, got)
				}
			}
		}
	})
}

// Law: a header means the same column in any case and with any of the folded
// marks inside; folding is done once and for all.
func FuzzHeader(f *testing.F) {
	for _, s := range []string{"lot", "Lot No", "COLOUR", " weight ", "weight-", "", "é", "\u00a0date"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, header string) {
		folded := Fold(header)
		if again := Fold(folded); again != folded {
			t.Fatalf("folding %q twice gives %q, then %q", header, folded, again)
		}
		want := testColumns.find(header)
		if got := testColumns.find(folded); got != want {
			t.Fatalf("%q is column %d, folded %d", header, want, got)
		}
		if want >= 0 {
			for _, variant := range []string{strings.ToUpper(header), " " + header + "\t", strings.ReplaceAll(folded,
				"t", "t_")} {
				if got := testColumns.find(variant); got != want {
					t.Fatalf("%q is column %d, %q is %d", header, want, variant, got)
				}
			}
		}
	})
}

// Law: any text as the body of a sheet is read as rows whose numbers rise, or
// has faults that name the file; it never ends the program.
func FuzzSheetXML(f *testing.F) {
	for _, s := range []string{
		`<row r="1"><c r="A1" t="inlineStr"><is><t>lot</t></is></c><c r="B1" t="str"><v>weight</v></c></row><row r="2"><c r="A2"><v>1</v></c><c r="B2"><f>1+1</f><v>2</v></c></row>`,
		`<row><c t="str"><v>lot</v></c><c t="str"><v>weight</v></c></row><row r="9"><c r="ZZZ9"><v>1</v></c><c t="s"><v>7</v></c></row>`,
		`<row r="1"><c t="str"><v>lot</v></c><c t="str"><v>weight</v></c></row><row r="2"><c t="e"><v>#REF!</v></c><c t="b"><v>1</v></c></row></sheetData><mergeCells><mergeCell ref="A1:B9"/><mergeCell ref="::"/></mergeCells><sheetData>`,
		`<row r="0">`, `</row>`, `<row r="1"><c r="1A"/></row>`,
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, body string) {
		var b bytes.Buffer
		z := zip.NewWriter(&b)
		for _, p := range [][2]string{
			{"xl/workbook.xml", `<workbook xmlns:r="r"><sheets><sheet name="S" r:id="r1"/></sheets></workbook>`},
			{"xl/_rels/workbook.xml.rels",
				`<Relationships><Relationship Id="r1" Type="x/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`},
			{"xl/worksheets/sheet1.xml", `<worksheet><sheetData>` + body + `</sheetData></worksheet>`},
		} {
			w, err := z.CreateHeader(&zip.FileHeader{Name: p[0]})
			must(t, err)
			_, err = w.Write([]byte(p[1]))
			must(t, err)
		}
		must(t, z.Close())
		file, faults := Open(bytes.NewReader(b.Bytes()), int64(b.Len()), "f.xlsx", Options{})
		if faults != nil {
			t.Fatal(faults)
		}
		last := 0
		faults = file.Read(Table{Sheet: "S", Kind: "parcel", Columns: testColumns}, func(r Row, _ *fault.List) {
			if r.Number <= last {
				t.Fatalf("row %d after row %d", r.Number, last)
			}
			last = r.Number
		})
		for _, x := range faults {
			if x.Where.File != "f.xlsx" || x.Mend == "" || x.Code == "" {
				t.Fatalf("fault without file, code or mend: %s", x.JSON())
			}
		}
	})
}
