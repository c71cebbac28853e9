package answer

import "fmt"

// Screen is an answer as a person reads it: text, tables and remarks from top
// to bottom.
type Screen []Part

// Part is one part of a screen: a table, or text of whole lines.
type Part struct {
	Text   string
	Table  *Table // nil: the text
	Remark bool   // the text stands beside the answer: other programs do not read it
	Cut    bool   // the text says what was left out: the edge adds how to see all
	More   bool   // the text names what is explained on request: the edge adds how
}

// line adds a line.
func (s *Screen) line(format string, args ...any) { s.text(fmt.Sprintf(format, args...) + "\n") }

// text adds whole lines.
func (s *Screen) text(lines string) { *s = append(*s, Part{Text: lines}) }

// remark adds a line beside the answer.
func (s *Screen) remark(format string, args ...any) {
	*s = append(*s, Part{Text: fmt.Sprintf(format, args...) + "\n", Remark: true})
}

// cut adds a line that says what was left out, beside the answer or in it.
func (s *Screen) cut(remark bool, format string, args ...any) {
	*s = append(*s, Part{Text: fmt.Sprintf(format, args...), Remark: remark, Cut: true})
}

// more adds a line that names what is explained on request.
func (s *Screen) more(format string, args ...any) {
	*s = append(*s, Part{Text: fmt.Sprintf(format, args...), More: true})
}

// table adds a table.
func (s *Screen) table(t *Table) { *s = append(*s, Part{Table: t}) }

// screenOf is a screen of nothing but text.
func screenOf(lines string) Screen { return Screen{{Text: lines}} }

// aligned is a table that is read, not cut: its columns stand below each other
// also where other programs read it.
func (t *Table) aligned() *Table {
	t.Aligned = true
	return t
}
