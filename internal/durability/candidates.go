package durability

import "fmt"

// Candidate is the verdict of one stone that a lot may still be.
type Candidate struct {
	Name    string  `json:"name"`
	Verdict Verdict `json:"verdict"`
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
		c.Each = append(c.Each, Candidate{v.ReadAs, v})
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
