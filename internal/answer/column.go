package answer

import "lotpaper/internal/sheet"

// column is one column of a list of R, in all its forms. A line in the list's
// columns is a column on screen, in CSV and in the workbook; its value comes
// from the row that JSON prints.
type column[R any] struct {
	name   string  // its header on screen; empty: files show it, the screen does not
	header string  // its header in files, with the unit; empty: the screen alone shows it
	width  float64 // in files, in characters
	value  func(*R) sheet.Cell
}

// onlyFiled is a column that the screen leaves out.
func onlyFiled[R any](header string, width float64, value func(*R) sheet.Cell) column[R] {
	return column[R]{header: header, width: width, value: value}
}

// screen is a column that files leave out.
func screen[R any](name string, value func(*R) sheet.Cell) column[R] {
	return column[R]{name: name, value: value}
}

// filed are the columns that stand in files.
func filed[R any](all []column[R]) []column[R] {
	var out []column[R]
	for _, c := range all {
		if c.header != "" {
			out = append(out, c)
		}
	}
	return out
}

// sheetColumns are the headers and widths of columns in a workbook.
func sheetColumns[R any](columns []column[R]) []sheet.Col {
	out := make([]sheet.Col, len(columns))
	for i, c := range columns {
		out[i] = sheet.Col{Header: c.header, Width: c.width}
	}
	return out
}

// cells writes r into columns, reusing row's memory: lists may be streamed.
func cells[R any](row []sheet.Cell, columns []column[R], r *R) []sheet.Cell {
	row = row[:0]
	for i := range columns {
		row = append(row, columns[i].value(r))
	}
	return row
}

// Table is a list as it stands on screen.
type Table struct {
	Header  []string
	Right   []bool // by column: numbers stand right
	Rows    [][]string
	Aligned bool // a person reads it, also from a file
}

// tableOf puts rows into the columns that have a name.
func tableOf[R any](columns []column[R], rows []R) *Table {
	t := &Table{}
	var shown []column[R]
	for _, c := range columns {
		if c.name != "" {
			shown = append(shown, c)
			t.Header = append(t.Header, c.name)
		}
	}
	t.Right = make([]bool, len(shown))
	for i := range rows {
		words := make([]string, len(shown))
		for j, c := range shown {
			v := c.value(&rows[i])
			words[j] = v.Plain()
			t.Right[j] = t.Right[j] || v.IsRight()
		}
		t.Rows = append(t.Rows, words)
	}
	return t
}
