package answer

import (
	"bytes"
	"encoding/json"
	"strings"
)

// Calculation is the answer of a calculator: what went in, what came out, how,
// and where the formula comes from.
type Calculation struct {
	Inputs  Figures  `json:"inputs"`
	Result  Figures  `json:"result"`
	Formula string   `json:"formula"`
	Source  string   `json:"source"`
	Notes   []string `json:"notes"`
}

// Figure is one named value of a calculation: exact numbers and words as a
// string, rows as []Figures, lines as []string; nil is unknown.
type Figure struct {
	Name  string
	Value any
}

// Figures are values in the order in which a person reads them; in JSON they
// are one object.
type Figures []Figure

// Add appends a value.
func (f *Figures) Add(name string, value any) { *f = append(*f, Figure{name, value}) }

// MarshalJSON keeps the order of the values.
func (f Figures) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, x := range f {
		if i > 0 {
			b.WriteByte(',')
		}
		name, err := json.Marshal(x.Name)
		if err != nil {
			return nil, err
		}
		value, err := json.Marshal(x.Value)
		if err != nil {
			return nil, err
		}
		b.Write(name)
		b.WriteByte(':')
		b.Write(value)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// Input adds what went in, unless it is empty.
func (c *Calculation) Input(name, value string) {
	if value != "" {
		c.Inputs.Add(name, value)
	}
}

// Note adds remarks, none for an empty line.
func (c *Calculation) Note(lines ...string) {
	for _, l := range lines {
		if l != "" {
			c.Notes = append(c.Notes, l)
		}
	}
}

// Screen is the result, how it was reached, and where the formula comes from.
func (c *Calculation) Screen() Screen {
	var s Screen
	t := &Table{Header: []string{"result", "value"}}
	var tables []Figure
	for _, f := range c.Result {
		switch f.Value.(type) {
		case nil, string:
			t.Rows = append(t.Rows, []string{f.Name, f.words()})
		default:
			tables = append(tables, f)
		}
	}
	if len(t.Rows) > 0 {
		s.table(t)
	}
	for _, f := range tables {
		if rows := f.table(); rows != nil {
			s.line("%s:", f.Name)
			s.table(rows)
		}
	}
	s.line("formula: %s", Wrap(c.Formula, 91, "  "))
	s.line("source: %s", Wrap(c.Source, 92, "  "))
	for _, f := range c.Inputs {
		if f.Name == "read_as" {
			s.line("read as: %s", Wrap(f.words(), 91, "  "))
		}
	}
	for _, n := range c.Notes {
		s.line("note: %s", Wrap(n, 94, "  "))
	}
	return s
}

// words are a value of text or of lines.
func (f Figure) words() string {
	switch v := f.Value.(type) {
	case string:
		return v
	case []string:
		return strings.Join(v, "; ")
	}
	return "unknown"
}

// table is a value of rows, headed by the names of the first; nil without rows.
func (f Figure) table() *Table {
	rows, _ := f.Value.([]Figures)
	if len(rows) == 0 {
		return nil
	}
	t := &Table{}
	for _, x := range rows[0] {
		t.Header = append(t.Header, x.Name)
	}
	for _, row := range rows {
		words := make([]string, len(row))
		for i, x := range row {
			words[i] = x.words()
		}
		t.Rows = append(t.Rows, words)
	}
	return t
}
