package sheet

import (
	"archive/zip"
	"bytes"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"lotpaper/internal/fault"
)

// Options say how a file is to be read.
type Options struct {
	Encoding string // of CSV: "" or "utf-8", or "windows-1252"
}

// Encodings lists the names that Options.Encoding takes.
var Encodings = []string{"utf-8", "windows-1252"}

// File is an opened table file: one CSV table, or the sheets of a workbook.
type File struct {
	Name    string // as shown in faults
	reader  io.ReaderAt
	size    int64
	options Options
	book    *workbookParts // nil: CSV
}

// Open recognises a file by its content, not by its name. What cannot be read
// comes back as faults with mends: an empty file, an old .xls, a damaged or
// oversized zip, a workbook of another program, text in UTF-16.
func Open(r io.ReaderAt, size int64, name string, opt Options) (*File, fault.List) {
	f := &File{Name: name, reader: r, size: size, options: opt}
	if bad := f.recognise(); bad != nil {
		return nil, fault.List{bad.At(fault.Where{File: name})}
	}
	return f, nil
}

func (f *File) recognise() *fault.Fault {
	if f.options.Encoding != "" && !slices.Contains(Encodings, f.options.Encoding) {
		return fault.New(fault.Usage, "encoding-unknown", "the encoding must be utf-8 or windows-1252, but is \""+
			f.options.Encoding+"\"", "write windows-1252, or leave it out for UTF-8").AtField("encoding")
	}
	if f.size == 0 {
		return fault.New(fault.Invalid, "file-empty", "the file is empty", "choose the file that holds the table, or "+
			"save it again")
	}
	if f.size > maxFileBytes {
		return fault.New(fault.Invalid, "file-too-large", "the file is larger than 512 MiB",
			"split it into several files")
	}
	head := make([]byte, min(f.size, 4096))
	if _, err := f.reader.ReadAt(head, 0); err != nil && err != io.EOF {
		return unreadable(err)
	}
	xlsxName := strings.HasSuffix(strings.ToLower(f.Name), ".xlsx") ||
		strings.HasSuffix(strings.ToLower(f.Name), ".xlsm")
	switch {
	case bytes.HasPrefix(head, []byte("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1")):
		return fault.New(fault.Invalid, "file-xls", "this is an old .xls or a password-protected workbook, whatever "+
			"its name says",
			"open it in a spreadsheet program and save it as .xlsx without a password, or as CSV UTF-8")
	case bytes.HasPrefix(head, []byte("PK")):
		z, err := zip.NewReader(f.reader, f.size)
		if err != nil {
			return damaged("its directory is missing or broken")
		}
		var bad *fault.Fault
		f.book, bad = openWorkbook(z)
		return bad
	case bytes.HasPrefix(head, []byte("\xFF\xFE")), bytes.HasPrefix(head, []byte("\xFE\xFF")):
		return fault.New(fault.Invalid, "file-utf16", "the text is UTF-16 (a \"Unicode text\" export)",
			"save it as CSV UTF-8 or as .xlsx")
	case bytes.IndexByte(head, 0) >= 0:
		return fault.New(fault.Invalid, "file-kind", "this is neither a workbook (.xlsx) nor a CSV text",
			"save the table as .xlsx or as CSV UTF-8")
	case looksLikeMarkup(head):
		return fault.New(fault.Invalid, "file-kind", "this is a web page or an XML text, not a table",
			"open it in a spreadsheet program and save it as .xlsx or CSV UTF-8")
	case xlsxName:
		return fault.New(fault.Invalid, "file-kind", "the name says .xlsx but the content is no workbook",
			"save it as .xlsx again, or name it .csv if it is a CSV text")
	case len(bytes.TrimSpace(bytes.TrimPrefix(head, []byte("\xEF\xBB\xBF")))) == 0 && f.size <= int64(len(head)):
		return fault.New(fault.Invalid, "file-empty", "the file holds nothing but blanks",
			"choose the file that holds the table, or save it again")
	}
	return nil
}

func looksLikeMarkup(head []byte) bool {
	t := bytes.ToLower(bytes.TrimSpace(bytes.TrimPrefix(head, []byte("\xEF\xBB\xBF"))))
	for _, p := range []string{"<!doctype", "<html", "<?xml", "<table"} {
		if bytes.HasPrefix(t, []byte(p)) {
			return true
		}
	}
	return false
}

// IsCSV reports whether the file is one CSV table.
func (f *File) IsCSV() bool { return f.book == nil }

// Sheets returns the names of the visible sheets in order; for CSV one empty name.
func (f *File) Sheets() []string {
	if f.book == nil {
		return []string{""}
	}
	var names []string
	for _, s := range f.book.sheets {
		if !s.hidden {
			names = append(names, s.name)
		}
	}
	return names
}

// SheetNamed returns the visible sheet whose name is one of names, compared as
// headers are; ok is false when there is none.
func (f *File) SheetNamed(names ...string) (name string, ok bool) {
	for _, want := range names {
		for _, s := range f.Sheets() {
			if Fold(s) == Fold(want) && s != "" {
				return s, true
			}
		}
	}
	return "", false
}

// Header returns the header cells of a sheet as written, without reading on:
// the row that Read would take for the header of columns.
func (f *File) Header(sheet string, columns Columns) []string {
	src, bad := f.open(sheet)
	if bad != nil {
		return nil
	}
	defer src.close()
	head, _, err := findHeader(src, columns)
	if err != nil {
		return nil
	}
	var out []string
	for _, c := range head.cells {
		out = append(out, clean(c.text))
	}
	return out
}

// maxTitleRows is how many rows with a title, a sender or a date may stand
// above a header.
const maxTitleRows = 30

// findHeader returns the first row that names two columns; when none of the
// first rows does, the first that names one, else the first row, which then
// is told to be no header. after holds the rows that were read past it.
func findHeader(src source, columns Columns) (head rawRow, after []rawRow, err error) {
	var rows []rawRow
	found := -1
	for len(rows) < maxTitleRows {
		row, err := src.next()
		if err != nil {
			if len(rows) == 0 {
				return rawRow{}, nil, err
			}
			if err != io.EOF {
				return rawRow{}, nil, err
			}
			break
		}
		row.cells = slices.Clone(row.cells) // valid only until the next row
		rows = append(rows, row)
		n := 0
		for _, c := range row.cells {
			if columns.find(c.text) >= 0 {
				n++
			}
		}
		if n > 0 && found < 0 {
			found = len(rows) - 1
		}
		if n >= 2 || n == 1 && len(row.cells) == 1 {
			found = len(rows) - 1
			break
		}
	}
	found = max(found, 0)
	return rows[found], rows[found+1:], nil
}

// source yields the rows that hold anything, in order; io.EOF after the last.
// The cells are valid until the next call.
type source interface {
	next() (rawRow, error)
	merged() []mergedRange // known after the last row
	close()
}

type rawRow struct {
	number int // as a spreadsheet shows it
	cells  []rawCell
}

type rawCell struct {
	text string
	kind cellKind
}

type cellKind uint8

const (
	cellText cellKind = iota
	cellNumber
	cellDate    // a number shown as a date; text is the serial
	cellPercent // a number shown as a percentage; text is the fraction
	cellBool
	cellError
	cellFormula // text is the cached value
)

func (f *File) open(sheet string) (source, *fault.Fault) {
	if f.book == nil {
		return f.openCSV()
	}
	return f.book.openSheet(sheet)
}

// validText reports whether s can be a cell's text: UTF-8, and no control
// characters but tabs and line ends.
func validText(s string) bool {
	for i := 0; i < len(s); i++ {
		if s[i] >= utf8.RuneSelf {
			return validRunes(s)
		}
		if isControl(rune(s[i])) {
			return false
		}
	}
	return true
}

func validRunes(s string) bool {
	if !utf8.ValidString(s) {
		return false
	}
	return strings.IndexFunc(s, isControl) < 0
}

func isControl(r rune) bool { return r < 0x20 && r != '\t' && r != '\n' && r != '\r' || r == 0x7f }

func damaged(how string) *fault.Fault {
	return fault.New(fault.Invalid, "zip-damaged", "the workbook is damaged: "+how,
		"get the file again (a download or a copy may have been cut off), or save it anew as .xlsx")
}

func tooLarge() *fault.Fault {
	return fault.New(fault.Invalid, "zip-too-large", "the workbook unpacks to far more than a table can be",
		"do not open it if you do not trust its sender; else copy the table into a new workbook")
}
