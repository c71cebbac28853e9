package answer

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"lotpaper/internal/sheet"
)

// xlsxCell is one cell as a file holds it.
type xlsxCell struct {
	Ref     string `xml:"r,attr"`
	Style   int    `xml:"s,attr"`
	Type    string `xml:"t,attr"`
	Formula string `xml:"f"`
	Value   string `xml:"v"`
	Inline  struct {
		Text string   `xml:"t"`
		Runs []string `xml:"r>t"`
	} `xml:"is"`
	Format string `xml:"-"`
}

// xlsxFile is a workbook read with nothing but zip and XML, so that the check
// does not share a library with what it checks.
type xlsxFile struct {
	names []string // sheets in order
	cells map[string][]xlsxCell
	at    map[string]xlsxCell // by sheet!ref
	media int
	parts map[string][]byte
}

func readXLSX(t *testing.T, raw []byte) xlsxFile {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		t.Fatal(err)
	}
	f := xlsxFile{cells: map[string][]xlsxCell{}, at: map[string]xlsxCell{}, parts: map[string][]byte{}}
	for _, e := range z.File {
		r, err := e.Open()
		if err != nil {
			t.Fatal(err)
		}
		f.parts[e.Name], err = io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		if strings.HasPrefix(e.Name, "xl/media/") {
			f.media++
		}
	}
	decode := func(part string, into any) {
		if err := xml.Unmarshal(f.parts[part], into); err != nil {
			t.Fatalf("%s: %v", part, err)
		}
	}
	var shared struct {
		Items []struct {
			Text string   `xml:"t"`
			Runs []string `xml:"r>t"`
		} `xml:"si"`
	}
	if f.parts["xl/sharedStrings.xml"] != nil {
		decode("xl/sharedStrings.xml", &shared)
	}
	var styles struct {
		Formats []struct {
			ID   int    `xml:"numFmtId,attr"`
			Code string `xml:"formatCode,attr"`
		} `xml:"numFmts>numFmt"`
		Cells []struct {
			Format int `xml:"numFmtId,attr"`
		} `xml:"cellXfs>xf"`
	}
	decode("xl/styles.xml", &styles)
	codes := map[int]string{}
	for _, c := range styles.Formats {
		codes[c.ID] = c.Code
	}
	var wb struct {
		Sheets []struct {
			Name string `xml:"name,attr"`
			ID   string `xml:"http://schemas.openxmlformats.org/officeDocument/2006/relationships id,attr"`
		} `xml:"sheets>sheet"`
	}
	decode("xl/workbook.xml", &wb)
	var rels struct {
		List []struct {
			ID     string `xml:"Id,attr"`
			Target string `xml:"Target,attr"`
		} `xml:"Relationship"`
	}
	decode("xl/_rels/workbook.xml.rels", &rels)
	target := map[string]string{}
	for _, r := range rels.List {
		target[r.ID] = "xl/" + strings.TrimPrefix(strings.TrimPrefix(r.Target, "/xl/"), "xl/")
	}
	for _, s := range wb.Sheets {
		f.names = append(f.names, s.Name)
		var data struct {
			Cells []xlsxCell `xml:"sheetData>row>c"`
		}
		decode(target[s.ID], &data)
		for i := range data.Cells {
			c := &data.Cells[i]
			switch c.Type {
			case "s":
				n, err := strconv.Atoi(c.Value)
				if err != nil {
					t.Fatal(err)
				}
				c.Value = shared.Items[n].Text + strings.Join(shared.Items[n].Runs, "")
			case "inlineStr":
				c.Value = c.Inline.Text + strings.Join(c.Inline.Runs, "")
			}
			if c.Style < len(styles.Cells) {
				c.Format = codes[styles.Cells[c.Style].Format]
			}
			f.at[s.Name+"!"+c.Ref] = *c
		}
		f.cells[s.Name] = data.Cells
	}
	return f
}

func (f xlsxFile) cell(t *testing.T, sheetName, ref string) xlsxCell {
	t.Helper()
	c, ok := f.at[sheetName+"!"+ref]
	if ok {
		return c
	}
	t.Fatalf("no cell %s!%s", sheetName, ref)
	return c
}

// dump lists every cell that holds something: sheet, cell, type, value,
// formula, format.
func (f xlsxFile) dump() string {
	var b strings.Builder
	for _, name := range f.names {
		fmt.Fprintf(&b, "# %s\n", name)
		for _, c := range f.cells[name] {
			if c.Value == "" && c.Formula == "" {
				continue
			}
			kind := "number"
			if c.Type == "s" || c.Type == "str" || c.Type == "inlineStr" {
				kind = "text"
			}
			fmt.Fprintf(&b, "%s\t%s\t%q\t%s\t%s\n", c.Ref, kind, c.Value, c.Formula, c.Format)
		}
	}
	fmt.Fprintf(&b, "# pictures: %d\n", f.media)
	return b.String()
}

func writeBook(t *testing.T, b *sheet.Workbook) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := b.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

var cachedValue = regexp.MustCompile(`(?s)(<c [^>]*>)(\s*<f>.*?</f>)\s*(<v>.*?</v>|<is>.*?</is>)`)

// withoutCaches is the file with the values of its formulas taken out, so that
// a spreadsheet program has to compute them; edit may change the sheets' XML.
func withoutCaches(t *testing.T, raw []byte, edit func(part string, xml []byte) []byte) []byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, e := range z.File {
		r, err := e.Open()
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		if strings.HasPrefix(e.Name, "xl/worksheets/sheet") {
			data = cachedValue.ReplaceAll(data, []byte("$1$2"))
			if edit != nil {
				data = edit(e.Name, data)
			}
		}
		part, err := w.Create(e.Name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := part.Write(data); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}
