package sheet

import (
	"archive/zip"
	"compress/flate"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"
)

// listSheet is the hidden sheet that holds the words of long drop-downs: a
// list inside a rule may have 255 characters at most.
const (
	listSheet    = "Lists"
	maxInlineSet = 255
)

// writer keeps the one order in which the library loses nothing: sheet
// properties, then widths and panes, then rows, then rules, pictures, page
// and protection, then flush. What comes after the flush would be dropped
// without an error.
type writer struct {
	file    *excelize.File
	book    *Workbook
	styles  *stylist
	lists   [][]string          // columns of the list sheet
	placed  map[int][]placement // drawing number -> its pictures
	drawing int
	values  []excelize.Cell
	row     []any
}

// Write renders the workbook as XLSX. Formulas carry our values and are
// computed again when a spreadsheet program opens the file.
func (b Workbook) Write(w io.Writer) error {
	x, err := newWriter(&b)
	if err != nil {
		return err
	}
	defer x.file.Close()
	for i := range b.Sheets {
		if err := x.sheet(i, &b.Sheets[i], nil); err != nil {
			return fmt.Errorf("sheet %q: %w", b.Sheets[i].Name, err)
		}
	}
	return x.finish(w)
}

// Stream renders one table sheet whose rows come from next until it says
// false; s.Rows is written first. Only one row is held at a time. Columns
// without a width get the width of their header.
func Stream(w io.Writer, b Workbook, s Sheet, next func() ([]Cell, bool)) error {
	b.Sheets = []Sheet{s}
	x, err := newWriter(&b)
	if err != nil {
		return err
	}
	defer x.file.Close()
	x.file.SetZipWriter(packFast)
	if err := x.sheet(0, &b.Sheets[0], next); err != nil {
		return fmt.Errorf("sheet %q: %w", s.Name, err)
	}
	return x.finish(w)
}

// packFast packs a long sheet at flate's level 2: of 100,000 rows of 22 cells
// in 0.32 s instead of the 0.74 s of level 5, which archive/zip takes by
// itself, for a file that is 18 % larger.
func packFast(w io.Writer) excelize.ZipWriter {
	z := zip.NewWriter(w)
	z.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, 2) })
	return z
}

func newWriter(b *Workbook) (*writer, error) {
	f := excelize.NewFile()
	f.Styles.Fonts.Font[0].Sz.Val = ptr(typeSize)
	if err := f.SetDefaultFont(fontName); err != nil {
		return nil, err
	}
	day := b.Created
	if day == "" {
		day = "2000-01-01"
	}
	stamp := day + "T00:00:00Z"
	if err := f.SetDocProps(&excelize.DocProperties{Title: b.Title, Creator: "lotpaper", LastModifiedBy: "lotpaper",
		Created: stamp, Modified: stamp}); err != nil {
		return nil, err
	}
	if err := f.SetAppProps(&excelize.AppProperties{Application: "lotpaper"}); err != nil {
		return nil, err
	}
	return &writer{file: f, book: b, styles: newStylist(f), placed: map[int][]placement{}}, nil
}

func ptr[T any](v T) *T { return &v }

// sheet writes one sheet from its properties to its flush.
func (x *writer) sheet(i int, s *Sheet, next func() ([]Cell, bool)) error {
	f := x.file
	if i == 0 {
		if err := f.SetSheetName("Sheet1", s.Name); err != nil {
			return err
		}
	} else if _, err := f.NewSheet(s.Name); err != nil {
		return err
	}
	if err := f.SetSheetProps(s.Name, &excelize.SheetPropsOptions{FitToPage: ptr(!s.FullScale)}); err != nil {
		return err
	}
	if err := f.SetSheetView(s.Name, 0, &excelize.ViewOptions{ShowGridLines: ptr(s.Grid)}); err != nil {
		return err
	}
	if s.Hidden { // after the flush the library would parse the whole sheet again for it
		if err := f.SetSheetVisible(s.Name, false); err != nil {
			return err
		}
	}
	sw, err := f.NewStreamWriter(s.Name)
	if err != nil {
		return err
	}
	widths := fitWidths(s)
	for _, step := range []func() error{
		func() error { return x.columns(sw, s, widths) },
		func() error { return x.panes(sw, s) },
		func() error { return x.rows(sw, s, widths, next) },
		func() error { return x.choices(s) },
		func() error { return x.pictures(s) },
		func() error { return x.page(s) },
		sw.Flush,
	} {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

func (x *writer) columns(sw *excelize.StreamWriter, s *Sheet, widths []float64) error {
	for i, w := range widths {
		if i < len(s.Columns) && s.Columns[i].Format != General {
			id, err := x.styles.id(styleKey{format: s.Columns[i].Format, number: true})
			if err != nil {
				return err
			}
			if err := sw.SetColStyle(i+1, i+1, id); err != nil {
				return err
			}
		}
		if err := sw.SetColWidth(i+1, i+1, w); err != nil {
			return err
		}
	}
	return nil
}

func (x *writer) panes(sw *excelize.StreamWriter, s *Sheet) error {
	row := s.HeaderRow()
	if row == 0 && s.FreezeCol == 0 {
		return nil
	}
	pane := "bottomLeft"
	switch {
	case row > 0 && s.FreezeCol > 0:
		pane = "bottomRight"
	case s.FreezeCol > 0:
		pane = "topRight"
	}
	return sw.SetPanes(&excelize.Panes{Freeze: true, XSplit: s.FreezeCol, YSplit: row, TopLeftCell: Ref(s.FreezeCol+1,
		row+1), ActivePane: pane})
}

// rows writes title, notes, header, the rows of the model, then those of next.
func (x *writer) rows(sw *excelize.StreamWriter, s *Sheet, widths []float64, next func() ([]Cell, bool)) error {
	at := 1
	wide := max(len(widths), 1)
	put := func(row []Cell, fill int) error {
		err := x.put(sw, at, row, rowHeight(row, widths), fill)
		at++
		return err
	}
	if s.Title != "" {
		if err := put([]Cell{Text(s.Title).As(Title).Span(wide)}, 0); err != nil {
			return err
		}
	}
	for _, n := range s.Notes {
		if err := put([]Cell{Paragraph(n).As(Note).Span(wide)}, 0); err != nil {
			return err
		}
	}
	at = s.top() + 1
	fill := 0
	if s.HasHeader() {
		fill = len(s.Columns)
		if err := put(headerCells(s), 0); err != nil {
			return err
		}
	}
	for _, row := range s.Rows {
		if err := put(row, fill); err != nil {
			return err
		}
	}
	if next == nil {
		return nil
	}
	for row, ok := next(); ok; row, ok = next() {
		if err := x.put(sw, at, row, 0, unruled); err != nil {
			return err
		}
		at++
	}
	return nil
}

// unruled is the fill of the rows of a table without hairlines.
const unruled = -1

func headerCells(s *Sheet) []Cell {
	row := make([]Cell, len(s.Columns))
	for i, c := range s.Columns {
		row[i] = Cell{kind: textValue, text: c.Header, style: Header}
		if len(s.Rows) > 0 { // over numbers the header stands right
			for _, r := range s.Rows {
				if i < len(r) && !r[i].IsBlank() {
					row[i].right = r[i].kind == numberValue && r[i].format != Day
					break
				}
			}
		}
	}
	return row
}

// put writes one row; fill > 0 rules a hairline below the first fill columns,
// and any fill but 0 makes it a row of a table, whose text keeps off the numbers.
func (x *writer) put(sw *excelize.StreamWriter, at int, row []Cell, height float64, fill int) error {
	n := max(len(row), fill)
	for len(x.values) < n {
		x.values = append(x.values, excelize.Cell{})
	}
	x.row = x.row[:0]
	for i := range n {
		v := &x.values[i]
		*v = excelize.Cell{}
		c := &Cell{}
		if i < len(row) {
			c = &row[i]
		}
		switch c.kind {
		case textValue:
			v.Value = cut(c.text)
		case numberValue:
			v.Value = c.number
		}
		v.Formula = c.formula
		if *c == (Cell{}) && fill <= 0 {
			x.row = append(x.row, nil)
			continue
		}
		id, err := x.styles.of(i, c, fill > 0, fill != 0)
		if err != nil {
			return err
		}
		v.StyleID = id
		x.row = append(x.row, v)
		if c.span > 0 {
			if err := sw.MergeCell(Ref(i+1, at), Ref(i+1+int(c.span), at)); err != nil {
				return err
			}
		}
	}
	if len(x.row) == 0 {
		return nil
	}
	ref := "A" + strconv.Itoa(at)
	if height > 0 {
		return sw.SetRow(ref, x.row, excelize.RowOpts{Height: height})
	}
	return sw.SetRow(ref, x.row)
}

// cut keeps a text inside the 32,767 characters of a cell.
func cut(s string) string {
	if len(s) <= excelize.TotalCellChars || utf8.RuneCountInString(s) <= excelize.TotalCellChars {
		return s
	}
	return string([]rune(s)[:excelize.TotalCellChars])
}

func (x *writer) choices(s *Sheet) error {
	for _, c := range s.Choices {
		v := excelize.NewDataValidation(true)
		v.SetSqref(Ref(c.Column, c.First) + ":" + Ref(c.Column, c.Last))
		joined := strings.Join(c.Words, ",")
		if utf8.RuneCountInString(joined) <= maxInlineSet && strings.Count(joined, ",") == len(c.Words)-1 {
			if err := v.SetDropList(c.Words); err != nil {
				return err
			}
		} else {
			x.lists = append(x.lists, c.Words)
			col := Letters(len(x.lists))
			v.SetSqrefDropList(fmt.Sprintf("%s!$%s$1:$%s$%d", listSheet, col, col, len(c.Words)))
		}
		style := excelize.DataValidationErrorStyleWarning
		if c.Strict {
			style = excelize.DataValidationErrorStyleStop
		}
		v.SetError(style, "Not in the list", "Choose one of the words of the list.")
		if c.Prompt != "" {
			title := "Choose"
			if c.Column <= len(s.Columns) {
				title = s.Columns[c.Column-1].Header
			}
			v.SetInput(cutRunes(title, 32), cutRunes(c.Prompt, 255))
		}
		if err := x.file.AddDataValidation(s.Name, v); err != nil {
			return err
		}
	}
	return nil
}

func cutRunes(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n-1]) + "…"
	}
	return s
}

// page sets paper, margins, scale, repeated header, footer and protection.
func (x *writer) page(s *Sheet) error {
	f := x.file
	orientation, paper := "portrait", 9 // A4
	if s.Landscape {
		orientation = "landscape"
	}
	if x.book.Letter {
		paper = 1
	}
	layout := &excelize.PageLayoutOptions{Size: &paper, Orientation: &orientation}
	if s.FullScale {
		layout.AdjustTo = ptr(uint(100))
	} else {
		layout.FitToWidth, layout.FitToHeight = ptr(1), ptr(0)
	}
	if err := f.SetPageLayout(s.Name, layout); err != nil {
		return err
	}
	inch := func(mm float64) *float64 { return ptr(mm / 25.4) }
	if err := f.SetPageMargins(s.Name, &excelize.PageLayoutMarginsOptions{Left: inch(15), Right: inch(15),
		Top: inch(15), Bottom: inch(18), Header: inch(8), Footer: inch(8)}); err != nil {
		return err
	}
	left := s.Footer
	if left == "" {
		left = x.book.Title
	}
	left = strings.ReplaceAll(left, "&", "&&")
	footer := "&L&8" + cutRunes(left, 120) + "&R&8&A, page &P of &N"
	if left == "" {
		footer = "&R&8&A, page &P of &N"
	} else if left[0] >= '0' && left[0] <= '9' { // a digit would lengthen the type size
		footer = "&L&8 " + cutRunes(left, 120) + "&R&8&A, page &P of &N"
	}
	if err := f.SetHeaderFooter(s.Name, &excelize.HeaderFooterOptions{OddFooter: footer}); err != nil {
		return err
	}
	for _, row := range s.Breaks {
		if err := f.InsertPageBreak(s.Name, Ref(1, row)); err != nil {
			return err
		}
	}
	if h := s.HeaderRow(); h > 0 {
		rows := fmt.Sprintf("%s!$%d:$%d", quoteSheet(s.Name), h, h)
		if err := f.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", RefersTo: rows,
			Scope: s.Name}); err != nil {
			return err
		}
	}
	if s.Protected {
		return f.ProtectSheet(s.Name, &excelize.SheetProtectionOptions{SelectLockedCells: true,
			SelectUnlockedCells: true, FormatColumns: true, FormatRows: true})
	}
	return nil
}

// finish writes the list sheet, the names and the package.
func (x *writer) finish(w io.Writer) error {
	f := x.file
	if len(x.lists) > 0 {
		hidden := Sheet{Name: listSheet, Hidden: true, Columns: make([]Col, len(x.lists))}
		for i, words := range x.lists {
			for len(hidden.Rows) < len(words) {
				hidden.Rows = append(hidden.Rows, make([]Cell, len(x.lists)))
			}
			for j, word := range words {
				hidden.Rows[j][i] = Text(word)
			}
		}
		if err := x.sheet(len(x.book.Sheets), &hidden, nil); err != nil {
			return err
		}
	}
	for _, n := range x.book.Names {
		if err := f.SetDefinedName(&excelize.DefinedName{Name: n.Name, RefersTo: n.RefersTo}); err != nil {
			return err
		}
	}
	if err := f.SetCalcProps(&excelize.CalcPropsOptions{FullCalcOnLoad: ptr(true)}); err != nil {
		return err
	}
	buf, err := f.WriteToBuffer()
	if err != nil {
		return fmt.Errorf("sheet: write workbook: %w", err)
	}
	return x.repack(w, buf.Bytes())
}
