package facts

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"lotpaper/data"
	"lotpaper/internal/csvtable"
)

// row is one line of an embedded table. Its methods panic with file:line on a
// cell that does not parse: the tables are part of the program, and the tests
// read every row of every one.
type row struct {
	file  string
	line  int
	cells map[string]string // by column
}

// readRows reads the embedded table of that file name.
func readRows(file string) []row {
	table, err := csvtable.Read(data.FS, file)
	if err != nil {
		panic("facts: " + err.Error())
	}
	rows := make([]row, 0, len(table))
	for i, cells := range table {
		rows = append(rows, row{file, i + csvtable.FirstLine, cells})
	}
	return rows
}

// load reads a table and turns each of its rows into a T.
func load[T any](file string, parse func(row) *T) func() []*T {
	return func() []*T {
		rows := readRows(file)
		out := make([]*T, 0, len(rows))
		for _, r := range rows {
			out = append(out, parse(r))
		}
		return out
	}
}

// fail reports a cell that cannot be read.
func (r row) fail(column, what string) {
	panic(fmt.Sprintf("facts: %s:%d: column %s: %s", r.file, r.line, column, what))
}

// text returns the cell of a column.
func (r row) text(column string) string {
	s, ok := r.cells[column]
	if !ok {
		r.fail(column, "no such column")
	}
	return s
}

// must returns a cell that may not be empty.
func (r row) must(column string) string {
	s := r.text(column)
	if s == "" {
		r.fail(column, "is empty")
	}
	return s
}

// list splits a cell at semicolons.
func (r row) list(column string) []string {
	s := r.text(column)
	if s == "" {
		return nil
	}
	parts := strings.Split(s, ";")
	for i := range parts {
		parts[i] = strings.TrimSpace(parts[i])
	}
	return parts
}

// optional reads a number; ok is false when the cell is empty.
func (r row) optional(column string) (v float64, ok bool) {
	s := r.text(column)
	if s == "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		r.fail(column, strconv.Quote(s)+" is no number")
	}
	return v, true
}

// number reads a number; an empty cell is a fault.
func (r row) number(column string) float64 {
	v, ok := r.optional(column)
	if !ok {
		r.fail(column, "is empty")
	}
	return v
}

// integer reads a whole number; an empty cell is 0.
func (r row) integer(column string) int {
	s := r.text(column)
	if s == "" {
		return 0
	}
	n, err := strconv.Atoi(s)
	if err != nil {
		r.fail(column, strconv.Quote(s)+" is no whole number")
	}
	return n
}

// span reads the columns prefix_min and prefix_max; both empty is unknown.
func (r row) span(prefix string) Range {
	low, okLow := r.optional(prefix + "_min")
	high, okHigh := r.optional(prefix + "_max")
	switch {
	case okLow != okHigh:
		r.fail(prefix, "has one end only")
	case !okLow:
		return Range{}
	case low > high:
		r.fail(prefix, fmt.Sprintf("is upside down: %v to %v", low, high))
	}
	return Span(low, high)
}

// yes reads a yes/no cell; empty is no.
func (r row) yes(column string) bool {
	return word(r, column, "", "no", "yes") == "yes"
}

// word reads a cell that must be one of the allowed words.
func word[T ~string](r row, column string, allowed ...T) T {
	w := T(r.text(column))
	if !slices.Contains(allowed, w) {
		r.fail(column, fmt.Sprintf("%q is none of %q", w, allowed))
	}
	return w
}
