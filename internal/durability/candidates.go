package durability

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/facts"
)

// Candidate is the verdict of one stone that a lot may still be.
type Candidate struct {
	Name    string  `json:"name"`
	Verdict Verdict `json:"verdict"`
	Stone   Stone   `json:"-"`
}

// Candidates is the answer for a lot that is not verified, or for the name of
// a group: every stone it may be, and the worst of each part.
type Candidates struct {
	Levels
	Worst Candidate   `json:"worst"` // the candidate with the worst headline; the first of equals
	Each  []Candidate `json:"each"`
	If    []string    `json:"if"` // "if this is X, then ..."
}

// JudgeAll judges the same situation for each stone that is left. The levels
// are the worst of each part over all of them; an empty list gives the verdict
// of an unknown stone.
func JudgeAll(s Situation, stones []Stone) Candidates {
	if len(stones) == 0 {
		stones = []Stone{s.Stone}
	}
	var c Candidates
	for i, stone := range stones {
		one := s
		one.Stone = stone
		v := Judge(one)
		c.Each = append(c.Each, Candidate{v.ReadAs, v, stone})
		c.Setting = max(c.Setting, v.Setting)
		c.Bench = max(c.Bench, v.Bench)
		c.Display = max(c.Display, v.Display)
		if i == 0 || harsher(v.Levels, c.Worst.Verdict.Levels) {
			c.Worst = c.Each[i]
		}
	}
	for _, e := range c.Each {
		words := fmt.Sprintf("if this is %s, then %s", e.Name, e.Verdict.Setting)
		for _, f := range e.Verdict.Findings {
			if f.Part == PartSetting && f.Level == e.Verdict.Setting {
				words += ": " + f.Reason
				break
			}
		}
		if e.Verdict.Bench > e.Verdict.Setting {
			words += fmt.Sprintf(" (bench: %s)", e.Verdict.Bench)
		}
		if e.Verdict.Display > e.Verdict.Setting {
			words += fmt.Sprintf(" (display: %s)", e.Verdict.Display)
		}
		c.If = append(c.If, words)
	}
	return c
}

// harsher orders levels by the headline, then bench, then display.
func harsher(a, b Levels) bool {
	if a.Setting != b.Setting {
		return a.Setting > b.Setting
	}
	if a.Bench != b.Bench {
		return a.Bench > b.Bench
	}
	return a.Display > b.Display
}

// StonesOf lists the stones that a name may stand for.
func StonesOf(n facts.Named) []Stone {
	out := make([]Stone, len(n.Materials))
	for i, m := range n.Materials {
		out[i] = Stone{Material: m, Variety: n.Variety, ReadAs: n.ReadAs}
		if len(n.Materials) > 1 {
			out[i].ReadAs = m.Short
		}
	}
	return out
}

// Verdict joins the candidates into one verdict: the worst candidate's, and for
// a part in which another candidate is worse, that one's findings, marked with
// its name.
func (c Candidates) Verdict() Verdict {
	v := c.Worst.Verdict
	if len(c.Each) == 1 {
		return v
	}
	v.Findings = slices.Clone(v.Findings)
	v.Assumed = append(slices.Clone(v.Assumed), c.If...)
	for _, part := range parts {
		if v.Of(part) == c.Of(part) {
			continue
		}
		for _, e := range c.Each {
			if e.Verdict.Of(part) != c.Of(part) {
				continue
			}
			for _, f := range e.Verdict.Findings {
				if f.Part == part && f.Level > v.Of(part) {
					f.Reason = "if this is " + e.Name + ": " + f.Reason
					v.Findings = append(v.Findings, f)
				}
			}
			break
		}
	}
	slices.SortStableFunc(v.Findings, func(a, b Finding) int { return cmp.Compare(b.Level, a.Level) })
	for _, e := range c.Each {
		v.BreakLevel = max(v.BreakLevel, e.Verdict.BreakLevel)
		v.ReturnLevel = max(v.ReturnLevel, e.Verdict.ReturnLevel)
		v.Forbidden = join(v.Forbidden, e.Verdict.Forbidden)
		v.Guarded = join(v.Guarded, e.Verdict.Guarded)
		v.WorkOrder = inOrder(v.WorkOrder, e.Verdict.WorkOrder)
		for _, d := range e.Verdict.Disputed {
			if !slices.Contains(v.Disputed, d) {
				v.Disputed = append(slices.Clone(v.Disputed), d)
			}
		}
	}
	// A step that one candidate forbids is not merely guarded by another.
	v.Guarded = slices.DeleteFunc(v.Guarded, func(words string) bool {
		return slices.ContainsFunc(v.Forbidden, func(f string) bool { return stepOf(f) == stepOf(words) })
	})
	v.Levels = c.Levels
	return v
}

// Care words the care that follows from every candidate: what one of them
// asks for is on the card, each sentence once.
func (c Candidates) Care(s Situation) CareCard {
	var all CareCard
	for _, e := range c.Each {
		one := s
		one.Stone = e.Stone
		card := CareOf(one, e.Verdict)
		all.Wear, all.Clean, all.Store = joinWords(all.Wear, card.Wear), joinWords(all.Clean, card.Clean),
			joinWords(all.Store, card.Store)
		all.Display, all.Repair = joinWords(all.Display, card.Display), joinWords(all.Repair, card.Repair)
	}
	return all
}

// joinWords adds the sentences that are not there yet.
func joinWords(list, more []string) []string {
	for _, w := range more {
		if !slices.Contains(list, w) {
			list = append(list, w)
		}
	}
	return list
}

// inOrder adds the steps that are not there yet, each after the step that it
// follows in its own work order.
func inOrder(list, more []string) []string {
	out := slices.Clone(list)
	at := 0
	for _, w := range more {
		if have := slices.Index(out, w); have >= 0 {
			at = max(at, have+1)
			continue
		}
		out = slices.Insert(out, at, w)
		at++
	}
	return out
}

// join adds the words that are not there yet; of a bench step the first word on it counts.
func join(list, more []string) []string {
	out := slices.Clone(list)
	for _, w := range more {
		if !slices.ContainsFunc(out, func(have string) bool {
			return have == w ||
				(stepOf(w) != "" && stepOf(have) == stepOf(w))
		}) {
			out = append(out, w)
		}
	}
	return out
}

// stepOf is the bench step that "torch: reason" speaks of; empty for other words.
func stepOf(words string) string {
	step, _, found := strings.Cut(words, ": ")
	if !found || !slices.Contains(Steps[:], step) {
		return ""
	}
	return step
}
