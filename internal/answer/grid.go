package answer

import (
	"fmt"
	"strings"

	"lotpaper/internal/formula"
	"lotpaper/internal/sheet"
)

// cell is a cell of a document: a plain one, or the place of a figure.
type cell struct {
	sheet.Cell
	figure formula.Key  // empty: the plain cell stands
	home   bool         // the figure lives here; else it is shown again
	places int          // decimals shown; used when the figure is a number
	style  sheet.Style  // of a figure
	span   int          // columns that it covers; 0 is one
	format sheet.Format // other than places decimals
	open   bool         // an input that the reader fills in: it is left empty, and counts as 0
}

// page is a sheet of a document before its figures have cells.
type page struct {
	sheet.Sheet
	rows [][]cell
}

func (p *page) add(cells ...cell) { p.rows = append(p.rows, cells) }

// gap adds an empty row, without the hairlines of a table.
func (p *page) gap() {
	row := []cell{styled("", sheet.Note)}
	if p.HasHeader() {
		for range len(p.Columns) - 1 {
			row = append(row, styled("", sheet.Note))
		}
	}
	p.add(row...)
}

// total adds the last row of a table: the word All, then the sums from column
// first (counted from 0) on.
func (p *page) total(first int, sums ...cell) {
	row := []cell{styled("All", sheet.Total)}
	for len(row) < first {
		row = append(row, styled("", sheet.Total))
	}
	for _, c := range sums {
		row = append(row, c.as(sheet.Total))
	}
	for len(row) < len(p.Columns) {
		row = append(row, styled("", sheet.Total))
	}
	p.add(row...)
}

func plain(c sheet.Cell) cell { return cell{Cell: c} }

// text is a text cell that wraps when it is long.
func text(s string) cell { return plain(sheet.Text(s).Wrap()) }

func styled(s string, style sheet.Style) cell { return plain(sheet.Text(s).As(style).Wrap()) }

func whole(n int64) cell { return plain(sheet.Int(n)) }

// empties are n cells without a value.
func empties(n int) []cell { return make([]cell, n) }

// lives is the home of a figure, shown with places decimals.
func lives(key formula.Key, places int) cell { return cell{figure: key, home: true, places: places} }

// shows is a figure that lives elsewhere.
func shows(key formula.Key, places int) cell { return cell{figure: key, places: places} }

func (c cell) as(s sheet.Style) cell {
	c.style = s
	c.Cell = c.Cell.As(s)
	return c
}

// across makes the cell cover n columns and returns it with the empty cells
// that it covers.
func (c cell) across(n int) []cell {
	c.span, c.Cell = n, c.Cell.Span(n)
	return append([]cell{c}, empties(n-1)...)
}

// address is where a figure lives.
type address struct {
	sheet    string
	col, row int
}

// assemble gives every figure its cell and returns the workbook. It fails when
// a figure has no home, or a list does not lie in one column.
func assemble(h Head, t *tally, pages []*page) (*sheet.Workbook, error) {
	if t.err != nil {
		return nil, t.err
	}
	homes := map[formula.Key]address{}
	for _, p := range pages {
		first := p.FirstRow()
		for i, row := range p.rows {
			for j, c := range row {
				if !c.home {
					continue
				}
				if _, twice := homes[c.figure]; twice {
					return nil, fmt.Errorf("figure %s has two homes", c.figure)
				}
				homes[c.figure] = address{p.Name, j + 1, first + i}
			}
		}
	}
	book := &sheet.Workbook{Title: strings.TrimSpace(h.Number + " " + h.Title), Created: string(h.On)}
	for _, p := range pages {
		s := p.Sheet
		for _, row := range p.rows {
			cells := make([]sheet.Cell, len(row))
			for j, c := range row {
				filled, err := c.fill(p.Name, t, homes)
				if err != nil {
					return nil, fmt.Errorf("sheet %s: %w", p.Name, err)
				}
				cells[j] = filled
			}
			s.Rows = append(s.Rows, cells)
		}
		book.Sheets = append(book.Sheets, s)
	}
	return book, nil
}

// fill is the cell as it is written: a number or word with its live formula.
func (c cell) fill(on string, t *tally, homes map[formula.Key]address) (sheet.Cell, error) {
	if c.figure == "" {
		return c.Cell, nil
	}
	r, err := t.get(c.figure)
	if err != nil {
		return sheet.Cell{}, err
	}
	words, isText := r.Text()
	out := sheet.Text(words).Wrap()
	if !isText {
		n, err := t.dec(c.figure, 12)
		if err != nil {
			return sheet.Cell{}, err
		}
		out = sheet.Number(n, c.places)
		if c.format != sheet.General {
			out = out.Show(c.format)
		}
	}
	ref := func(key formula.Key) (string, error) { return reference(key, on, t, homes) }
	f := t.figures[c.figure]
	switch {
	case c.open:
		out = sheet.Empty()
	case f == nil:
		return sheet.Cell{}, fmt.Errorf("figure %q is not known", c.figure)
	case !c.home:
		at, err := ref(c.figure)
		if err != nil {
			return sheet.Cell{}, err
		}
		out = sheet.Formula(at, out)
	case !f.expr.IsZero():
		cells, err := f.expr.Cells(ref)
		if err != nil {
			return sheet.Cell{}, fmt.Errorf("%s: %w", c.figure, err)
		}
		out = sheet.Formula(cells, out)
	}
	return out.As(c.style).Span(max(c.span, 1)), nil
}

// reference is the cell of a figure, or the range of a list, as the sheet on
// sees it.
func reference(key formula.Key, on string, t *tally, homes map[formula.Key]address) (string, error) {
	members := []formula.Key{key}
	if l, ok := t.lists[key]; ok {
		members = l
	}
	if len(members) == 0 {
		return "0", nil
	}
	first, ok := homes[members[0]]
	if !ok {
		return "", fmt.Errorf("figure %q has no cell", members[0])
	}
	for i, m := range members {
		if at := homes[m]; at != (address{first.sheet, first.col, first.row + i}) {
			return "", fmt.Errorf("list %q does not lie in one column: %q", key, m)
		}
	}
	at := sheet.Fixed(first.col, first.row)
	if len(members) > 1 {
		at += ":" + sheet.Fixed(first.col, first.row+len(members)-1)
	}
	if first.sheet != on {
		at = sheet.On(first.sheet, at)
	}
	return at, nil
}
