package page

import (
	"fmt"

	"lotpaper/internal/fault"
)

// Sheet is one printed sheet: what stands where.
type Sheet struct {
	Words []Placed
	Lines []Line
}

// Placed is a line of text that begins at X, with its feet on Y.
type Placed struct {
	X, Y  float64
	Width float64
	Style Style
	Words string
}

// gutter is how far a column's text keeps off the next column.
const gutter = 3

// Sheets lays the paper out. Text that cannot be printed, and a row that no
// frame has room for, are faults.
func (p *Paper) Sheets(advance Advance) ([]Sheet, error) {
	if faults := p.check(advance); len(faults) > 0 {
		return nil, faults
	}
	l := &layout{paper: p, advance: advance, frame: -1}
	for i := range p.Parts {
		if err := l.part(&p.Parts[i]); err != nil {
			return nil, err
		}
	}
	l.finish()
	return l.sheets, nil
}

// layout is the state of a paper that is being laid out.
type layout struct {
	paper   *Paper
	advance Advance
	sheets  []Sheet
	frame   int     // the frame that is being filled, counted over all sheets
	y       float64 // the lower edge of what stands in it
	end     float64 // where its foot begins
	empty   bool    // nothing stands in it
	foot    []measured
}

// box is the frame that is being filled.
func (l *layout) box() Frame { return l.paper.Format.Frames[l.frame%len(l.paper.Format.Frames)] }

// next goes on to the next frame, and leaves room for the foot of a part in it.
func (l *layout) next(part *Part) {
	l.finish()
	l.frame++
	if l.frame%len(l.paper.Format.Frames) == 0 {
		l.sheets = append(l.sheets, Sheet{Lines: append([]Line{}, l.paper.Format.Marks...)})
	}
	box := l.box()
	l.foot = l.rows(part.Foot)
	l.y, l.end, l.empty = box.Y, box.Y+box.Height-height(l.foot), true
}

// finish sets the foot of the frame that was filled: what is read last is drawn
// last.
func (l *layout) finish() {
	l.y, l.empty = l.end, false
	l.set(l.foot)
	l.foot = nil
}

// part sets one part, from the top of a frame.
func (l *layout) part(part *Part) error {
	l.next(part)
	rows := l.rows(part.Blocks)
	if tight := l.rows(part.Tight); l.needs(rows) > l.end+slack && len(tight) > 0 && l.needs(tight) <= l.end+slack {
		rows = tight
	}
	begun := true // the frame: nothing of the rows stands in it
	for len(rows) > 0 {
		n := 1
		for n < len(rows) && rows[n-1].Keep {
			n++
		}
		switch {
		case l.needs(rows[:n]) <= l.end+slack:
			l.set(rows[:n])
			rows, begun = rows[n:], false
		case begun:
			return fault.New(fault.Invalid, "paper-room",
				fmt.Sprintf("no part of the paper has room for %q", firstWords(rows[:n])),
				"make it shorter, and issue the paper anew").AtRef(l.paper.Number)
		default:
			l.next(part)
			l.set(l.rows(part.Again))
			begun = true
		}
	}
	return nil
}

// needs is where rows would end.
func (l *layout) needs(rows []measured) float64 {
	if l.empty && len(rows) > 0 {
		return l.y + height(rows) - rows[0].Space
	}
	return l.y + height(rows)
}

// slack is what rounding may add to a height.
const slack = 1e-6

// measured is a row whose lines are broken.
type measured struct {
	*Row
	height float64 // with its space and pads
	cells  []measuredCell
}

// measuredCell is a cell with its place in the row.
type measuredCell struct {
	x, width float64 // of its column, from the frame's left edge
	right    bool
	lines    []Text
	drawing  *Drawing
}

// firstWords are the first words of rows.
func firstWords(rows []measured) string {
	for _, r := range rows {
		for _, c := range r.cells {
			if len(c.lines) > 0 {
				return c.lines[0].Words
			}
		}
	}
	return ""
}

func height(rows []measured) float64 {
	sum := 0.0
	for _, r := range rows {
		sum += r.height
	}
	return sum
}

// rows measures the rows of blocks for the frame that is being filled. All
// frames of a format are of one width.
func (l *layout) rows(blocks []Block) []measured {
	var out []measured
	for _, b := range blocks {
		for i := range b.Rows {
			out = append(out, l.measure(b.Columns, &b.Rows[i]))
		}
	}
	return out
}

func (l *layout) measure(columns []Column, r *Row) measured {
	out := measured{Row: r}
	if len(columns) == 0 {
		columns = []Column{{}}
	}
	rest := l.box().Width
	for _, c := range columns {
		rest -= c.Width
	}
	x, tallest := 0.0, 0.0
	for i, c := range r.Cells {
		column := columns[i]
		if column.Width == 0 {
			column.Width = rest
		}
		cell := measuredCell{x: x, width: column.Width, right: column.Right, drawing: c.Drawing}
		x += column.Width
		if i+1 < len(columns) && !column.Right {
			cell.width -= gutter
		}
		tall := 0.0
		if c.Drawing != nil {
			tall = c.Drawing.Height
		}
		for _, t := range c.Text {
			for _, words := range l.advance.wrap(t.Style.Look(), t.Words, cell.width) {
				cell.lines = append(cell.lines, Text{t.Style, words})
				tall += t.Style.Look().Leading
			}
		}
		tallest = max(tallest, tall)
		out.cells = append(out.cells, cell)
	}
	out.height = r.Space + 2*r.Pad + tallest
	return out
}

// set sets rows into the frame, from y on.
func (l *layout) set(rows []measured) {
	if len(rows) == 0 {
		return
	}
	sheet, left, wide := &l.sheets[len(l.sheets)-1], l.box().X, l.box().Width
	for _, r := range rows {
		bottom := l.y + r.height
		if !l.empty {
			l.y += r.Space
		} else {
			bottom -= r.Space
		}
		l.empty = false
		if r.Rule != NoRule {
			sheet.Lines = append(sheet.Lines, Line{Rule: r.Rule, Points: []Point{{left, l.y}, {left + wide, l.y}}})
		}
		top := l.y + r.Pad
		for _, c := range r.cells {
			c.set(sheet, left+c.x, top, l.advance)
		}
		l.y = bottom
	}
}

// set sets a cell on the sheet, its upper left corner at (x, top).
func (c *measuredCell) set(sheet *Sheet, x, top float64, advance Advance) {
	indent := func(width float64) float64 {
		if c.right {
			return x + c.width - width
		}
		return x
	}
	if d := c.drawing; d != nil {
		left := indent(d.Width)
		for _, line := range d.Lines {
			moved := Line{Rule: line.Rule, Closed: line.Closed}
			for _, q := range line.Points {
				moved.Points = append(moved.Points, Point{left + q.X, top + q.Y})
			}
			sheet.Lines = append(sheet.Lines, moved)
		}
	}
	for _, t := range c.lines {
		look := t.Style.Look()
		width := advance.width(look, t.Words)
		sheet.Words = append(sheet.Words, Placed{X: indent(width), Y: top + look.baseline(), Width: width,
			Style: t.Style, Words: t.Words})
		top += look.Leading
	}
}
