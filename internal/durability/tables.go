package durability

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"lotpaper/data"
	"lotpaper/internal/csvtable"
)

// ruleTables are the small tables that turn words of a situation into values
// that rules compare. Each row names its source.
type ruleTables struct {
	shapes     []shapeRow
	lamps      []lampRow
	places     []Place
	treatments []treatmentRow
	work       []noteRow
	cares      []noteRow
	disputes   []disputeRow

	shapeOf     map[string]*shapeRow
	lampOf      map[string]*lampRow
	treatmentOf map[string]*treatmentRow
}

// shapeRow is an outline: 0 no points, 1 blunted corners, 2 sharp points.
type shapeRow struct {
	name    string
	aliases []string
	points  int32
	bead    bool // drilled: it may be strung or set on a peg
	dome    bool // a cabochon
	source  string
}

// lampRow is a light source: how hot it makes a showcase, and how much of a
// dose of the same visible light it takes to fade as much as filtered light.
type lampRow struct {
	name    string
	aliases []string
	heat    int32
	uvRich  bool
	source  string
}

// Place is a usual place or way of wear with its light, for comparison.
type Place struct {
	Name        string
	Lux         float64
	HoursPerDay float64
	DaysPerYear float64
	Lamp        string
	Source      string
}

// treatmentRow says what a treatment does to a stone's durability, and how it
// is told.
type treatmentRow struct {
	name     string
	aliases  []string
	effects  []condition // the attribute becomes at least as bad as the limit
	words    string      // "fissures filled with colourless oil"
	lasting  string      // "permanent", "not permanent", "usually permanent"
	specific bool        // must be written on commercial documents and told
	special  string      // special care in words; empty when none is needed
	value    bool        // has a significant effect on value
	mustSay  bool        // the bare gem name may not be used with it: never assumed when nothing is stated
	source   string
}

// disputeRow is a contradiction between published sources on one material or
// variety, by the names of the fact tables.
type disputeRow struct {
	material, variety string
	Dispute
}

// disputesOn lists what sources contradict each other about on a stone.
func (t *ruleTables) disputesOn(s *Stone) []Dispute {
	out := []Dispute{}
	for _, d := range t.disputes {
		if s.Material != nil && d.material == s.Material.Name && (d.variety == "" || (s.Variety != nil &&
			d.variety == s.Variety.Name)) {
			out = append(out, d.Dispute)
		}
	}
	return out
}

// noteRow is a sentence that holds under conditions: a step of the work order
// or a word of care.
type noteRow struct {
	id     string
	topic  string
	when   []condition
	words  string
	source string
}

func (n noteRow) holds(p *profile) bool {
	return !slices.ContainsFunc(n.when, func(c condition) bool { return !c.holds(p[c.of]) })
}

var tables = sync.OnceValue(func() *ruleTables {
	t, err := readTables()
	if err != nil {
		panic("durability: " + err.Error())
	}
	return t
})

// sheet walks one table and keeps the first fault.
type sheet struct {
	file string
	id   string
	row  map[string]string
	err  error
}

func (s *sheet) fail(col string, err error) {
	if s.err == nil && err != nil {
		s.err = fmt.Errorf("%s: row %q: %s: %w", s.file, s.id, col, err)
	}
}

func (s *sheet) number(col string) float64 {
	v, err := strconv.ParseFloat(s.row[col], 64)
	s.fail(col, err)
	return v
}

func (s *sheet) word(col string, a attribute) int32 {
	v, ok := scales[a].read(s.row[col])
	if !ok {
		s.fail(col, fmt.Errorf("%q is not on the scale of %s", s.row[col], scales[a].name))
	}
	return v
}

func (s *sheet) yes(col string) bool {
	if w := s.row[col]; w != "yes" && w != "no" {
		s.fail(col, fmt.Errorf("%q is neither yes nor no", w))
	}
	return s.row[col] == "yes"
}

func (s *sheet) when(col string) []condition {
	c, err := parseWhen(s.row[col])
	s.fail(col, err)
	return c
}

func readTables() (*ruleTables, error) {
	t := &ruleTables{}
	for _, load := range []struct {
		file string
		row  func(*sheet)
	}{
		{"rules_word_shapes.csv", func(s *sheet) {
			t.shapes = append(t.shapes, shapeRow{s.id, split(s.row["aliases"]), s.word("points", points), s.yes("bead"),
				s.yes("dome"), s.row["source"]})
		}},
		{"rules_word_lamps.csv", func(s *sheet) {
			t.lamps = append(t.lamps, lampRow{s.id, split(s.row["aliases"]), s.word("heat", lampHeat), s.yes("uv_rich"),
				s.row["source"]})
		}},
		{"rules_word_places.csv", func(s *sheet) {
			t.places = append(t.places, Place{s.id, s.number("lux"), s.number("hours_per_day"),
				s.number("days_per_year"), s.row["lamp"], s.row["source"]})
		}},
		{"rules_word_treatments.csv", func(s *sheet) {
			t.treatments = append(t.treatments, treatmentRow{s.id, split(s.row["aliases"]), s.when("effects"),
				s.row["words"], s.row["lasting"],
				s.yes("specific"), s.row["special_care"], s.yes("value"), s.yes("must_state"), s.row["source"]})
		}},
		{"rules_work.csv", func(s *sheet) {
			t.work = append(t.work, noteRow{s.id, "", s.when("when"), s.row["words"], s.row["source"]})
		}},
		{"rules_disputes.csv", func(s *sheet) {
			d := Dispute{Hazard(s.row["hazard"]), s.row["one"], s.row["one_source"], s.row["other"],
				s.row["other_source"]}
			if s.row["taken"] == "other" {
				d.Taken, d.TakenSource, d.Other, d.OtherSource = d.Other, d.OtherSource, d.Taken, d.TakenSource
			}
			if !slices.Contains(hazards[:], d.Hazard) || d.Taken == "" || d.TakenSource == "" || d.Other == "" ||
				d.OtherSource == "" {
				s.fail("hazard", fmt.Errorf("an incomplete dispute"))
			}
			t.disputes = append(t.disputes, disputeRow{s.row["material"], s.row["variety"], d})
		}},
		{"rules_care.csv", func(s *sheet) {
			t.cares = append(t.cares, noteRow{s.id, s.row["topic"], s.when("when"), s.row["words"], s.row["source"]})
		}},
	} {
		rows, err := csvtable.Read(data.FS, load.file)
		if err != nil {
			return nil, err
		}
		s := &sheet{file: load.file}
		for _, row := range rows {
			s.row, s.id = row, row["id"]
			if s.id == "" || row["source"]+row["one_source"] == "" {
				s.fail("source", fmt.Errorf("a row needs an id and a source"))
			}
			load.row(s)
		}
		if s.err != nil {
			return nil, s.err
		}
	}
	t.shapeOf = index(t.shapes, func(r shapeRow) (string, []string) { return r.name, r.aliases })
	t.lampOf = index(t.lamps, func(r lampRow) (string, []string) { return r.name, r.aliases })
	t.treatmentOf = index(t.treatments, func(r treatmentRow) (string, []string) { return r.name, r.aliases })
	return t, nil
}

// index finds rows by their name or an alias.
func index[R any](rows []R, words func(R) (string, []string)) map[string]*R {
	out := make(map[string]*R, 4*len(rows))
	for i := range rows {
		name, aliases := words(rows[i])
		for _, w := range append([]string{name}, aliases...) {
			if out[w] == nil {
				out[w] = &rows[i]
			}
		}
	}
	return out
}

// find looks a word up as a person writes it; the zero row when it is not known.
func find[R any](rows map[string]*R, word string) (r R, ok bool) {
	row := rows[word]
	if row == nil {
		row = rows[strings.ToLower(strings.TrimSpace(word))]
	}
	if row == nil {
		return r, false
	}
	return *row, true
}

func (t *ruleTables) shape(word string) (shapeRow, bool) { return find(t.shapeOf, word) }

func (t *ruleTables) lamp(word string) (lampRow, bool) { return find(t.lampOf, word) }

func (t *ruleTables) treatment(word string) (treatmentRow, bool) { return find(t.treatmentOf, word) }

// apart takes words that hold several treatments, "irradiated + heated" or
// "heated, minor oil", apart; words that are known as they stand stay whole.
func (t *ruleTables) apart(words []string) []string {
	if !slices.ContainsFunc(words, func(w string) bool { return t.treatmentOf[w] == nil }) {
		return words
	}
	var out []string
	for _, w := range words {
		if _, ok := t.treatment(w); ok {
			out = append(out, w)
			continue
		}
		parts := strings.FieldsFunc(strings.ReplaceAll(w, " and ", "+"),
			func(r rune) bool { return strings.ContainsRune(",+/&", r) })
		for _, p := range parts {
			if p = strings.TrimSpace(p); p != "" {
				out = append(out, p)
			}
		}
	}
	return out
}

func names[R any](rows []R, name func(R) string) []string {
	out := make([]string, len(rows))
	for i, r := range rows {
		out[i] = name(r)
	}
	return out
}
