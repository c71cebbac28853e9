package durability

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/facts"
)

// Candidate is the verdict of one stone that a lot may be.
type Candidate struct {
	Name    string  `json:"name"`
	Verdict Verdict `json:"verdict"`
	Stone   Stone   `json:"-"`
}

// Other is a stone that a lot may also be, and that would come out worse than what it is
// taken for.
type Other struct {
	Name     string
	Material *facts.Material // nil: something that the facts have not
	Chance   float64         // 0: not known
	Level    Level
	Reason   string
}

// Candidates is the answer for a lot, or for the name of a group: the levels
// that it reaches with more than a small chance, and what it may be.
type Candidates struct {
	Levels
	BreakLevel, ReturnLevel Level
	Deciding                Candidate   // what decided the headline: the likeliest of its level
	Each                    []Candidate // the claim first, or else the likeliest; what is hardly possible is left out
	If                      []string    // "if this is X, then ..."
	Others                  []Other     // what would come out worse than the first, three at most
	Rarer                   Rarer       // what would too, but is not told one by one
}

// Rarer are the stones that a lot may also be, each hardly, that would come out
// worse than what it is taken for. None: Stones is 0.
type Rarer struct {
	Stones int
	Chance float64 // together
	Level  Level   // that at least half of the chance reaches
}

// Words say what they would mostly come out as.
func (r Rarer) Words() string {
	return fmt.Sprintf("if it were one of %d rarer stones (%s together): mostly %s", r.Stones,
		percentOf(r.Chance), r.Level)
}

// rarer sums up the stones that are worse than the first and are not told.
func rarer(stones []Stone, all []grades, isTold func(i int) bool) (r Rarer) {
	var at [Avoid + 1]float64
	for i := range stones {
		if now := stones[i].Chance; i > 0 && now > 0 && !isTold(i) && all[i].Setting > all[0].Setting {
			at[all[i].Setting] += now
			r.Stones++
			r.Chance += now
		}
	}
	if r.Chance < told {
		return Rarer{}
	}
	sum := 0.0
	for r.Level = Avoid; r.Level > Care; r.Level-- {
		if sum += at[r.Level]; 2*sum >= r.Chance {
			break
		}
	}
	return r
}

// reaches are the chances above which a level counts: of care, caution and
// avoid. The worse what may happen, the smaller the chance that is minded
// (common practice; the figures are the project's own choice).
var reaches = [...]float64{Care: 0.25, Caution: 0.10, Avoid: 0.05}

// told is the chance from which a candidate is told at all; rarer ones only
// count in the sums.
const told = 0.01

// grades are all levels of one verdict.
type grades struct {
	Levels
	breaks, returns Level
}

// gradesOf are the levels of Judge, without its words.
func gradesOf(s Situation) grades {
	b, t := book(), tables()
	var p profile
	t.stone(&p, &s.Stone, nil)
	t.position(&p, &s.Position, s.Shape, nil)
	benchSteps(&p, s.Bench, nil)
	t.display(&p, s.Display, nil)
	fired := b.fired(&p, 0, attributes)
	return grades{b.levels(fired), b.worst(&fired, &b.loss[0]), b.worst(&fired, &b.loss[1])}
}

// chances are that the stone is this one, and that it is taken for it.
func (s *Stone) chances() (now, taken float64) {
	if s.Chance == 0 && s.Taken == 0 {
		return 1, 1
	}
	return s.Chance, s.Taken
}

// Weigh is the one rule for a stone that may be several: the greatest level
// that it reaches with a chance above the limit of the level. While no test
// speaks against what a stone is taken for, only a level that this reaches too
// counts: an untested lot stands where its own material stands, and testing a
// stone never makes its verdict worse.
func Weigh(stones []Stone, level func(i int) Level) Level {
	var now, taken [Avoid + 1]float64
	for i := range stones {
		n, t := stones[i].chances()
		l := level(i)
		now[l] += n
		taken[l] += t
	}
	sum, sumTaken := 0.0, 0.0
	for l := Avoid; l > Sound; l-- {
		sum, sumTaken = sum+now[l], sumTaken+taken[l]
		if sum > reaches[l] && sumTaken > reaches[l] {
			return l
		}
	}
	return Sound
}

// Likely are the stones that more than one in twenty is, and the first.
func Likely(stones []Stone) []Stone {
	var out []Stone
	for i, s := range stones {
		if now, _ := s.chances(); i == 0 || now > reaches[Avoid] {
			out = append(out, s)
		}
	}
	return out
}

// JudgeAll judges the same situation for each stone that it may be, and weighs
// each part; an empty list gives the verdict of an unknown stone.
func JudgeAll(s Situation, stones []Stone) Candidates {
	if len(stones) == 0 {
		stones = []Stone{s.Stone}
	}
	all := make([]grades, len(stones))
	for i := range stones {
		one := s
		one.Stone = stones[i]
		all[i] = gradesOf(one)
	}
	weigh := func(of func(g *grades) Level) Level {
		return Weigh(stones, func(i int) Level { return of(&all[i]) })
	}
	var c Candidates
	c.Setting = weigh(func(g *grades) Level { return g.Setting })
	c.Bench = weigh(func(g *grades) Level { return g.Bench })
	c.Display = weigh(func(g *grades) Level { return g.Display })
	c.BreakLevel = weigh(func(g *grades) Level { return g.breaks })
	c.ReturnLevel = weigh(func(g *grades) Level { return g.returns })

	tell := make([]bool, len(stones))
	likelier := func(i, j int) bool { // j: -1 for none
		if j < 0 {
			return true
		}
		a, _ := stones[i].chances()
		b, _ := stones[j].chances()
		return a > b || a == b && harsher(all[i].Levels, all[j].Levels)
	}
	deciding := -1
	for _, part := range parts { // each level that is told has a stone that shows why
		of := -1
		for i := range stones {
			if all[i].Of(part) == c.Of(part) && likelier(i, of) {
				of = i
			}
		}
		if of >= 0 {
			tell[of] = true
		}
		if part == PartSetting {
			deciding = of
		}
	}
	// Wear on some and work on others may together reach what neither does alone.
	if c.Setting > max(c.BreakLevel, c.ReturnLevel) {
		if all[deciding].breaks == c.Setting {
			c.BreakLevel = c.Setting
		} else {
			c.ReturnLevel = c.Setting
		}
	}
	for i, stone := range stones {
		now, _ := stone.chances()
		if i > 0 && now < told && !tell[i] {
			continue
		}
		one := s
		one.Stone = stone
		v := Judge(one)
		e := Candidate{v.ReadAs, v, stone}
		c.Each = append(c.Each, e)
		c.If = append(c.If, e.words())
		if i == deciding {
			c.Deciding = e
		}
		if v.Setting > c.Each[0].Verdict.Setting && now >= told {
			c.Others = append(c.Others, Other{e.Name, stone.Material, stone.Chance, v.Setting, e.reason()})
		}
	}
	slices.SortStableFunc(c.Others, func(a, b Other) int {
		return cmp.Or(cmp.Compare(b.Level, a.Level), cmp.Compare(b.Chance, a.Chance))
	})
	c.Others = c.Others[:min(3, len(c.Others))]
	c.Rarer = rarer(stones, all, func(i int) bool {
		return slices.ContainsFunc(c.Others, func(o Other) bool {
			return o.Material == stones[i].Material && o.Chance == stones[i].Chance
		})
	})
	return c
}

// reason is why the setting part comes out as it does; empty when it is sound.
func (e *Candidate) reason() string {
	for _, f := range e.Verdict.Findings {
		if f.Part == PartSetting && f.Level == e.Verdict.Setting {
			return f.Reason
		}
	}
	return ""
}

// words say what the verdict is if the stone is this one.
func (e *Candidate) words() string {
	words := fmt.Sprintf("if this is %s, then %s", e.Name, e.Verdict.Setting)
	if e.Stone.Chance > 0 {
		words = fmt.Sprintf("if this is %s (%s), then %s", e.Name, percentOf(e.Stone.Chance), e.Verdict.Setting)
	}
	if reason := e.reason(); reason != "" {
		words += ": " + reason
	}
	if e.Verdict.Bench > e.Verdict.Setting {
		words += fmt.Sprintf(" (bench: %s)", e.Verdict.Bench)
	}
	if e.Verdict.Display > e.Verdict.Setting {
		words += fmt.Sprintf(" (display: %s)", e.Verdict.Display)
	}
	return words
}

// percentOf words a chance in percent.
func percentOf(p float64) string { return fmt.Sprintf("%.2g %%", 100*p) }

// Words say what the verdict would be if the stone were this one.
func (o Other) Words() string {
	chance := ""
	if o.Chance > 0 {
		chance = " (" + percentOf(o.Chance) + ")"
	}
	return fmt.Sprintf("if it were %s%s: %s, because %s", o.Name, chance, o.Level, o.Reason)
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

// Verdict joins the candidates into one verdict: the findings of the first one
// that count, and for a part that another decides that one's worst, marked with
// its name. What more than one stone in twenty forbids or asks for is in it.
func (c Candidates) Verdict() Verdict {
	v := c.Each[0].Verdict
	if len(c.Each) == 1 {
		return v
	}
	findings := v.Findings
	v.Findings = make([]Finding, 0, len(findings))
	for _, f := range findings {
		if f.Level <= c.Of(f.Part) {
			v.Findings = append(v.Findings, f)
		}
	}
	v.Assumed = slices.Clone(v.Assumed)
	for _, o := range c.Others {
		v.Assumed = append(v.Assumed, o.Words())
	}
	for _, part := range parts {
		if v.Of(part) >= c.Of(part) {
			continue
		}
		e := c.decides(part)
		for _, f := range e.Verdict.Findings {
			if f.Part == part && f.Level == c.Of(part) {
				f.Reason = "if this is " + e.Name + ": " + f.Reason
				v.Findings = append(v.Findings, f)
				break
			}
		}
	}
	slices.SortStableFunc(v.Findings, func(a, b Finding) int { return cmp.Compare(b.Level, a.Level) })
	v.Forbidden, v.Guarded = nil, nil
	for _, e := range c.Each {
		if c.asks(func(o *Candidate) bool { return o.Name == e.Name }) {
			v.WorkOrder = InOrder(v.WorkOrder, e.Verdict.WorkOrder)
			for _, d := range e.Verdict.Disputed {
				if !slices.Contains(v.Disputed, d) {
					v.Disputed = append(slices.Clone(v.Disputed), d)
				}
			}
		}
		v.Forbidden = join(v.Forbidden, c.steps(e.Verdict.Forbidden, false))
		v.Guarded = join(v.Guarded, c.steps(e.Verdict.Guarded, true))
	}
	if v.Forbidden == nil {
		v.Forbidden = []string{}
	}
	// A step that one candidate forbids is not merely guarded by another.
	v.Guarded = slices.DeleteFunc(v.Guarded, func(words string) bool {
		return slices.ContainsFunc(v.Forbidden, func(f string) bool { return stepOf(f) == stepOf(words) })
	})
	if v.Guarded == nil {
		v.Guarded = []string{}
	}
	v.Levels, v.BreakLevel, v.ReturnLevel = c.Levels, c.BreakLevel, c.ReturnLevel
	return v
}

// decides is the likeliest candidate whose level of a part is the whole's.
func (c Candidates) decides(part Part) *Candidate {
	best := &c.Each[0]
	for i := range c.Each {
		e := &c.Each[i]
		if e.Verdict.Of(part) == c.Of(part) &&
			(best.Verdict.Of(part) != c.Of(part) || e.Stone.Chance > best.Stone.Chance) {
			best = e
		}
	}
	return best
}

// asks reports whether more than one stone in twenty is a candidate of which
// something holds.
func (c Candidates) asks(holds func(*Candidate) bool) bool {
	now, taken := 0.0, 0.0
	for i := range c.Each {
		if holds(&c.Each[i]) {
			n, t := c.Each[i].Stone.chances()
			now, taken = now+n, taken+t
		}
	}
	return now > reaches[Avoid] && taken > reaches[Avoid]
}

// steps are the words on bench steps that more than one stone in twenty
// forbids, or of guarded ones, forbids or guards.
func (c Candidates) steps(words []string, guarded bool) []string {
	var out []string
	for _, w := range words {
		same := func(o string) bool { return stepOf(o) == stepOf(w) }
		if c.asks(func(e *Candidate) bool {
			return slices.ContainsFunc(e.Verdict.Forbidden, same) ||
				guarded && slices.ContainsFunc(e.Verdict.Guarded, same)
		}) {
			out = append(out, w)
		}
	}
	return out
}

// Care words the care that follows from every candidate of more than one stone
// in twenty: what one of them asks for is on the card, each sentence once.
func (c Candidates) Care(s Situation) CareCard {
	var all CareCard
	for i, e := range c.Each {
		if i > 0 && !c.asks(func(o *Candidate) bool { return o.Name == e.Name }) {
			continue
		}
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

// InOrder adds the steps that are not there yet, each after the step that it
// follows in its own work order.
func InOrder(list, more []string) []string {
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
