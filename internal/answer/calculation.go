package answer

import (
	"bytes"
	"encoding/json"
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
