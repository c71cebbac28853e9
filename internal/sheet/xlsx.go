package sheet

import (
	"archive/zip"
	"encoding/xml"
	"errors"
	"io"
	"path"
	"strconv"
	"strings"

	"lotpaper/internal/fault"
)

// workbookParts is what the package of a workbook says before any row is read.
type workbookParts struct {
	zip                    *zip.Reader
	sharedPart, stylesPart string
	sheets                 []sheetPart
	date1904               bool
	strings                []string
	formats                []cellKind // by cell style: number, date or percentage
}

type sheetPart struct {
	name   string
	part   string // path inside the zip
	hidden bool
}

// errTooLarge stops the unpacking of a part that grows past its limit.
var errTooLarge = errors.New("part too large")

// openWorkbook reads the sheet list, the shared strings and the cell formats.
func openWorkbook(z *zip.Reader) (*workbookParts, *fault.Fault) {
	w := &workbookParts{zip: z}
	if bad := w.checkPackage(); bad != nil {
		return nil, bad
	}
	for _, load := range []func() error{w.loadSheets, w.loadStrings, w.loadFormats} {
		if err := load(); err != nil {
			return nil, zipFault(err)
		}
	}
	if len(w.sheets) == 0 {
		return nil, damaged("it holds no sheet")
	}
	return w, nil
}

func zipFault(err error) *fault.Fault {
	var f *fault.Fault
	switch {
	case errors.As(err, &f):
		return f
	case errors.Is(err, errTooLarge):
		return tooLarge()
	}
	return damaged(err.Error())
}

// checkPackage refuses what is no .xlsx and what is packed beyond reason: a
// sheet packs about 10 to 50 times, a bomb up to 1000 times.
func (w *workbookParts) checkPackage() *fault.Fault {
	var total uint64
	for _, p := range w.zip.File {
		if p.UncompressedSize64 > 16<<20 && p.UncompressedSize64/200 > p.CompressedSize64 {
			return tooLarge()
		}
		if total += p.UncompressedSize64; total > 2*maxSheetBytes {
			return tooLarge()
		}
	}
	switch {
	case w.file("xl/workbook.xml") != nil || w.file("[Content_Types].xml") != nil && w.file("_rels/.rels") != nil &&
		w.file("xl/workbook.bin") == nil:
		return nil
	case w.file("xl/workbook.bin") != nil:
		return fault.New(fault.Invalid, "file-kind", "this is a binary workbook (.xlsb)",
			"save it as .xlsx or as CSV UTF-8")
	case w.file("mimetype") != nil || w.file("content.xml") != nil:
		return fault.New(fault.Invalid, "file-kind", "this is an OpenDocument file (.ods), not .xlsx",
			"save it as .xlsx or as CSV UTF-8")
	}
	return fault.New(fault.Invalid, "file-kind", "this is a zip archive, but no workbook",
		"unpack it and choose the .xlsx or CSV file inside")
}

func (w *workbookParts) file(name string) *zip.File {
	for _, p := range w.zip.File {
		if strings.EqualFold(strings.TrimPrefix(p.Name, "/"), name) {
			return p
		}
	}
	return nil
}

// part is an open part of the package with its decoder.
type part struct {
	file io.ReadCloser
	*xml.Decoder
}

func (w *workbookParts) openPart(name string, limit int64) (*part, error) {
	f := w.file(name)
	if f == nil {
		return nil, errors.New("the part " + name + " is missing")
	}
	if f.UncompressedSize64 > uint64(limit) { // told by the directory: no need to unpack up to the limit
		return nil, errTooLarge
	}
	r, err := f.Open()
	if err != nil {
		return nil, err
	}
	return &part{r, xml.NewDecoder(&guarded{r: r, left: limit})}, nil
}

// guarded stops at a limit of bytes, and at a run without a tag that no cell
// can hold: the XML decoder would keep such a run in memory whole.
type guarded struct {
	r    io.Reader
	left int64
	run  int
}

func (g *guarded) Read(p []byte) (int, error) {
	n, err := g.r.Read(p)
	g.left -= int64(n)
	last := -1
	for i := n - 1; i >= 0; i-- {
		if p[i] == '<' {
			last = i
			break
		}
	}
	if last < 0 {
		g.run += n
	} else {
		g.run = n - last
	}
	if g.left < 0 || g.run > maxTextRun {
		return 0, errTooLarge
	}
	return n, err
}

// each calls start for every start element of a part.
func (w *workbookParts) each(name string, limit int64, start func(p *part, e xml.StartElement) error) error {
	p, err := w.openPart(name, limit)
	if err != nil {
		return err
	}
	defer p.file.Close()
	for {
		t, err := p.Token()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		if e, ok := t.(xml.StartElement); ok {
			if err := start(p, e); err != nil {
				return err
			}
		}
	}
}

func attr(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// loadSheets reads the names, the order and the parts of the sheets.
func (w *workbookParts) loadSheets() error {
	main := "xl/workbook.xml"
	if w.file(main) == nil {
		err := w.each("_rels/.rels", maxPartBytes, func(_ *part, e xml.StartElement) error {
			if e.Name.Local == "Relationship" && strings.HasSuffix(attr(e, "Type"), "/officeDocument") {
				main = strings.TrimPrefix(attr(e, "Target"), "/")
			}
			return nil
		})
		if err != nil {
			return err
		}
	}
	folder := path.Dir(main)
	target := map[string]string{}
	err := w.each(path.Join(folder, "_rels", path.Base(main)+".rels"), maxPartBytes,
		func(_ *part, e xml.StartElement) error {
			if e.Name.Local == "Relationship" {
				t := attr(e, "Target")
				if strings.HasPrefix(t, "/") {
					t = strings.TrimPrefix(t, "/")
				} else {
					t = path.Join(folder, t)
				}
				kind := attr(e, "Type")
				target[attr(e, "Id")] = t
				target[kind[strings.LastIndexByte(kind, '/')+1:]] = t
			}
			return nil
		})
	if err != nil {
		return err
	}
	w.stringsAt(target["sharedStrings"], target["styles"])
	return w.each(main, maxPartBytes, func(_ *part, e xml.StartElement) error {
		switch e.Name.Local {
		case "workbookPr":
			v := attr(e, "date1904")
			w.date1904 = v == "1" || v == "true"
		case "sheet":
			s := sheetPart{name: attr(e, "name"), hidden: attr(e, "state") == "hidden" ||
				attr(e, "state") == "veryHidden"}
			for _, a := range e.Attr {
				if a.Name.Local == "id" {
					s.part = target[a.Value]
				}
			}
			if s.part == "" {
				return errors.New("sheet " + strconv.Quote(s.name) + " has no part")
			}
			if strings.Contains(s.part, "chartsheet") { // a chart on a sheet of its own holds no cells
				return nil
			}
			w.sheets = append(w.sheets, s)
		}
		return nil
	})
}

// stringsAt notes where the shared strings and the styles are; the usual
// places serve when the relationships do not say.
func (w *workbookParts) stringsAt(sharedStrings, styles string) {
	w.sharedPart, w.stylesPart = sharedStrings, styles
	if sharedStrings == "" {
		w.sharedPart = "xl/sharedStrings.xml"
	}
	if styles == "" {
		w.stylesPart = "xl/styles.xml"
	}
}

// loadStrings reads the shared strings; rich text loses its looks, and the
// reading aids of East Asian text are left out.
func (w *workbookParts) loadStrings() error {
	if w.file(w.sharedPart) == nil {
		return nil
	}
	return w.each(w.sharedPart, maxStringBytes, func(p *part, e xml.StartElement) error {
		if e.Name.Local != "si" {
			return nil
		}
		s, err := richText(p, "si")
		w.strings = append(w.strings, s)
		return err
	})
}

// richText gathers the text up to the end of element end.
func richText(p *part, end string) (string, error) {
	text, inText, aid := "", false, 0
	for {
		t, err := p.Token()
		if err != nil {
			return "", err
		}
		switch e := t.(type) {
		case xml.StartElement:
			switch e.Name.Local {
			case "t":
				inText = true
			case "rPh":
				aid++
			}
		case xml.EndElement:
			switch e.Name.Local {
			case "t":
				inText = false
			case "rPh":
				aid--
			case end:
				return unescape(text), nil
			}
		case xml.CharData:
			if inText && aid == 0 {
				text += string(e)
			}
		}
	}
}

// unescape decodes the _xHHHH_ escapes of control characters (ECMA-376, ST_Xstring).
func unescape(s string) string {
	if !strings.Contains(s, "_x") {
		return s
	}
	var b strings.Builder
	for i := 0; i < len(s); {
		if strings.HasPrefix(s[i:], "_x") && len(s) >= i+7 && s[i+6] == '_' {
			if n, err := strconv.ParseUint(s[i+2:i+6], 16, 16); err == nil {
				b.WriteRune(rune(n))
				i += 7
				continue
			}
		}
		b.WriteByte(s[i])
		i++
	}
	return b.String()
}

// loadFormats tells for each cell style whether its number is shown as a date
// or as a percentage.
func (w *workbookParts) loadFormats() error {
	if w.file(w.stylesPart) == nil {
		return nil
	}
	codes := map[string]string{}
	inCells := false
	return w.each(w.stylesPart, maxPartBytes, func(_ *part, e xml.StartElement) error {
		switch e.Name.Local {
		case "numFmt":
			codes[attr(e, "numFmtId")] = attr(e, "formatCode")
		case "cellXfs":
			inCells = true
		case "cellStyleXfs", "cellStyles", "dxfs":
			inCells = false
		case "xf":
			if inCells {
				w.formats = append(w.formats, formatKind(attr(e, "numFmtId"), codes))
			}
		}
		return nil
	})
}

// formatKind classes a number format: the built-in numbers are those of
// ECMA-376 part 1, 18.8.30 (9 and 10 percentages; 14 to 22, 27 to 36, 45 to 47
// and 50 to 58 dates and times).
func formatKind(id string, codes map[string]string) cellKind {
	if code, ok := codes[id]; ok {
		return codeKind(code)
	}
	n, err := strconv.Atoi(id)
	switch {
	case err != nil:
		return cellNumber
	case n == 9 || n == 10:
		return cellPercent
	case n >= 14 && n <= 22, n >= 27 && n <= 36, n >= 45 && n <= 47, n >= 50 && n <= 58:
		return cellDate
	}
	return cellNumber
}

// codeKind reads a format code: literal text and bracketed parts say nothing.
func codeKind(code string) cellKind {
	code, _, _ = strings.Cut(code, ";")
	quoted, bracket := false, false
	for i := 0; i < len(code); i++ {
		c := code[i]
		switch {
		case c == '\\' || c == '_' || c == '*':
			i++
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '[':
			bracket = true
		case c == ']':
			bracket = false
		case bracket:
		case c == '%':
			return cellPercent
		case strings.IndexByte("yYdDhHmMsS", c) >= 0:
			return cellDate
		}
	}
	return cellNumber
}
