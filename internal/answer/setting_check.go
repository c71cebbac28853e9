package answer

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/durability"
	"lotpaper/internal/fault"
	"lotpaper/internal/sheet"
)

// SettingCheck is the verdict on stones in their settings: on one pair, or on
// every pair of a file.
type SettingCheck struct {
	Pairs    []SettingPair `json:"pairs"`
	Warnings fault.List    `json:"-"` // of the file; shown beside the answer
	Explain  bool          `json:"-"` // one pair is shown whole, with rules, numbers and sources
}

// SettingPair is the verdict on one stone in one situation. Level is the
// setting verdict: 0 sound, 1 care, 2 caution, 3 avoid.
type SettingPair struct {
	Pair        string               `json:"pair"`
	ReadAs      string               `json:"read_as"`
	Verdict     string               `json:"verdict"`
	Level       durability.Level     `json:"level"`
	Setting     durability.Level     `json:"setting"`
	SettingWear durability.Level     `json:"setting_wear"` // what wear does to it
	SettingWork durability.Level     `json:"setting_work"` // what the setter risks
	Bench       durability.Level     `json:"bench"`
	Display     *durability.Level    `json:"display"` // null: no light was stated
	WorkOrder   []string             `json:"work_order"`
	Forbidden   []string             `json:"forbidden"` // bench steps that must never touch this stone
	Guarded     []string             `json:"guarded"`   // bench steps that need caution
	Assumed     []string             `json:"assumed"`
	If          []string             `json:"if"`     // other stones it may be
	Others      []OtherStone         `json:"others"` // what would come out worse: three at most, and the rarer ones
	Hazards     []PeopleHazard       `json:"hazards"`
	Findings    []durability.Finding `json:"findings"`
	Disputed    []durability.Dispute `json:"disputed"` // where published sources contradict each other
	Spares      string               `json:"spares"`   // the usual rule on spare stones for the setting
	Losses      []durability.Rate    `json:"losses"`   // chance of breaking while it is set, and of coming back damaged

	Showcase durability.Level `json:"-"` // what a lit showcase would do, when no light was stated
}

// OtherStone is a stone that a lot may also be, and that would come out worse.
type OtherStone struct {
	Species string           `json:"species"`
	Chance  *float64         `json:"chance"` // null: not known, as of the members of a group
	Level   durability.Level `json:"level"`
	Reason  string           `json:"reason"`
	Settles string           `json:"settles"` // the test that tells it from the claim

	Words string `json:"-"`
}

// worst is the reason of the worst finding; empty when there is none.
func (p *SettingPair) worst() string {
	if len(p.Findings) == 0 {
		return ""
	}
	return p.Findings[0].Reason
}

// mend is what mends the worst finding; empty when nothing does.
func (p *SettingPair) mend() string {
	if len(p.Findings) == 0 {
		return ""
	}
	return p.Findings[0].Mend
}

var pairColumns = []column[SettingPair]{
	{"pair", "Pair", 22, func(p *SettingPair) sheet.Cell { return sheet.Text(p.Pair) }},
	{"setting", "Setting", 10, func(p *SettingPair) sheet.Cell { return sheet.Text(p.Setting.String()) }},
	{"bench", "Bench", 10, func(p *SettingPair) sheet.Cell { return sheet.Text(p.Bench.String()) }},
	{"display", "Display", 10, func(p *SettingPair) sheet.Cell { return sheet.Text(p.display()) }},
	{"worst finding", "Worst finding", 60, func(p *SettingPair) sheet.Cell { return sheet.Text(p.worst()) }},
	onlyFiled("What mends it", 50, func(p *SettingPair) sheet.Cell { return sheet.Text(p.mend()) }),
}

// List is a line for each pair.
func (c *SettingCheck) List() Listing {
	return &list[SettingPair]{head: Head{Title: "Stones and settings"}, columns: pairColumns, rows: c.Pairs,
		screen: c.Screen}
}

// Screen is one pair in at most twelve lines, or whole when asked; several as a
// table.
func (c *SettingCheck) Screen() Screen {
	if len(c.Pairs) > 1 {
		return Screen{{Table: tableOf(pairColumns, c.Pairs)}}
	}
	var s Screen
	for i := range c.Pairs {
		var b strings.Builder
		if c.Explain {
			c.Pairs[i].text(&b)
			s.text(b.String())
			continue
		}
		c.Pairs[i].short(&b)
		s.text(b.String())
		more := "rules, numbers and sources"
		if slices.Contains(c.Pairs[i].Assumed, Untested) {
			more = Untested + "; " + more
		}
		s.more("  %s", more)
	}
	return s
}

var lossWords = map[durability.LossKind]string{durability.LossSetting: "breaks while being set",
	durability.LossReturn: "comes back damaged in a year"}

// display is the verdict on the light that was stated.
func (p *SettingPair) display() string {
	if p.Display == nil {
		return "not stated"
	}
	return p.Display.String()
}

// headline is the verdict by part, and how the stone's name was read.
func (p *SettingPair) headline() string {
	shown := "display " + p.display()
	if p.Display == nil {
		shown = "in a lit showcase " + p.Showcase.String()
	}
	words := fmt.Sprintf("%s: %s (wear %s, setter %s, bench %s, %s)", p.Pair, p.Verdict, p.SettingWear, p.SettingWork,
		p.Bench, shown)
	if p.ReadAs != "" && p.ReadAs != p.Pair {
		words += ", read as " + p.ReadAs
	}
	return words
}

// Untested is said of a lot that is taken for what its vendor stated.
const Untested = "nobody has tested the lot: taken for what the vendor stated"

// short are at most eleven lines: the verdict by part, what it could also be,
// what can hurt people, the three worst findings with what mends their part, the
// order of work, and the chances of loss.
func (p *SettingPair) short(b *strings.Builder) {
	line := func(format string, args ...any) { fmt.Fprintf(b, format+"\n", args...) }
	line("%s", p.headline())
	var also []string
	for _, o := range p.Others {
		also = append(also, o.Words+" (told apart by: "+o.Settles+")")
	}
	if len(also) > 0 {
		line("  %s", strings.Join(also, "; "))
	}
	if people := HazardWords(p.Hazards); len(people) > 0 {
		line("  people: %s; local rules come first", strings.Join(people, "; "))
	}
	mended := map[durability.Part]bool{}
	for _, f := range p.foremost() {
		line("  %s %s: %s", f.Level, f.Part, f.Reason)
		if f.Mend != "" && !mended[f.Part] {
			line("      mend: %s", f.Mend)
			mended[f.Part] = true
		}
	}
	if work := p.work(); work != "" {
		line("  work: %s", work)
	}
	var losses []string
	for _, x := range p.Losses {
		losses = append(losses, fmt.Sprintf("%s %.1f %%", lossWords[x.Kind], 100*x.Mean))
	}
	if len(losses) > 0 {
		line("  loss: %s", strings.Join(losses, ", "))
	}
}

// foremost are the three findings that tell most: the worst of each part, then
// the others. The display counts when light was stated.
func (p *SettingPair) foremost() []durability.Finding {
	var out, more []durability.Finding
	seen := map[durability.Part]bool{}
	for _, f := range p.Findings {
		switch {
		case f.Part == durability.PartDisplay && p.Display == nil:
		case seen[f.Part]:
			more = append(more, f)
		default:
			seen[f.Part] = true
			out = append(out, f)
		}
	}
	if n := 3 - len(out); n < len(more) {
		more = more[:max(n, 0)]
	}
	out = append(out, more...)
	slices.SortStableFunc(out, func(a, b durability.Finding) int { return cmp.Compare(b.Level, a.Level) })
	return out
}

// work is the order of work in one line: the head of each step, and which steps
// the stone may not meet. The setter's benchmarks are left out.
func (p *SettingPair) work() string {
	var out []string
	for _, w := range p.WorkOrder {
		if strings.HasPrefix(w, "Benchmarks ") {
			continue
		}
		if i := strings.IndexAny(w, ":;"); i > 0 {
			w = w[:i]
		}
		out = append(out, strings.TrimSuffix(w, "."))
	}
	if len(p.Forbidden) > 0 {
		out = append(out, "never: "+strings.Join(steps(p.Forbidden), ", "))
	}
	if len(p.Guarded) > 0 {
		out = append(out, "with caution: "+strings.Join(steps(p.Guarded), ", "))
	}
	return strings.Join(out, "; ")
}

// steps are the bench steps of "torch: reason" words.
func steps(words []string) []string {
	var out []string
	for _, w := range words {
		step, _, _ := strings.Cut(w, ": ")
		out = append(out, step)
	}
	return out
}

func (p *SettingPair) text(b *strings.Builder) {
	line := func(format string, args ...any) { fmt.Fprintf(b, format+"\n", args...) }
	line("%s", p.headline())
	for _, o := range p.Others {
		line("  %s; told apart by: %s", Wrap(o.Words, 98, "      "), o.Settles)
	}
	for _, h := range p.Hazards {
		line("  people: %s", Wrap(h.words(), 90, "      "))
		line("      when it is %s; %s", strings.Join(h.When, ", "), Wrap(h.Source, 80, "      "))
	}
	for _, f := range p.Findings {
		line("  %s %s: %s", f.Level, f.Part, Wrap(f.Reason, 96, "      "))
		var numbers []string
		for _, n := range f.Numbers {
			numbers = append(numbers, n.Name+" "+n.Value+" ("+n.Limit+")")
		}
		if len(numbers) > 0 {
			line("      %s", Wrap(strings.Join(numbers, ", "), 94, "      "))
		}
		if f.Advice != "" {
			line("      in practice: %s", Wrap(f.Advice, 84, "      "))
		}
		if f.Mend != "" {
			line("      mend: %s", Wrap(f.Mend, 90, "      "))
		}
		line("      rule %s, %s", f.Rule, Wrap(f.Source, 88, "      "))
	}
	for _, w := range p.If {
		line("  %s", Wrap(w, 98, "      "))
	}
	for i, w := range p.WorkOrder {
		line("  work %d: %s", i+1, Wrap(w, 92, "      "))
	}
	for _, w := range p.Forbidden {
		line("  never: %s", Wrap(w, 92, "      "))
	}
	for _, w := range p.Guarded {
		line("  with caution: %s", Wrap(w, 86, "      "))
	}
	for _, d := range p.Disputed {
		words := fmt.Sprintf("taken: %s (%s); against it: %s (%s)", d.Taken, d.TakenSource, d.Other, d.OtherSource)
		line("  disputed, %s: %s", d.Hazard, Wrap(words, 84, "      "))
	}
	if p.Spares != "" {
		line("  spare stones, usual for the setting: %s", Wrap(p.Spares, 70, "      "))
	}
	for _, x := range p.Losses {
		line("  loss, %s: %.2f %% (90 %% interval %.2f to %.2f), %s", lossWords[x.Kind], 100*x.Mean, 100*x.Low,
			100*x.High, x.Words)
	}
	for _, w := range p.Assumed {
		line("  assumed: %s", Wrap(w, 90, "      "))
	}
}
