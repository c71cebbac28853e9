package durability

import (
	"slices"
	"strings"
)

// Judge gives the verdict of one situation. Words that it does not know are
// taken at their worst and said in Assumed; Check reports them as faults.
func Judge(s Situation) Verdict {
	b, t := book(), tables()
	v := Verdict{ReadAs: readAs(&s.Stone)}
	var p profile
	t.stone(&p, &s.Stone, &v.Assumed)
	t.position(&p, &s.Position, &v.Assumed)
	benchSteps(&p, s.Bench)
	if len(s.Bench) == 0 {
		say(&v.Assumed, "no bench step planned with the stone in place: set last and cleaned by hand assumed")
	}
	t.display(&p, s.Display, &v.Assumed)

	fired := b.fired(&p, 0, attributes)
	v.Levels = b.levels(fired)
	v.BreakLevel, v.ReturnLevel = worst(fired, &b.loss[0]), worst(fired, &b.loss[1])
	w := wording{profile: &p, situation: &s}
	v.Findings = b.findings(fired, w)

	q := p
	for i, step := range Steps {
		benchSteps(&q, []string{step})
		alone := b.fired(&q, 0, attributes)
		level := b.levels(alone).Bench
		if level < Caution {
			continue
		}
		words := step
		for _, f := range b.findings(alone, wording{profile: &q, situation: &s}) {
			if f.Part == PartBench && f.Level == level && q[torch+attribute(i)] == 1 {
				words += ": " + f.Reason
				break
			}
		}
		if level == Avoid {
			v.Forbidden = append(v.Forbidden, words)
		} else {
			v.Guarded = append(v.Guarded, words)
		}
	}
	for _, n := range t.work {
		if n.holds(&p) && !slices.Contains(v.WorkOrder, n.words) {
			v.WorkOrder = append(v.WorkOrder, n.words)
		}
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
func (b *rulebook) findings(fired set, w wording) []Finding {
	var on []*rule
	fired.each(func(i int) { on = append(on, &b.rules[i]) })
	out := make([]Finding, 0, len(on))
	for i, r := range on {
		if !slices.ContainsFunc(on[:i], func(s *rule) bool { return s.level > r.level && covers(s, r) }) {
			out = append(out, w.finding(r))
		}
	}
	return out
}

// covers tells whether rule s speaks of all the facts that r speaks of.
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

// wording turns rules into sentences about one situation.
type wording struct {
	profile   *profile
	situation *Situation
}

func (w wording) finding(r *rule) Finding {
	f := Finding{Rule: r.id, Hazard: r.hazard, Part: r.part, Level: r.level, Source: r.source, Mend: r.mend, Care: r.care}
	pairs := make([]string, 0, 2*len(r.when))
	for _, c := range r.when {
		s := scales[c.of]
		value := s.show(w.profile[c.of])
		n := Number{Name: s.title(), Value: value, Limit: s.show(c.limit)}
		if s.unit != "" && c.limit != unknown {
			n.Limit += " " + s.unit
		}
		switch {
		case c.limit == unknown:
		case s.up:
			n.Limit = "at least " + n.Limit
		default:
			n.Limit = "at most " + n.Limit
		}
		f.Numbers = append(f.Numbers, n)
		pairs = append(pairs, "{"+s.name+"}", value)
	}
	f.Reason = strings.NewReplacer(pairs...).Replace(r.reason)
	return f
}
