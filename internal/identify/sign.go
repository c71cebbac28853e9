package identify

import (
	"fmt"
	"io/fs"
	"slices"
	"strconv"
	"strings"

	"lotpaper/internal/csvtable"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
)

// Sign is a result that a material is known for under the colour filter, the
// thermal or electrical probe, or magnification, or to the eye. Signs move
// shares and never exclude; those of growth point to a nature and never
// establish it.
type Sign struct {
	Material  string // name; or "group NAME", "nature NAME", "optic NAME", "birefringence LEAST"
	Test      string // "filter", "thermal", "electrical", "magnification", "look"
	Result    string
	Hit       float64 // share of the material's stones that show it
	Elsewhere float64 // share of other materials' stones
	Nature    facts.Nature
	Stones    string // which stones of the material
	Source    string
}

// often reports whether most of the material's stones, or nearly, show it.
func (s *Sign) often() bool { return s.Hit >= 0.25 }

// signTests are the tests by sign, in the order of TestFilter and after.
var signTests = []string{"filter", "thermal", "electrical", "magnification", "look"}

// ReadSigns reads a table of signs with the columns material, test, result,
// hit, elsewhere, nature, stones, source.
func ReadSigns(files fs.FS, name string) ([]Sign, error) {
	rows, err := csvtable.Read(files, name)
	if err != nil {
		return nil, fmt.Errorf("read the signs: %w", err)
	}
	var signs []Sign
	var faults fault.List
	for i, row := range rows {
		at := fault.Where{File: name, Row: i + csvtable.FirstLine}
		hit, err1 := strconv.ParseFloat(row["hit"], 64)
		elsewhere, err2 := strconv.ParseFloat(row["elsewhere"], 64)
		if err1 != nil || err2 != nil || !(hit > 0 && hit < 1) || !(elsewhere > 0 && elsewhere < 1) ||
			!slices.Contains(signTests, row["test"]) || row["result"] == "" || row["source"] == "" {
			faults.Add(fault.New(fault.Invalid, "sign-unreadable", "a sign needs material, test, result, hit and "+
				"elsewhere between 0 and 1, nature, stones, source, but has "+fmt.Sprint(row), "use the tests "+
				strings.Join(signTests, ", ")).At(at))
			continue
		}
		signs = append(signs, Sign{Material: row["material"], Test: row["test"], Result: row["result"],
			Hit: hit, Elsewhere: elsewhere, Nature: facts.Nature(row["nature"]), Stones: row["stones"],
			Source: row["source"]})
	}
	return signs, faults.Err()
}

// shownBy reports whether the sign is one of a material.
func (s *Sign) shownBy(m *facts.Material) bool {
	kind, word, ok := strings.Cut(s.Material, " ")
	if ok {
		switch kind {
		case "group":
			return m.Group == word
		case "nature":
			return string(m.Nature) == word
		case "optic":
			return string(m.Optic) == word
		case "birefringence":
			least, err := strconv.ParseFloat(word, 64)
			return err == nil && m.Birefringence.Known && m.Birefringence.Max >= least
		}
	}
	return m.Name == s.Material
}

// WithSigns returns the table with the signs added. Every sign must name a
// material or a kind of materials of the table.
func (t *Table) WithSigns(signs []Sign) (*Table, error) {
	out := *t
	out.rows = slices.Clone(t.rows)
	out.results = slices.Clip(t.results)
	var faults fault.List
	for _, s := range signs {
		id := out.result(s.Test, s.Result)
		if id < 0 {
			id = len(out.results)
			out.results = append(out.results, result{s.Test, s.Result, s.Elsewhere})
		}
		if have := out.results[id].elsewhere; have != s.Elsewhere {
			faults.Add(fault.New(fault.Invalid, "sign-elsewhere", fmt.Sprintf("the sign %s %s is shown elsewhere by "+
				"%g and by %g", s.Test, s.Result, have, s.Elsewhere), "give all rows of one result the same share"))
		}
		found := false
		for i, m := range t.Materials {
			if s.shownBy(m) {
				r := &out.rows[i]
				r.signs = append(slices.Clip(r.signs), tableSign{s, id})
				found = true
			}
		}
		if !found {
			faults.Add(fault.New(fault.Invalid, "sign-material",
				fmt.Sprintf("the sign %s %s names %q, which is no material of the table", s.Test, s.Result, s.Material),
				"use the name of the materials table, or group, nature or optic and its name"))
		}
	}
	return &out, faults.Err()
}

// result is one thing that a test by sign can show.
type result struct {
	test, name string
	elsewhere  float64
}

// tableSign is a sign of one material with the place of its result.
type tableSign struct {
	Sign
	id int
}

// result is the place of what a test showed, -1 when no material is known for it.
func (t *Table) result(test, name string) int {
	if i := strings.Index(name, "colour"); i >= 0 {
		name = name[:i] + "color" + name[i+len("colour"):]
	}
	for i := range t.results {
		if t.results[i].test == test && strings.EqualFold(t.results[i].name, name) {
			return i
		}
	}
	return -1
}

// seenSign is a result that the stone showed, or denied: no conduction, a low
// thermal reading.
type seenSign struct {
	id     int
	denied bool
}

// seen finds the places of what the stone showed. Words that the table does not
// know say nothing.
func (t *Table) seen(b *bench) []seenSign {
	var out []seenSign
	add := func(test, name string) {
		denied := ""
		switch {
		case test == "thermal" && strings.EqualFold(name, "low"):
			denied = "high"
		case test == "electrical" && strings.EqualFold(name, "none"):
			denied = "conducts"
		}
		if denied != "" {
			name = denied
		}
		if id := t.result(test, name); id >= 0 {
			out = append(out, seenSign{id, denied != ""})
		}
	}
	if b.filter != "" {
		add("filter", b.filter)
	}
	if b.thermal != "" {
		add("thermal", b.thermal)
	}
	if b.electrical != "" {
		add("electrical", b.electrical)
	}
	for _, f := range b.features {
		add("magnification", f)
	}
	for _, f := range b.looks {
		add("look", f)
	}
	return out
}

// UnknownSigns are faults for words under magnification and of the look that no
// material of the table is known for, each with the nearest that are.
func (t *Table) UnknownSigns(o *Observations) fault.List {
	var faults fault.List
	check := func(test string, words []string) {
		var known []string
		for _, r := range t.results {
			if r.test == test {
				known = append(known, r.name)
			}
		}
		for _, w := range words {
			if t.result(test, w) < 0 {
				mend := "use one of " + strings.Join(known, ", ") + ", and keep other words as a note"
				if hint := fault.DidYouMean(strings.ToLower(w), known); hint != "" {
					mend = hint
				}
				faults.Add(fault.New(fault.Invalid, "sign-unknown", fmt.Sprintf("no material is known for %q under %s",
					w, test), mend))
			}
		}
	}
	check("magnification", o.Features)
	check("look", o.Look.Signs)
	return faults
}

// signChance of one result.
func (r *row) signChance(t *Table, s seenSign) float64 {
	hit := 0.0
	for i := range r.signs {
		if r.signs[i].id == s.id {
			hit = max(hit, r.signs[i].Hit)
		}
	}
	if hit == 0 {
		hit = t.results[s.id].elsewhere
	}
	if s.denied {
		return 1 - hit
	}
	return hit
}

// told is the likelihood of every sign that was seen.
func (b *bench) told(t *Table, r *row) float64 {
	p := 1.0
	for _, s := range b.seen {
		p *= r.signChance(t, s)
	}
	return p
}

// signOfStranger is how often a material that the table has not shows a sign at
// least: it may be known for it.
const signOfStranger = 0.03

// toldOfStranger is the likelihood of the signs under the open set.
func (b *bench) toldOfStranger(t *Table) float64 {
	p := 1.0
	for _, s := range b.seen {
		chance := max(t.results[s.id].elsewhere, signOfStranger)
		if s.denied {
			chance = 1 - chance
		}
		p *= chance
	}
	return p
}

// growth is what the features seen say of the nature of the candidates.
func (v *Verdict) growth() []string {
	var out []string
	for _, c := range v.Candidates {
		for _, s := range v.table.rows[c.index].signs {
			if s.Test != "magnification" || s.Nature == "" || !slices.ContainsFunc(v.bench.seen,
				func(x seenSign) bool { return x.id == s.id }) {
				continue
			}
			out = append(out, fmt.Sprintf("in %s %s point to %s (%s)", c.Material.Name, s.Result, s.Nature, s.Source))
		}
	}
	return out
}
