package identify

import (
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"lotpaper/internal/csvtable"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
)

// Sign is a result that a material is known for under the colour filter, the
// thermal or electrical probe, or magnification. Signs move shares and never
// exclude; those of growth point to a nature and never establish it.
type Sign struct {
	Material string // name, or "group NAME" for all of a group
	Test     string // "filter", "thermal", "electrical", "magnification"
	Result   string
	Usual    bool // most stones show it; else it is seen now and then
	Nature   facts.Nature
	Stones   string // which stones of the material
	Source   string
}

var signTests = []string{"filter", "thermal", "electrical", "magnification"}

// ReadSigns reads a table of signs with the columns material, test, result, how
// (usual or seen), nature, stones, source.
func ReadSigns(files fs.FS, name string) ([]Sign, error) {
	rows, err := csvtable.Read(files, name)
	if err != nil {
		return nil, fmt.Errorf("read the signs: %w", err)
	}
	var signs []Sign
	var faults fault.List
	for i, row := range rows {
		at := fault.Where{File: name, Row: i + csvtable.FirstLine}
		if how := row["how"]; !slices.Contains(signTests, row["test"]) || row["result"] == "" || how != "usual" &&
			how != "seen" || row["source"] == "" {
			faults.Add(fault.New(fault.Invalid, "sign-unreadable", "a sign needs material, test, result, usual or "+
				"seen, nature, stones, source, but has "+fmt.Sprint(row), "use the tests "+strings.Join(signTests,
				", ")).At(at))
			continue
		}
		signs = append(signs, Sign{Material: row["material"], Test: row["test"], Result: row["result"],
			Usual: row["how"] == "usual", Nature: facts.Nature(row["nature"]), Stones: row["stones"],
			Source: row["source"]})
	}
	return signs, faults.Err()
}

// WithSigns returns the table with the signs added. Every sign must name a
// material or a group of the table.
func (t *Table) WithSigns(signs []Sign) (*Table, error) {
	out := *t
	out.rows = slices.Clone(t.rows)
	var faults fault.List
	for _, s := range signs {
		group, isGroup := strings.CutPrefix(s.Material, "group ")
		found := false
		for i, m := range t.Materials {
			if m.Name == s.Material || isGroup && m.Group == group {
				out.rows[i].signs = append(slices.Clip(out.rows[i].signs), s)
				found = true
			}
		}
		if !found {
			faults.Add(fault.New(fault.Invalid, "sign-material",
				fmt.Sprintf("the sign %s %s names %q, which is no material of the table", s.Test, s.Result, s.Material),
				"use the name of the materials table, or group and its name"))
		}
	}
	return &out, faults.Err()
}

// How often a sign shows on a material that it is published for, and on one
// that it is not (common practice).
const (
	signUsual    = 0.5
	signSeen     = 0.15
	signStranger = 0.03
)

// signChance of a result that was seen. Results that only deny (a low thermal
// reading, no conduction) are what an unpublished material shows.
func (r *row) signChance(test, result string) float64 {
	denies := test == "thermal" && strings.EqualFold(result, "low") || test == "electrical" &&
		strings.EqualFold(result, "none")
	p := signStranger
	if denies {
		p = 1 - signStranger
	}
	for i := range r.signs {
		s := &r.signs[i]
		if s.Test != test {
			continue
		}
		chance := signSeen
		if s.Usual {
			chance = signUsual
		}
		switch {
		case denies:
			p = min(p, 1-chance)
		case strings.EqualFold(s.Result, result):
			p = max(p, chance)
		}
	}
	return p
}

// told is the likelihood of every sign that was seen.
func (b *bench) told(r *row) float64 {
	p := 1.0
	if b.filter != "" {
		p *= r.signChance("filter", b.filter)
	}
	if b.thermal != "" {
		p *= r.signChance("thermal", b.thermal)
	}
	if b.electrical != "" {
		p *= r.signChance("electrical", b.electrical)
	}
	for _, f := range b.features {
		p *= r.signChance("magnification", f)
	}
	return p
}

// growth is what the features seen say of the nature of the candidates.
func (v *Verdict) growth() []string {
	var out []string
	for _, c := range v.Candidates {
		for _, s := range v.table.rows[c.index].signs {
			if s.Test != "magnification" || s.Nature == "" || !slices.ContainsFunc(v.bench.features,
				func(f string) bool { return strings.EqualFold(f, s.Result) }) {
				continue
			}
			out = append(out, fmt.Sprintf("in %s %s point to %s (%s)", c.Material.Name, s.Result, s.Nature, s.Source))
		}
	}
	return out
}
