package answer

import (
	"io"
	"strings"

	"lotpaper/internal/sheet"
)

// Listing is an answer in rows: on screen, as CSV and as a workbook.
type Listing interface {
	Screen() Screen
	WriteCSV(io.Writer) error
	Workbook() (*sheet.Workbook, error)
}

// list is rows in their columns, in every form.
type list[R any] struct {
	head    Head  // its title names the sheet
	asOf    *AsOf // nil: of now
	notes   []string
	columns []column[R]
	rows    []R
	first   []string      // the decision, above the table on screen; a list without rows is this alone
	screen  func() Screen // what stands on screen; nil: the decision and the table
}

// Screen is the table, or what the answer shows instead.
func (l *list[R]) Screen() Screen {
	if l.screen != nil {
		return l.screen()
	}
	var s Screen
	s.asOf(l.asOf)
	for _, words := range l.first {
		s.line("%s", words)
	}
	if len(l.rows) == 0 && len(l.first) > 0 {
		return s
	}
	return append(s, Part{Table: tableOf(l.columns, l.rows)})
}

// WriteCSV writes the columns of files.
func (l *list[R]) WriteCSV(w io.Writer) error { return writeCSV(w, l.columns, each(l.rows)) }

// Workbook is a workbook of one sheet with the columns of files.
func (l *list[R]) Workbook() (*sheet.Workbook, error) {
	columns := filed(l.columns)
	s := sheet.Sheet{Name: sheet.SheetName(l.head.Title), Title: l.head.Title, Landscape: true, FreezeCol: 1,
		Columns: sheetColumns(columns)}
	if about := fields(string(l.head.On), l.head.Dealer, l.asOf.Words()); len(about) > 0 {
		s.Notes = append(s.Notes, strings.Join(about, ", ")+".")
	}
	s.Notes = append(s.Notes, l.notes...)
	if l.head.Book != "" {
		s.Notes = append(s.Notes, "Book, head hash "+l.head.Book+".")
	}
	for i := range l.rows {
		row := cells(nil, columns, &l.rows[i])
		for j, c := range row {
			if !c.IsRight() {
				row[j] = c.Wrap() // no name is cut on paper
			}
		}
		s.Rows = append(s.Rows, row)
	}
	return &sheet.Workbook{Title: l.head.Title, Created: string(l.head.On), Sheets: []sheet.Sheet{s}}, nil
}

// each gives rows one by one until it says false.
func each[R any](rows []R) func() (*R, bool) {
	at := -1
	return func() (*R, bool) {
		if at++; at >= len(rows) {
			return nil, false
		}
		return &rows[at], true
	}
}

// writeCSV writes the columns of files, while next gives the rows.
func writeCSV[R any](w io.Writer, columns []column[R], next func() (*R, bool)) error {
	columns = filed(columns)
	header := make([]string, len(columns))
	for i, c := range columns {
		header[i] = c.header
	}
	var row []sheet.Cell
	return sheet.WriteCSV(w, header, func() ([]sheet.Cell, bool) {
		r, ok := next()
		if !ok {
			return nil, false
		}
		row = cells(row, columns, r)
		return row, true
	})
}
