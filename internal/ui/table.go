package ui

import (
	"strings"
	"unicode/utf8"
)

// Table is rows under a header. Columns named in Right are aligned right.
type Table struct {
	Header  []string
	Right   []bool // by column; shorter means left
	Rows    [][]string
	Aligned bool // a person reads it, also from a file: never tab-separated
}

// Add appends a row.
func (t *Table) Add(cells ...string) { t.Rows = append(t.Rows, cells) }

// Table prints t: aligned under a header on a terminal, tab-separated
// elsewhere, so that other programs can cut it.
func (s *Streams) Table(t *Table) {
	if !s.OutTTY && !t.Aligned {
		s.Printf("%s\n", strings.Join(t.Header, "\t"))
		for _, r := range t.Rows {
			s.Printf("%s\n", strings.Join(r, "\t"))
		}
		return
	}
	s.Printf("%s", t.Text(s.Color))
}

// Text renders t with padded columns.
func (t *Table) Text(color bool) string {
	width := make([]int, len(t.Header))
	measure := func(row []string) {
		for i, c := range row {
			if i < len(width) {
				width[i] = max(width[i], utf8.RuneCountInString(c))
			}
		}
	}
	measure(t.Header)
	for _, r := range t.Rows {
		measure(r)
	}
	var b strings.Builder
	line := func(row []string) {
		for i, c := range row {
			pad := strings.Repeat(" ", max(0, width[i]-utf8.RuneCountInString(c)))
			switch {
			case i < len(t.Right) && t.Right[i]:
				b.WriteString(pad + c)
			case i == len(row)-1:
				b.WriteString(c)
			default:
				b.WriteString(c + pad)
			}
			if i < len(row)-1 {
				b.WriteString("  ")
			}
		}
		b.WriteByte('\n')
	}
	if color {
		b.WriteString("\x1b[1m")
	}
	line(t.Header)
	if color {
		b.WriteString("\x1b[0m")
	}
	for _, r := range t.Rows {
		line(r)
	}
	return b.String()
}
