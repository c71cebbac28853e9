package page

import (
	"cmp"
	"slices"
	"strings"
)

// Table is how the rows of a block are padded and ruled: the heads of its columns
// over a firm line, hairlines between its rows, a firm line below the last. The
// head is set again where the table goes on.
type Table uint8

// The tables.
const (
	NoTable   Table = iota
	ListTable       // in small type; of more than 20 rows each fifth is ruled
	MemoTable
	GoodsTable // with a disclosure in each row
	CostTable
	WriteTable // with columns to write in
	PieceTable // with a picture in each row
)

// pads are the spaces above and below the text of a row, mm. A list's rows are
// 4.7 mm high, rows to write in 7.4.
var pads = [...]float64{NoTable: 0, ListTable: 0.4, MemoTable: 0.9, GoodsTable: 1.7, CostTable: 1, WriteTable: 1.5,
	PieceTable: 2.5}

// The longest list with a line between all its rows, and the rows between the
// lines of longer ones.
const (
	shortList = 20
	ruleEvery = 5
)

// groupSpace is the space above the head of a group.
const groupSpace = 1.5

// headPad is the space between the heads of the columns and the line below them.
const headPad = 1

// block measures the rows of a block for a width.
func (l *layout) block(b *Block, width float64) []measured {
	columns := l.columns(b, width)
	var out, head []measured
	if slices.ContainsFunc(columns, func(c Column) bool { return c.Header != "" }) {
		head = []measured{l.head(columns)}
		out = append(out, head...)
	}
	rows, sparse := 0, b.Table == ListTable && len(b.Rows) > shortList
	for i := range b.Rows {
		r := &b.Rows[i]
		m := l.measure(columns, r, cmp.Or(r.Pad, pads[b.Table]), r.Keep || r.Group)
		m.head = head
		if b.Table == NoTable {
			out = append(out, m)
			continue
		}
		switch afterGroup := i > 0 && b.Rows[i-1].Group; {
		case r.Total:
			m.rule = Firm
			if len(out) > 0 {
				out[len(out)-1].keep = true
			}
		case r.Group && i > 0:
			m.space = cmp.Or(m.space, groupSpace)
			m.height += m.space - r.Space
		case i == 0:
		case !sparse, afterGroup, rows%ruleEvery == 0:
			m.rule = cmp.Or(m.rule, Hairline)
		}
		if !r.Group && !r.Total {
			rows++
			m.edges = edges(columns)
		}
		out = append(out, m)
	}
	if n := len(b.Rows); b.Table != NoTable && n > 0 && !b.Rows[n-1].Total {
		out[len(out)-1].under = Firm
	}
	if len(b.Signatures) > 0 {
		out = append(out, l.signatures(b.Signatures, width))
	}
	return out
}

// head measures the heads of the columns, which end on one line.
func (l *layout) head(columns []Column) measured {
	r := Row{Keep: true}
	for i, c := range columns {
		words := []string{c.Header}
		if c.Align == Right && i > 0 { // two heads must not read as one
			if lines, wide := l.advance.wrap(Note.Look(), c.Header, c.Width-gutter, false); wide == "" {
				words = lines
			}
		}
		cell := Cell{}
		for _, w := range words {
			cell.Text = append(cell.Text, Text{Style: Note, Words: w})
		}
		r.Cells = append(r.Cells, cell)
	}
	m := l.measure(columns, &r, 0, true)
	for i := range m.cells {
		m.cells[i].top = m.height - m.cells[i].height
	}
	m.height += headPad
	m.under = Firm
	return m
}

// edge is a line along a column's side.
type edge struct {
	x    float64
	rule Rule
}

func edges(columns []Column) []edge {
	var out []edge
	x := 0.0
	for i, c := range columns {
		if c.Edge != NoRule {
			out = append(out, edge{x, c.Edge})
		}
		if x += c.Width; c.Edge != NoRule && i+1 == len(columns) {
			out = append(out, edge{x, c.Edge})
		}
	}
	return out
}

// signatureSpace is the room to sign in, mm, above the line; the gaps lie between
// two lines and between three.
const (
	signatureSpace     = 16
	wideGap, narrowGap = 18, 10
)

// signatures measures lines to sign on, side by side.
func (l *layout) signatures(all []Signature, width float64) measured {
	gap := float64(wideGap)
	if len(all) > 2 {
		gap = narrowGap
	}
	var columns []Column
	r := Row{Space: signatureSpace}
	for i, s := range all {
		if i > 0 {
			columns, r.Cells = append(columns, Column{Width: gap}), append(r.Cells, Cell{})
		}
		columns = append(columns, Column{Width: (width - gap*float64(len(all)-1)) / float64(len(all)), Align: Centre})
		r.Cells = append(r.Cells, Cell{Rule: Pen, Text: []Text{{Style: Fine, Words: s.Who},
			{Style: Note, Words: s.What}}})
	}
	m := l.measure(columns, &r, 0.8, false)
	for i := range m.cells {
		m.cells[i].align = Left // without a gutter
	}
	return m
}

// columns gives every column of a block its width.
func (l *layout) columns(b *Block, width float64) []Column {
	out := slices.Clone(b.Columns)
	if len(out) == 0 {
		out = []Column{{}}
	}
	var open, fit []int
	for i, c := range out {
		switch {
		case c.Fit:
			fit = append(fit, i)
		case c.Width == 0:
			open = append(open, i)
		default:
			width -= c.Width
		}
	}
	if len(fit) > 0 {
		l.fit(b, out, fit, open, width)
		return out
	}
	for _, i := range open {
		out[i].Width = width / float64(len(open))
	}
	return out
}

// fit sizes columns by what they hold. The widest gives way first, down to its
// longest word; what is left over goes to the open ones, else to all but the last.
func (l *layout) fit(b *Block, columns []Column, fit, open []int, width float64) {
	const step = 0.25
	all := append(slices.Clone(fit), open...)
	least := make([]float64, len(columns))
	for _, i := range all {
		columns[i].Width, least[i] = l.extent(b, columns, i)
		width -= columns[i].Width
	}
	for width < 0 {
		widest := -1
		for _, i := range all {
			if columns[i].Width-step >= least[i] && (widest < 0 || columns[i].Width > columns[widest].Width) {
				widest = i
			}
		}
		if widest < 0 {
			break // a word is too wide: its cell will say so
		}
		columns[widest].Width -= step
		width += step
	}
	if width < 0 { // each gives the same part of what is missing
		for _, i := range all {
			columns[i].Width += width / float64(len(all))
		}
		return
	}
	grow := open
	if len(grow) == 0 && len(fit) > 1 {
		grow = fit[:len(fit)-1]
	}
	for _, i := range grow {
		columns[i].Width += width / float64(len(grow))
	}
}

// extent is how wide a column is whose cells all stand on one line, and how wide
// its longest word is.
func (l *layout) extent(b *Block, columns []Column, i int) (natural, least float64) {
	see := func(t Text) {
		look, words := t.Style.Look(), l.paper.words(t)
		natural = max(natural, l.advance.width(look, words))
		for word := range strings.FieldsFuncSeq(words, func(r rune) bool { return r == ' ' }) {
			least = max(least, l.advance.width(look, word))
		}
	}
	see(Text{Style: Note, Words: columns[i].Header})
	for _, r := range b.Rows {
		at := 0
		for _, c := range r.Cells {
			if span := max(1, c.Span); at == i && span == 1 {
				for _, t := range c.Text {
					see(t)
				}
			}
			at += max(1, c.Span)
		}
	}
	if i+1 < len(columns) || columns[i].Align == Right {
		natural, least = natural+gutter, least+gutter
	}
	return natural, least
}
