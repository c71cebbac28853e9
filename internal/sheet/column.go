package sheet

import (
	"fmt"
	"strconv"
	"strings"

	"lotpaper/internal/fault"
)

// Kind says what the cells of a column hold.
type Kind uint8

// The kinds of columns. They decide how a stored cell becomes text: a number
// column takes numbers, a date column dates (as YYYY-MM-DD), a text column
// what was typed.
const (
	TextColumn Kind = iota
	NumberColumn
	DateColumn
)

// Column defines one column of a kind of table. One definition serves reading,
// the empty workbook to fill in, and its notes.
type Column struct {
	Name     string // canonical header
	Aliases  []string
	Kind     Kind
	Required bool
	Words    []string // the words it takes; empty: any text
	Note     string   // what to fill in, for the notes sheet
	Example  string
}

// Columns is the definition of a table, in the order in which it is written.
type Columns []Column

// Names lists the canonical headers.
func (cs Columns) Names() []string {
	var names []string
	for _, c := range cs {
		names = append(names, c.Name)
	}
	return names
}

// Matches counts the header cells that name a column of cs.
func (cs Columns) Matches(header []string) int {
	n := 0
	for _, h := range header {
		if cs.find(h) >= 0 {
			n++
		}
	}
	return n
}

func (cs Columns) find(header string) int {
	folded := Fold(header)
	if folded == "" {
		return -1
	}
	for i, c := range cs {
		if Fold(c.Name) == folded {
			return i
		}
		for _, a := range c.Aliases {
			if Fold(a) == folded {
				return i
			}
		}
	}
	return -1
}

// near returns the canonical names closest to an unknown header.
func (cs Columns) near(header string) []string {
	var known []string
	of := map[string]string{}
	for _, c := range cs {
		for _, n := range append([]string{c.Name}, c.Aliases...) {
			known = append(known, Fold(n))
			of[Fold(n)] = c.Name
		}
	}
	var out []string
	for _, n := range fault.Near(Fold(header), known) {
		if name := of[n]; len(out) == 0 || out[len(out)-1] != name {
			out = append(out, name)
		}
	}
	return out
}

// mapHeader finds the place of every column in the header row. at holds for
// each column of cs its index in the row, or -1; known is false when the row
// names no column at all.
func (t *table) mapHeader(row rawRow) (faults fault.List, known bool) {
	t.at = make([]int, len(t.cols))
	for i := range t.at {
		t.at[i] = -1
	}
	t.headerRow = row.number
	for _, c := range row.cells {
		t.header = append(t.header, clean(c.text))
	}
	var unknown fault.List
	lookalike := map[string]string{} // missing column -> header that looks like it
	for i, h := range t.header {
		where := t.where(row.number, i)
		switch {
		case !validText(row.cells[i].text) || strings.ContainsRune(h, '\uFFFD'):
			faults.Add(encodingFault().At(where))
			continue
		case h == "":
			continue
		}
		c := t.cols.find(h)
		if c < 0 {
			mend := "remove it, or rename it to one of: " + strings.Join(t.cols.Names(), ", ")
			if near := t.cols.near(h); len(near) > 0 {
				mend = "did you mean " + strings.Join(near, " or ") + "? Rename the column if so"
				for _, n := range near {
					lookalike[n] = h
				}
			}
			unknown.Add(fault.New(fault.Invalid, "column-unknown", "column "+strconv.Quote(h)+
				" is not known and is not read", mend).At(where).AsWarning())
			continue
		}
		if first := t.at[c]; first >= 0 {
			faults.Add(fault.New(fault.Invalid, "column-twice",
				fmt.Sprintf("two columns hold %s: %s %q and %s %q", t.cols[c].Name, Letters(first+1), t.header[first],
					Letters(i+1), h),
				"keep one of them").At(where))
			continue
		}
		t.at[c] = i
		known = true
	}
	if !known {
		if faults.Blocks() {
			return faults, false
		}
		mend := "put a header above the rows, with names such as " + strings.Join(t.cols.required(), ", ")
		f := fault.New(fault.Invalid, "header-unknown", "none of the first rows names the columns wanted here", mend).
			At(fault.Where{File: t.file.Name, Sheet: t.sheet, Row: row.number})
		if t.kind != "" {
			f.Mend += "; or start from an empty workbook"
			f = f.Do("template", t.kind)
		}
		faults.Add(f)
		return faults, false
	}
	for i, c := range t.cols {
		if c.Required && t.at[i] < 0 {
			mend := "add a column named " + c.Name
			if h, ok := lookalike[c.Name]; ok {
				mend = "rename column " + strconv.Quote(h) + " to " + c.Name
			}
			faults.Add(fault.New(fault.Invalid, "column-missing", "column "+c.Name+" is missing", mend).
				At(fault.Where{File: t.file.Name, Sheet: t.sheet, Row: row.number}))
		}
	}
	faults.Add(unknown...)
	return faults, true
}

func (cs Columns) required() []string {
	var names []string
	for _, c := range cs {
		if c.Required {
			names = append(names, c.Name)
		}
	}
	if len(names) == 0 {
		return cs.Names()[:min(3, len(cs))]
	}
	return names
}
