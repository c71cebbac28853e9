package sheet

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// Workbook is a workbook to be written. The same model gives the same bytes.
type Workbook struct {
	Title   string
	Created string // business date, YYYY-MM-DD, for the file's properties; empty: 2000-01-01
	Letter  bool   // US Letter paper; else A4
	Sheets  []Sheet
	Names   []Name
}

// Name is a defined name: {"FineGold", "Assumptions!$B$4"}.
type Name struct{ Name, RefersTo string }

// Sheet is one sheet: a table (its columns have headers) or a form (they have
// widths only). From top to bottom: Title, Notes, one empty row when there was
// a title, the header, Rows.
type Sheet struct {
	Name      string
	Title     string   // spans the sheet
	Notes     []string // below the title, wrapped over the sheet's width
	Columns   []Col
	Rows      [][]Cell
	FreezeCol int  // columns that stay in view, besides the header
	Landscape bool // paper
	FullScale bool // printed at 100 %; else fitted to one page wide
	Hidden    bool
	Grid      bool   // screen grid lines, for sheets to fill in
	Protected bool   // only Input cells can be changed (no password)
	Breaks    []int  // rows of the sheet before which a page ends
	Footer    string // left part of the footer; empty: the workbook's title
	Choices   []Choice
	Pictures  []Picture
}

// Col is a column: its header (with the unit: "Weight (ct)"), its width in
// characters (0: fitted to what it holds) and, for templates, the format that
// its empty cells have.
type Col struct {
	Header string
	Width  float64
	Format Format
}

// Choice is a drop-down for a column's cells from row First to Last (1-based).
type Choice struct {
	Column      int // 1-based
	First, Last int
	Words       []string
	Strict      bool   // other words are refused; else they are warned of
	Prompt      string // shown beside the cell
}

// Picture is a PNG of an exact printed size. With a Cell it hangs on that
// cell; without one it lies at X, Y from the sheet's corner, in millimetres.
type Picture struct {
	Name          string // what it shows, for readers that cannot see it
	PNG           []byte
	Cell          string
	X, Y          float64 // mm
	Width, Height float64 // mm
}

// HasHeader reports whether the sheet is a table.
func (s *Sheet) HasHeader() bool {
	for _, c := range s.Columns {
		if c.Header != "" {
			return true
		}
	}
	return false
}

// HeaderRow is the number of the header row; 0 for a form.
func (s *Sheet) HeaderRow() int {
	if !s.HasHeader() {
		return 0
	}
	return s.top() + 1
}

// FirstRow is the number of the first of Rows, for formulas.
func (s *Sheet) FirstRow() int {
	if s.HasHeader() {
		return s.top() + 2
	}
	return s.top() + 1
}

// top counts the rows above the header.
func (s *Sheet) top() int {
	n := len(s.Notes)
	if s.Title != "" {
		n++
	}
	if n > 0 {
		n++ // an empty row
	}
	return n
}

// Ref names a cell: Ref(2, 5) is "B5".
func Ref(col, row int) string { return fmt.Sprintf("%s%d", Letters(col), row) }

// Fixed names a cell absolutely: "$B$5".
func Fixed(col, row int) string { return fmt.Sprintf("$%s$%d", Letters(col), row) }

// On names a cell or range of another sheet: On("Pieces", "B5") is "Pieces!B5",
// quoted when the name needs it.
func On(sheet, ref string) string { return quoteSheet(sheet) + "!" + ref }

func quoteSheet(name string) string {
	plain := name != "" && !(name[0] >= '0' && name[0] <= '9')
	for _, r := range name {
		if (r < 'A' || r > 'Z') && (r < 'a' || r > 'z') && (r < '0' || r > '9') && r != '_' {
			plain = false
		}
	}
	if plain && columnOf(name) > 0 && rowOf(name) > 0 { // "AB12" would read as a cell
		plain = false
	}
	if plain {
		return name
	}
	return "'" + strings.ReplaceAll(name, "'", "''") + "'"
}

// SheetName makes a legal sheet name of any text: at most 31 characters, none
// of : \ / ? * [ ], and no apostrophe at its ends.
func SheetName(s string) string {
	s = strings.Map(func(r rune) rune {
		if strings.ContainsRune(`:\/?*[]`, r) || r < ' ' {
			return '-'
		}
		return r
	}, clean(s))
	for utf8.RuneCountInString(s) > 31 {
		_, n := utf8.DecodeLastRuneInString(s)
		s = s[:len(s)-n]
	}
	s = strings.Trim(s, "' ")
	if s == "" {
		return "Sheet"
	}
	return s
}
