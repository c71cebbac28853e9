package page

import (
	"cmp"
	"fmt"
	"slices"

	"lotpaper/internal/fault"
)

// Sheet is one printed sheet: what stands where.
type Sheet struct {
	Width, Height float64
	Words         []Placed
	Lines         []Line
	Pictures      []PlacedPicture
}

// Placed is a line of text that begins at X, with its feet on Y.
type Placed struct {
	X, Y  float64
	Width float64
	Style Style
	Words string
}

// PlacedPicture is a picture in its place.
type PlacedPicture struct {
	Frame
	Picture *Picture
}

// gutter is how far a column's text keeps off the next column, and least how far
// a number keeps off the column before it.
const gutter, least = 3, 1

// Sheets lays the paper out. Text that cannot be printed, a word that is too wide
// for its cell, and a row that no frame has room for are faults, told all at once.
func (p *Paper) Sheets(advance Advance) ([]Sheet, error) {
	l := &layout{paper: p, format: p.format(), advance: advance, told: map[string]bool{}, frame: -1}
	l.printable(Regular, p.Title)
	l.printable(Regular, p.Author)
	for i := range p.Parts {
		l.part(&p.Parts[i])
	}
	l.finish()
	l.footers()
	if len(l.faults) > 0 {
		return nil, l.faults
	}
	return l.sheets, nil
}

// layout is the state of a paper that is being laid out.
type layout struct {
	paper   *Paper
	format  Format
	advance Advance
	faults  fault.List
	told    map[string]bool
	sheets  []Sheet
	frame   int     // the frame that is being filled, counted over all sheets
	first   float64 // where the first sheet's text begins, below the head
	y       float64 // the lower edge of what stands in the frame
	end     float64 // where its foot begins
	empty   bool    // nothing stands in it
	foot    []measured
}

// sheet is the sheet that is being filled.
func (l *layout) sheet() *Sheet { return &l.sheets[len(l.sheets)-1] }

// box is the frame that is being filled.
func (l *layout) box() Frame {
	f := l.format.Frames[l.frame%len(l.format.Frames)]
	if from := l.begin(); from > f.Y {
		f.Y, f.Height = from, f.Y+f.Height-from
	}
	return f
}

// begin is where text may begin on the sheet that is being filled.
func (l *layout) begin() float64 {
	switch {
	case l.paper.Head == nil:
		return 0
	case len(l.sheets) == 1:
		return l.first
	}
	return againEnd
}

// next goes on to the next frame, and leaves room for the foot of a part in it.
func (l *layout) next(part *Part) {
	l.finish()
	l.frame++
	if l.frame%len(l.format.Frames) == 0 {
		l.sheets = append(l.sheets, Sheet{Width: l.format.Width, Height: l.format.Height,
			Lines: slices.Clone(l.format.Marks)})
		l.begins()
	}
	box := l.box()
	l.foot = l.rows(part.Foot, box.Width)
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
func (l *layout) part(part *Part) {
	l.next(part)
	width := l.box().Width
	rows, end := l.rows(part.Blocks, width), l.rows(part.End, width)
	if tight := l.rows(part.Tight, width); l.needs(rows) > l.end+slack && len(tight) > 0 &&
		l.needs(tight) <= l.end+slack {
		rows = tight
	}
	if len(end) > 0 {
		for i := range end[:len(end)-1] {
			end[i].keep = true
		}
		if len(rows) > 0 {
			rows[len(rows)-1].keep = true
		}
		rows = append(rows, end...)
	}
	begun := true // the frame: nothing of the rows stands in it
	for len(rows) > 0 {
		n := 1
		for n < len(rows) && rows[n-1].keep {
			n++
		}
		for begun && n > 1 && l.needs(rows[:n]) > l.end+slack {
			n-- // no frame has room for all that should stay together
		}
		switch {
		case l.needs(rows[:n]) <= l.end+slack:
			l.set(rows[:n])
			rows, begun = rows[n:], false
		case begun:
			l.fault("paper-room", fmt.Sprintf("no part of the paper has room for %q", rows[0].words()),
				"make it shorter")
			return
		default:
			l.again(part, &rows[0])
			begun = true
		}
	}
}

// again goes on in the next frame, where a table has its head again.
func (l *layout) again(part *Part, row *measured) {
	if row.rule == Hairline && row.head != nil { // the line stays below the row above it
		box := l.box()
		l.sheet().rule(row.rule, box.X, l.y, box.X+box.Width)
	}
	l.next(part)
	l.set(l.rows(part.Again, l.box().Width))
	if row.head != nil {
		l.set(row.head)
		row.height -= row.space
		row.space, row.rule = 0, NoRule
	}
}

// needs is where rows would end.
func (l *layout) needs(rows []measured) float64 {
	if l.empty && len(rows) > 0 {
		return l.y + height(rows) - rows[0].space
	}
	return l.y + height(rows)
}

// set sets rows into the frame, from y on.
func (l *layout) set(rows []measured) {
	if len(rows) == 0 {
		return
	}
	box := l.box()
	l.y = l.draw(rows, box.X, l.y, box.Width, l.empty)
	l.empty = false
}

// rows measures the rows of blocks for a width.
func (l *layout) rows(blocks []Block, width float64) []measured {
	var out []measured
	for i := range blocks {
		out = append(out, l.block(&blocks[i], width)...)
	}
	return out
}

// measured is a row whose lines are broken.
type measured struct {
	space, pad, height float64 // the height with space and pads
	rule, under        Rule
	keep               bool
	cells              []measuredCell
	edges              []edge
	head               []measured // of its table
}

// measuredCell is a cell with its place in the row.
type measuredCell struct {
	Cell
	x, width    float64 // of its column, from the left edge of the row
	inner       float64 // what its text may be wide
	top, height float64 // from the pad of the row; what it holds begins at top
	align       Align
	lines       []line
	rows        []measured
	wide, high  float64 // of its picture
}

// line is a line of a paragraph.
type line struct {
	Text
	words           string
	leading, indent float64
}

// words are the first words of the row.
func (m *measured) words() string {
	for _, c := range m.cells {
		for _, t := range c.lines {
			if t.words != "" {
				return t.words
			}
		}
		for i := range c.rows {
			if w := c.rows[i].words(); w != "" {
				return w
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

// measure breaks the lines of a row whose columns have their widths.
func (l *layout) measure(columns []Column, r *Row, pad float64, keep bool) measured {
	out := measured{space: r.Space, pad: pad, rule: r.Rule, keep: keep}
	x, at := 0.0, 0
	for i := range r.Cells {
		column := columns[at]
		for range r.Cells[i].Span - 1 {
			at++
			column.Width += columns[at].Width
		}
		apart := columns[at].Align == Left && at+1 < len(columns)
		at++
		cell := l.cell(&r.Cells[i], &column, apart, r)
		cell.x = x
		x += column.Width
		out.cells = append(out.cells, cell)
	}
	tallest, feet := 0.0, out.feet()
	for i := range out.cells {
		c := &out.cells[i]
		if own := c.feet(); own > 0 {
			c.top += feet - own
			c.height += feet - own
		}
		tallest = max(tallest, c.height)
	}
	out.height = r.Space + 2*pad + tallest
	return out
}

// feet is how far below the pad of a row the feet of its first line of text
// stand, the same for all its cells; 0: it has none.
func (m *measured) feet() float64 {
	lowest := 0.0
	for i := range m.cells {
		lowest = max(lowest, m.cells[i].feet())
	}
	return lowest
}

func (c *measuredCell) feet() float64 {
	switch {
	case c.Picture != nil || c.Drawing != nil || c.Frame != NoRule:
	case len(c.lines) > 0 && c.lines[0].leading != writePitch:
		return c.top + c.lines[0].Style.Look().baseline()
	case len(c.lines) == 0 && len(c.rows) > 0:
		if first := &c.rows[0]; first.feet() > 0 {
			return c.top + first.pad + first.feet()
		}
	}
	return 0
}

// The signs before a paragraph: their sizes and how far its words stand in, mm;
// and the height of a line to write on.
const (
	tickSize, crossSize = 3.4, 2.4
	markIndent          = 5.5
	writePitch          = 8.2
	writeFeet           = 4.2
	writeApart          = 1
)

// cell breaks the lines of a cell, which keeps apart from the next by a gutter or
// not.
func (l *layout) cell(c *Cell, column *Column, apart bool, r *Row) measuredCell {
	out := measuredCell{Cell: *c, width: column.Width, align: column.Align}
	if apart {
		out.width -= gutter
	}
	out.inner = out.width - 2*c.Inset
	room := out.inner
	if column.Align == Right {
		room -= least
	}
	held := 0.0
	if p := c.Picture; p != nil {
		out.wide, out.high = p.within(out.inner, cmp.Or(c.Height-2*c.Inset, out.inner))
		held += out.high
	}
	if c.Drawing != nil {
		held += c.Drawing.Height
		for _, label := range c.Drawing.Captions {
			l.printable(label.Text.Style.Look().Face, l.paper.words(label.Text))
		}
	}
	for _, t := range c.Text {
		for _, line := range l.lines(t, room, column, r) {
			out.lines = append(out.lines, line)
			held += line.leading
		}
	}
	out.rows = l.rows(c.Blocks, out.inner)
	held += l.nested(out.rows)
	out.top = c.Inset
	out.height = max(c.Height, held+2*c.Inset)
	if c.Frame != NoRule {
		out.top = (out.height - held) / 2
	}
	return out
}

// nested is the height of rows inside a cell: the first needs no space above it.
func (l *layout) nested(rows []measured) float64 {
	if len(rows) == 0 {
		return 0
	}
	return height(rows) - rows[0].space
}

// lines breaks a paragraph of a cell.
func (l *layout) lines(t Text, width float64, column *Column, r *Row) []line {
	look, indent := t.Style.Look(), 0.0
	if t.Mark != NoMark && l.paper.words(t) != "" {
		indent = markIndent
	}
	if t.Write > 0 {
		width -= t.Write + writeApart
	}
	var out []line
	for _, words := range l.text(t, width-indent, cellName(column, r), true) {
		out = append(out, line{t, words, look.Leading, indent})
		t.Mark = NoMark
	}
	if len(out) == 0 && (t.Mark != NoMark || t.Write > 0) {
		out = append(out, line{Text: t, leading: look.Leading})
	}
	if t.Write > 0 {
		out[len(out)-1].leading = writePitch
	}
	return out
}

// cellName says where a cell stands.
func cellName(column *Column, r *Row) string {
	name := "its column"
	if column.Header != "" {
		name = fmt.Sprintf("the column %q", column.Header)
	}
	for _, c := range r.Cells {
		for _, t := range c.Text {
			if t.Words != "" {
				return fmt.Sprintf("%s of the row %q", name, t.Words)
			}
		}
	}
	return name
}

// within is the size of the picture in a box, mm.
func (p *Picture) within(width, height float64) (wide, high float64) {
	w, h := float64(max(1, p.Wide)), float64(max(1, p.High))
	scale := min(width/w, height/h)
	return w * scale, h * scale
}

// draw sets rows on the sheet from y on, and returns where they end. The space
// above the first is left out where it begins a frame or a cell.
func (l *layout) draw(rows []measured, x, y, width float64, begins bool) float64 {
	sheet := l.sheet()
	for i := range rows {
		r := &rows[i]
		under := y + r.height
		if begins {
			under -= r.space
		} else {
			y += r.space
		}
		begins = false
		sheet.rule(r.rule, x, y, x+width)
		for _, e := range r.edges {
			sheet.line(e.rule, Point{x + e.x, y}, Point{x + e.x, under})
		}
		for j := range r.cells {
			l.drawCell(&r.cells[j], x+r.cells[j].x, y, y+r.pad)
		}
		y = under
		sheet.rule(r.under, x, y, x+width)
	}
	return y
}

// drawCell sets a cell, its left edge at x, its row's upper edge at rowTop.
func (l *layout) drawCell(c *measuredCell, x, rowTop, top float64) {
	sheet := l.sheet()
	sheet.rule(c.Rule, x, rowTop, x+c.width)
	if c.Frame != NoRule {
		half := c.Frame.Width() / 2
		sheet.Lines = append(sheet.Lines, box(c.Frame, x+half, top+half, c.width-2*half, c.height-2*half))
	}
	x += c.Inset
	y := top + c.top
	if c.Picture != nil {
		sheet.Pictures = append(sheet.Pictures, PlacedPicture{Frame{x + c.indentDrawn(c.wide), y, c.wide, c.high},
			c.Picture})
		y += c.high
	}
	if c.Drawing != nil {
		l.drawing(c.Drawing, x+c.indentDrawn(c.Drawing.Width), y)
		y += c.Drawing.Height
	}
	for _, t := range c.lines {
		l.drawLine(c, &t, x, y)
		y += t.leading
	}
	l.draw(c.rows, x, y, c.inner, true)
}

// indent is how far something of a width stands from the left edge.
func (c *measuredCell) indent(width float64) float64 { return c.align.indent(c.inner, width) }

// indentDrawn is the same for a picture or drawing, which stands in the middle of
// its frame.
func (c *measuredCell) indentDrawn(width float64) float64 {
	if c.Frame != NoRule {
		return Centre.indent(c.inner, width)
	}
	return c.indent(width)
}

func (a Align) indent(room, width float64) float64 {
	switch a {
	case Right:
		return room - width
	case Centre:
		return (room - width) / 2
	}
	return 0
}

// drawLine sets a line of a paragraph, its upper left corner at (x, y).
func (l *layout) drawLine(c *measuredCell, t *line, x, y float64) {
	sheet, look := l.sheet(), t.Style.Look()
	feet := y + look.baseline()
	if t.leading == writePitch {
		feet = y + writeFeet
	}
	if t.Write > 0 && t.leading == writePitch {
		sheet.line(Pen, Point{x + c.inner - t.Write, feet + 1}, Point{x + c.inner, feet + 1})
	}
	middle, size := feet-look.Points*mmPerPoint/3, 0.0
	switch t.Mark {
	case Tick:
		size = tickSize
		left := x
		if t.words == "" {
			left += c.indent(size)
		}
		sheet.Lines = append(sheet.Lines, box(Pen, left, middle-size/2, size, size))
	case Cross:
		size = crossSize
		a, b := Point{x, middle - size/2}, Point{x + size, middle + size/2}
		sheet.line(Firm, a, b)
		sheet.line(Firm, Point{a.X, b.Y}, Point{b.X, a.Y})
	}
	if t.words != "" {
		width := l.advance.width(look, t.words)
		left := x + t.indent
		if t.indent == 0 && t.Write == 0 {
			left += c.indent(width)
		}
		sheet.Words = append(sheet.Words, Placed{X: left, Y: feet, Width: width, Style: t.Style, Words: t.words})
	}
}

// drawing sets a drawing, its upper left corner at (x, y).
func (l *layout) drawing(d *Drawing, x, y float64) {
	sheet := l.sheet()
	for _, line := range d.Lines {
		moved := line
		moved.Points = make([]Point, len(line.Points))
		for i, q := range line.Points {
			moved.Points[i] = Point{x + q.X, y + q.Y}
		}
		sheet.Lines = append(sheet.Lines, moved)
	}
	for _, label := range d.Captions {
		words := l.paper.words(label.Text)
		width := l.advance.width(label.Text.Style.Look(), words)
		sheet.Words = append(sheet.Words, Placed{X: x + label.X + label.Align.indent(0, width), Y: y + label.Y,
			Width: width, Style: label.Text.Style, Words: words})
	}
}

// rule draws a level line, if there is one.
func (s *Sheet) rule(r Rule, from, y, to float64) {
	if r != NoRule {
		s.line(r, Point{from, y}, Point{to, y})
	}
}

func (s *Sheet) line(r Rule, points ...Point) {
	s.Lines = append(s.Lines, Line{Rule: r, Points: points})
}

// box is a frame of lines.
func box(r Rule, x, y, width, height float64) Line {
	return Line{Rule: r, Closed: true,
		Points: []Point{{x, y}, {x + width, y}, {x + width, y + height}, {x, y + height}}}
}
