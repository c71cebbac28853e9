package calc

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"

	"lotpaper/internal/facts"
	"lotpaper/internal/num"
)

// Calculation is the answer of a desk calculator: what went in, what came out,
// how, and where the formula comes from. It needs no book.
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

// calculation starts an answer; its lists are never null.
func calculation(formula, source string) *Calculation {
	return &Calculation{Inputs: Figures{}, Result: Figures{}, Formula: formula, Source: source, Notes: []string{}}
}

func (c *Calculation) note(lines ...string) {
	for _, l := range lines {
		if l != "" {
			c.Notes = append(c.Notes, l)
		}
	}
}

// in adds an input unless it is empty.
func (c *Calculation) in(name, value string) {
	if value != "" {
		c.Inputs.Add(name, value)
	}
}

// plain prints a measured or searched number with at most places decimals.
func plain(f float64, places int) string { return num.FromFloat(f, places, num.HalfUp).String() }

// optional prints a value that may be unknown.
func optional(s string, known bool) any {
	if !known {
		return nil
	}
	return s
}

// sources joins sources, each once; each may itself be a list of them.
func sources(list ...string) string {
	var out []string
	for _, s := range list {
		for _, one := range strings.Split(s, "; ") {
			if one != "" && !slices.Contains(out, one) {
				out = append(out, one)
			}
		}
	}
	return strings.Join(out, "; ")
}

// material is a stone named by a flag: everything that the name stands for.
func material(flag, name string) (facts.Named, error) {
	n, f := facts.Resolve(name)
	if f != nil {
		return n, f.AtField(flag)
	}
	return n, nil
}

// readAs says how a name was read when it is not the material's own.
func (c *Calculation) readAs(asked string, n facts.Named) {
	c.in("read_as", n.ReadAs)
	if len(n.Materials) > 1 {
		var members []string
		for _, m := range n.Materials {
			members = append(members, m.Name)
		}
		c.note("\"" + asked + "\" stands for " + strings.Join(members, ", ") + ": all of them are counted")
	}
}
