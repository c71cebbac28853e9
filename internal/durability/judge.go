package durability

import (
	"fmt"
	"slices"
	"strings"
)

// Judge gives the verdict of one situation. Words that it does not know are
// taken at their worst and said in Assumed; Check reports them as faults.
func Judge(s Situation) Verdict {
	b, t := book(), tables()
	v := Verdict{ReadAs: readAs(&s.Stone), Forbidden: []string{}, Guarded: []string{}, Assumed: []string{},
		WorkOrder: []string{}}
	var p profile
	t.stone(&p, &s.Stone, &v.Assumed)
	t.position(&p, &s.Position, s.Shape, &v.Assumed)
	benchSteps(&p, s.Bench, &v.Assumed)
	if len(s.Bench) == 0 {
		say(&v.Assumed, "no bench step planned with the stone in place: set last and cleaned by hand assumed")
	}
	t.display(&p, s.Display, &v.Assumed)

	fired := b.fired(&p, 0, attributes)
	v.Levels = b.levels(fired)
	v.BreakLevel, v.ReturnLevel = b.worst(&fired, &b.loss[0]), b.worst(&fired, &b.loss[1])
	v.Findings = b.findings(fired, &p)

	// The steps that are not planned are judged one by one all the same: the
	// card of the piece must say what may never touch the stone.
	q := p
	for _, step := range Steps {
		benchSteps(&q, []string{step}, nil)
		alone := b.fired(&q, 0, attributes)
		level := b.levels(alone).Bench
		if level < Caution {
			continue
		}
		words := step + ": " + b.why(alone, level, &q)
		if level == Avoid {
			v.Forbidden = append(v.Forbidden, words)
		} else {
			v.Guarded = append(v.Guarded, words)
		}
	}
	v.Disputed = t.disputesOn(&s.Stone)
	held := t.heldBy(s.Setting, s.Shape)
	if held != nil {
		v.SpareStones = held.SpareStones
	}
	for _, n := range t.work {
		if n.holds(&p) && !slices.Contains(v.WorkOrder, n.words) {
			v.WorkOrder = append(v.WorkOrder, n.words)
		}
	}
	if held != nil && held.Benchmark != "" {
		v.WorkOrder = append(v.WorkOrder, "Benchmarks for the setter: "+held.Benchmark+".")
	}
	return v
}

func readAs(s *Stone) string {
	switch {
	case s.ReadAs != "":
		return s.ReadAs
	case s.Material == nil:
		return "unknown stone"
	case s.Variety != nil:
		return s.Variety.Name + " (" + s.Material.Name + ")"
	}
	return s.Material.Name
}

// findings words the fired rules, worst first. A rule is left out when a
// stricter one of the same hazard and part compares the same facts: it only
// says the same more mildly.
func (b *rulebook) findings(fired set, p *profile) []Finding {
	on := make([]*rule, 0, 16)
	fired.each(func(i int) { on = append(on, &b.rules[i]) })
	out := make([]Finding, 0, len(on))
	for i, r := range on {
		if !slices.ContainsFunc(on[:i], func(s *rule) bool { return s.level > r.level && covers(s, r) }) {
			out = append(out, r.finding(p))
		}
	}
	return out
}

// why is the reason of the first bench rule of that level.
func (b *rulebook) why(fired set, level Level, p *profile) (reason string) {
	fired.and(b.of[slices.Index(parts[:], PartBench)]).each(func(i int) {
		if reason == "" && b.rules[i].level == level {
			reason = b.rules[i].told(p)
		}
	})
	return reason
}

// covers reports whether rule s speaks of all the facts that r speaks of.
func covers(s, r *rule) bool {
	if s.hazard != r.hazard || s.part != r.part {
		return false
	}
	for _, c := range r.when {
		if !slices.ContainsFunc(s.when, func(d condition) bool { return d.of == c.of }) {
			return false
		}
	}
	return true
}

// told is the reason with the values of one situation in it.
func (r *rule) told(p *profile) string {
	words := r.reason
	if strings.Contains(words, "{") {
		for _, c := range r.when {
			s := scales[c.of]
			words = strings.ReplaceAll(words, "{"+s.name+"}", s.show(p[c.of]))
		}
	}
	return words
}

// finding is the rule as it holds for one situation, with the values compared.
func (r *rule) finding(p *profile) Finding {
	f := Finding{Rule: r.id, Hazard: r.hazard, Part: r.part, Level: r.level, Reason: r.told(p), Source: r.source,
		Advice: r.advice, Care: r.care}
	f.Numbers = make([]Number, len(r.when))
	for i, c := range r.when {
		s := scales[c.of]
		value, limit := s.show(p[c.of]), s.show(c.limit)
		switch {
		case c.limit == unknown, len(s.words) == 2:
		case s.up:
			limit = "at least " + limit
		default:
			limit = "at most " + limit
		}
		if s.unit != "" && c.limit != unknown {
			limit += " " + s.unit
		}
		switch c.of {
		case knocks:
			value += fmt.Sprintf(" (3 x piece %d + wear %d + setting %d)", p[pieceScore], p[wear], p[impactScore])
		case rub:
			value += fmt.Sprintf(" (3 x piece %d + wear %d + open crown %d)", p[pieceScore], p[wear], p[crownScore])
		}
		f.Numbers[i] = Number{Name: s.title(), Value: value, Limit: limit}
	}
	return f
}
