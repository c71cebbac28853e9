package sheet

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"lotpaper/internal/fault"
)

// Table says what is read from a sheet.
type Table struct {
	Sheet   string // name of the sheet; of CSV empty
	Kind    string // of `lotpaper template KIND`, for mends; empty when there is none
	Columns Columns
}

// table is a table while it is read.
type table struct {
	file      *File
	sheet     string
	kind      string
	cols      Columns
	index     map[string]int // column name -> index in cols
	at        []int          // index in cols -> index in the row, -1 absent
	header    []string
	headerRow int
	wide      map[int]bool // columns without a header that were warned of
	fields    []string     // of a form: the name of each column's field; nil: the table is of a file
}

// Row is one data row. Its cells are asked for by the canonical name of their
// column. It is valid until the next row is read.
type Row struct {
	Number int // as the spreadsheet shows it
	table  *table
	text   []string
	bad    []bool
}

// Has reports whether the file has the column.
func (r Row) Has(column string) bool {
	i, ok := r.table.index[column]
	return ok && (r.table.fields != nil || r.table.at[i] >= 0)
}

// Text returns the cell's text without blanks around it: numbers as their
// digits, dates as YYYY-MM-DD; empty when the cell or the column is.
func (r Row) Text(column string) string {
	i, ok := r.table.index[column]
	if !ok {
		panic("sheet: no column " + column) // a slip in the caller's definition
	}
	return r.text[i]
}

// IsBad reports whether the cell already has a fault, so that its text says
// nothing.
func (r Row) IsBad(column string) bool { return r.bad[r.table.index[column]] }

// Where is the place of a cell; of the row when the file lacks the column.
func (r Row) Where(column string) fault.Where {
	i, ok := r.table.index[column]
	if ok && r.table.fields != nil {
		return fault.Where{Field: r.table.fields[i]}
	}
	if !ok || r.table.at[i] < 0 {
		return fault.Where{File: r.table.file.Name, Sheet: r.table.sheet, Row: r.Number}
	}
	return r.table.where(r.Number, r.table.at[i])
}

// HeaderWhere is the place of a column's header.
func (r Row) HeaderWhere(column string) fault.Where {
	h := Row{Number: r.table.headerRow, table: r.table}
	return h.Where(column)
}

func (t *table) where(row, cell int) fault.Where {
	w := fault.Where{File: t.file.Name, Sheet: t.sheet, Row: row, Column: Letters(cell + 1)}
	if cell < len(t.header) {
		w.Header = t.header[cell]
	}
	return w
}

// Read streams the rows under the header to each and returns every fault of
// the sheet by row: its own and those that each adds. The header is the first
// row that names columns of the table: a title may stand above it. Columns may
// stand in any order.
func (f *File) Read(what Table, each func(Row, *fault.List)) fault.List {
	t := &table{file: f, sheet: what.Sheet, kind: what.Kind, cols: what.Columns, index: map[string]int{},
		wide: map[int]bool{}}
	for i, c := range t.cols {
		t.index[c.Name] = i
	}
	src, bad := f.open(what.Sheet)
	if bad != nil {
		return fault.List{t.place(bad)}
	}
	defer src.close()
	head, waiting, err := findHeader(src, t.cols)
	if err != nil {
		return fault.List{t.stopped(err, "the table is empty: it has no header")}
	}
	faults, known := t.mapHeader(head)
	if !known {
		return faults
	}
	row := Row{table: t, text: make([]string, len(t.cols)), bad: make([]bool, len(t.cols))}
	rows := 0
	held := tally{of: t}
	for {
		var raw rawRow
		var err error
		if len(waiting) > 0 {
			raw, waiting = waiting[0], waiting[1:]
		} else {
			raw, err = src.next()
		}
		if err == io.EOF {
			break
		}
		if err != nil {
			faults.Add(t.stopped(err, ""))
			break
		}
		row.Number = raw.number
		if t.fill(&row, raw, &faults) {
			rows++
			each(row, &faults)
		}
		if faults = held.trim(faults, raw.number); held.full {
			break
		}
	}
	if rows == 0 && !faults.Blocks() {
		faults.Add(fault.New(fault.Invalid, "rows-missing", "the table has a header but no row below it",
			"fill in at least one row").
			At(fault.Where{File: f.Name, Sheet: t.sheet, Row: t.headerRow}))
	}
	faults = t.withMerges(faults, src.merged())
	slices.SortStableFunc(faults, func(a, b *fault.Fault) int { return cmp.Compare(a.Where.Row, b.Where.Row) })
	return held.closing(faults)
}

// tally bounds what is told of one table: a file of a hundred thousand wrong
// rows is mended step by step, and one warning for each would be no warning.
type tally struct {
	of               *table
	told             int // faults that trim has seen
	errors, warnings int
	left             int // warnings left out
	full             bool
}

// trim drops warnings past their limit, and ends the reading at the limit of
// faults.
func (h *tally) trim(faults fault.List, row int) fault.List {
	kept := faults[:h.told]
	for _, f := range faults[h.told:] {
		switch {
		case !f.Warning:
			h.errors++
		case h.warnings >= maxWarnings:
			h.left++
			continue
		default:
			h.warnings++
		}
		kept = append(kept, f)
	}
	if h.errors >= maxFaults {
		h.full = true
		kept.Add(fault.New(fault.Invalid, "faults-many", "more faults follow below this row",
			"mend these first, then try again").At(h.of.where(row, 0)))
	}
	h.told = len(kept)
	return kept
}

func (h *tally) closing(faults fault.List) fault.List {
	if h.left > 0 {
		faults.Add(fault.New(fault.Invalid, "warnings-many",
			fmt.Sprintf("%d further warnings of this table are left out", h.left), "look at the ones shown first").
			At(fault.Where{File: h.of.file.Name, Sheet: h.of.sheet}).AsWarning())
	}
	return faults
}

// place gives a fault the file and sheet that its maker did not know.
func (t *table) place(f *fault.Fault) *fault.Fault {
	w := f.Where
	w.File, w.Sheet = t.file.Name, t.sheet
	return f.At(w)
}

// stopped turns the error that ended the reading into a fault.
func (t *table) stopped(err error, ifEmpty string) *fault.Fault {
	var f *fault.Fault
	switch {
	case err == io.EOF:
		f = fault.New(fault.Invalid, "file-empty", ifEmpty, "choose the file or sheet that holds the table")
	case errors.As(err, &f):
	default:
		f = unreadable(err)
	}
	return t.place(f)
}

// fill turns the raw cells into the row's texts, column by column. Rows without
// a value in a known column are skipped: any is false for them.
func (t *table) fill(row *Row, raw rawRow, faults *fault.List) (any bool) {
	for i := range t.cols {
		row.text[i], row.bad[i] = "", false
		at := t.at[i]
		if at < 0 || at >= len(raw.cells) {
			continue
		}
		text, bad := t.value(t.cols[i].Kind, raw.cells[at])
		if bad != nil {
			faults.Add(bad.At(t.where(raw.number, at)))
			row.bad[i] = true
		}
		row.text[i] = text
		any = any || text != "" || row.bad[i]
	}
	for at := len(t.header); at < len(raw.cells); at++ {
		if clean(raw.cells[at].text) == "" {
			continue
		}
		if t.file.IsCSV() {
			faults.Add(fault.New(fault.Invalid, "row-too-long",
				fmt.Sprintf("the row has %d fields, but the header has %d", len(raw.cells), len(t.header)),
				"write a text that holds a separator in quotes, or remove the extra fields").At(
				t.where(raw.number, at)))
			return any
		}
		t.warnUnnamed(raw.number, at, faults)
	}
	for at, h := range t.header {
		if h == "" && at < len(raw.cells) && clean(raw.cells[at].text) != "" {
			t.warnUnnamed(raw.number, at, faults)
		}
	}
	return any
}

func (t *table) warnUnnamed(row, at int, faults *fault.List) {
	if t.wide[at] {
		return
	}
	t.wide[at] = true
	faults.Add(fault.New(fault.Invalid, "column-unnamed", "column "+Letters(at+1)+" holds values but has no header, "+
		"and is not read",
		"give it a header, or clear it").At(t.where(row, at)).AsWarning())
}

// value turns one cell into text by the kind of its column.
func (t *table) value(kind Kind, c rawCell) (string, *fault.Fault) {
	switch c.kind {
	case cellFormula:
		return clean(c.text), fault.New(fault.Invalid, "cell-formula", "the cell holds a formula where a value is "+
			"wanted",
			"copy the column and paste it as values only")
	case cellError:
		return "", fault.New(fault.Invalid, "cell-error", "the cell shows the error "+c.text, "enter the value itself")
	case cellDate:
		if kind != DateColumn {
			return "", fault.New(fault.Invalid, "cell-date", "the spreadsheet made a date of what was typed here",
				"format the column as text (or number), then type the value again")
		}
		day, ok := serialDate(c.text, t.file.book.date1904)
		if !ok {
			return "", fault.New(fault.Invalid, "date-format", "the cell holds no valid date",
				"write it like 2026-03-31")
		}
		return day, nil
	case cellNumber:
		if kind == DateColumn {
			return "", fault.New(fault.Invalid, "date-format", "a date is wanted, but the cell holds the number "+
				c.text, "write it like 2026-03-31, or format the cell as a date")
		}
		return c.text, nil
	}
	if !validText(c.text) {
		return "", encodingOrControl(c.text)
	}
	text := clean(c.text)
	if strings.ContainsRune(text, '\uFFFD') {
		return "", encodingFault()
	}
	return text, nil
}

func encodingOrControl(s string) *fault.Fault {
	if strings.IndexFunc(s, isControl) >= 0 && strings.ToValidUTF8(s, "") == s {
		return fault.New(fault.Invalid, "text-control", "the text holds a control character: "+strconv.QuoteToASCII(s),
			"delete the cell and type it again")
	}
	return encodingFault()
}

func encodingFault() *fault.Fault {
	return fault.New(fault.Invalid, "text-encoding", "the text is not UTF-8: its accented letters cannot be read",
		"save the file as CSV UTF-8 or .xlsx, or name the encoding windows-1252 when it comes from an older Windows "+
			"program")
}

// withMerges adds a fault for each merged block that touches a known column,
// and drops the faults of the cells that the merge had emptied.
func (t *table) withMerges(faults fault.List, merges []mergedRange) fault.List {
	var blocks []mergedRange
	for _, m := range merges {
		if m.toRow < t.headerRow {
			continue
		}
		for _, at := range t.at {
			if at >= 0 && at+1 >= m.col && at+1 <= m.toCol {
				blocks = append(blocks, m)
				break
			}
		}
	}
	if len(blocks) == 0 {
		return faults
	}
	var out fault.List
	for _, f := range faults {
		col, covered := columnOf(f.Where.Column), false
		for _, m := range blocks {
			if f.Where.Row >= m.row && f.Where.Row <= m.toRow && col >= m.col && col <= m.toCol &&
				(f.Where.Row != m.row || col != m.col) {
				covered = true
				break
			}
		}
		if !covered {
			out.Add(f)
		}
	}
	for _, m := range blocks {
		out.Add(fault.New(fault.Invalid, "cell-merged", "the cells "+m.ref+" are merged",
			"unmerge them and fill in every row").At(t.where(m.row, m.col-1)))
	}
	return out
}
