package durability

import (
	"cmp"
	"fmt"
	"math/bits"
	"slices"
	"strings"
	"sync"

	"lotpaper/data"
	"lotpaper/internal/csvtable"
)

// rule is one row of a data/rules_HAZARD.csv table: when all its conditions
// hold, its part of the verdict is at least at its level.
type rule struct {
	id     string
	hazard Hazard
	part   Part
	level  Level
	when   []condition
	reason string // with {attribute} placeholders
	advice string // what to do where it is set all the same; empty when only another place helps
	care   string // words for the wearer; empty when it concerns the bench alone
	source string
}

// condition asks whether an attribute lies at or beyond a limit towards its
// worse end, or whether it is unknown.
type condition struct {
	of    attribute
	limit int32
}

func (c condition) holds(v int32) bool {
	switch {
	case c.limit == unknown:
		return v == unknown
	case v == unknown:
		return false
	case scales[c.of].up:
		return v >= c.limit
	}
	return v <= c.limit
}

// parseWhen reads "hardness<=6.9; toughness<=fair; torch": a bare name asks
// for "yes". A limit towards the better end is refused.
func parseWhen(text string) ([]condition, error) {
	var out []condition
	for term := range strings.SplitSeq(text, ";") {
		term = strings.TrimSpace(term)
		if term == "" {
			continue
		}
		name, op, word := term, ">=", "yes"
		for _, o := range []string{">=", "<=", "="} {
			if before, after, ok := strings.Cut(term, o); ok {
				name, op, word = strings.TrimSpace(before), o, strings.TrimSpace(after)
				break
			}
		}
		at := slices.IndexFunc(scales[:], func(s scale) bool { return s.name == name })
		if at < 0 {
			return nil, fmt.Errorf("no attribute %q", name)
		}
		a := attribute(at)
		limit, ok := scales[a].read(word)
		switch {
		case !ok:
			return nil, fmt.Errorf("%q is not on the scale of %s", word, name)
		case (limit == unknown) != (op == "="):
			return nil, fmt.Errorf("%q: = goes with unknown, >= and <= with a limit", term)
		case limit != unknown && (op == ">=") != scales[a].up:
			return nil, fmt.Errorf("%q asks for the better end of %s", term, name)
		}
		out = append(out, condition{a, limit})
	}
	return out, nil
}

// readRules reads the rule tables of all hazards.
func readRules() ([]rule, error) {
	var rules []rule
	seen := map[string]bool{}
	for _, h := range hazards {
		file := "rules_" + string(h) + ".csv"
		rows, err := csvtable.Read(data.FS, file)
		if err != nil {
			return nil, err
		}
		for _, row := range rows {
			r := rule{id: row["id"], hazard: h, part: Part(row["part"]), reason: row["reason"], advice: row["advice"],
				care: row["care"], source: row["source"]}
			level := slices.Index(levelWords[:], row["level"])
			r.level = Level(level)
			if r.when, err = parseWhen(row["when"]); err != nil {
				return nil, fmt.Errorf("%s: rule %s: %w", file, r.id, err)
			}
			if r.id == "" || seen[r.id] || level < 1 || !slices.Contains(parts[:], r.part) ||
				r.reason == "" || r.source == "" || len(r.when) == 0 {
				return nil, fmt.Errorf("%s: rule %q is incomplete or listed twice", file, r.id)
			}
			if name := stray(r); name != "" {
				return nil, fmt.Errorf("%s: rule %s speaks of %s, which it does not compare", file, r.id, name)
			}
			seen[r.id] = true
			rules = append(rules, r)
		}
	}
	return rules, nil
}

// stray is a {placeholder} of the reason that is none of the rule's facts.
func stray(r rule) string {
	for _, piece := range strings.Split(r.reason, "{")[1:] {
		name, _, _ := strings.Cut(piece, "}")
		if !slices.ContainsFunc(r.when, func(c condition) bool { return scales[c.of].name == name }) {
			return name
		}
	}
	return ""
}

// words is the size of a set: a rule book holds at most 64 rules a word.
const words = 8

// set is a set of rules by their place in the book.
type set [words]uint64

func (s *set) add(i int) { s[i/64] |= 1 << (i % 64) }
func (s set) and(o set) set {
	for w := range s {
		s[w] &= o[w]
	}
	return s
}
func (s set) each(do func(int)) {
	for w, word := range s {
		for ; word != 0; word &= word - 1 {
			do(w*64 + bits.TrailingZeros64(word))
		}
	}
}

// column holds, for one attribute, the rules that each of its values leaves
// standing: between two neighbouring cuts the answer does not change.
type column struct {
	cuts    []int32 // ascending; bucket i holds cuts[i-1] <= v < cuts[i]
	masks   []set
	unknown set
}

func (c *column) mask(v int32) set {
	if v == unknown {
		return c.unknown
	}
	i := 0
	for i < len(c.cuts) && v >= c.cuts[i] {
		i++
	}
	return c.masks[i]
}

// rulebook is all rules, compiled: a rule fires when every attribute leaves it
// standing, so the fired rules are the intersection of one set per attribute.
type rulebook struct {
	rules   []rule              // strictest first
	columns [attributes]*column // nil: no rule asks for it
	of      [len(parts)]set     // the rules of a part
	loss    [len(lossKinds)]set // the rules of a kind of loss
	all     set
}

// compile makes the rule book of a list of rules.
func compile(rules []rule) (*rulebook, error) {
	if len(rules) > words*64 {
		return nil, fmt.Errorf("%d rules, but a rule book holds %d: raise words", len(rules), words*64)
	}
	rules = slices.SortedStableFunc(slices.Values(rules), func(a, b rule) int { return cmp.Compare(b.level, a.level) })
	b := &rulebook{rules: rules}
	for i, r := range rules {
		b.all.add(i)
		b.of[slices.Index(parts[:], r.part)].add(i)
		for k, kind := range lossKinds {
			if lossOf(r) == kind {
				b.loss[k].add(i)
			}
		}
		for _, c := range r.when {
			if b.columns[c.of] == nil {
				b.columns[c.of] = &column{}
			}
			if c.limit == unknown {
				continue
			}
			cut := c.limit
			if !scales[c.of].up {
				cut++ // v <= limit is v < limit+1
			}
			col := b.columns[c.of]
			col.cuts = append(col.cuts, cut)
		}
	}
	for a, col := range b.columns {
		if col == nil {
			continue
		}
		slices.Sort(col.cuts)
		col.cuts = slices.Compact(col.cuts)
		standing := func(v int32) (s set) {
			for i, r := range rules {
				if !slices.ContainsFunc(r.when, func(c condition) bool { return c.of == attribute(a) && !c.holds(v) }) {
					s.add(i)
				}
			}
			return s
		}
		col.unknown = standing(unknown)
		col.masks = make([]set, len(col.cuts)+1)
		for i := range col.masks {
			v := int32(unknown + 1)
			if i > 0 {
				v = col.cuts[i-1]
			}
			col.masks[i] = standing(v)
		}
	}
	return b, nil
}

// fired is the set of rules whose conditions on the attributes first..last-1
// all hold.
func (b *rulebook) fired(p *profile, first, last attribute) set {
	s := b.all
	for a := first; a < last; a++ {
		if col := b.columns[a]; col != nil {
			s = s.and(col.mask(p[a]))
		}
	}
	return s
}

// levels reads the three verdicts off a set of fired rules.
func (b *rulebook) levels(s set) Levels {
	return Levels{Setting: b.worst(&s, &b.of[0]), Bench: b.worst(&s, &b.of[1]), Display: b.worst(&s, &b.of[2])}
}

// worst is the level of the strictest rule that both sets hold: their first,
// because the strictest rules come first.
func (b *rulebook) worst(s, of *set) Level {
	for w := range s {
		if both := s[w] & of[w]; both != 0 {
			return b.rules[w*64+bits.TrailingZeros64(both)].level
		}
	}
	return Sound
}

// book is the rule book of the data folder. The tables are embedded and
// tested; a fault in them is a fault of the program.
var book = sync.OnceValue(func() *rulebook {
	rules, err := readRules()
	if err != nil {
		panic("durability: " + err.Error())
	}
	b, err := compile(rules)
	if err != nil {
		panic("durability: " + err.Error())
	}
	return b
})
