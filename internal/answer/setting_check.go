package answer

import (
	"fmt"
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
}

// SettingPair is the verdict on one stone in one situation. Level is the
// setting verdict: 0 sound, 1 care, 2 caution, 3 avoid.
type SettingPair struct {
	Pair      string               `json:"pair"`
	ReadAs    string               `json:"read_as"`
	Verdict   string               `json:"verdict"`
	Level     durability.Level     `json:"level"`
	Setting   durability.Level     `json:"setting"`
	Bench     durability.Level     `json:"bench"`
	Display   durability.Level     `json:"display"`
	WorkOrder []string             `json:"work_order"`
	Forbidden []string             `json:"forbidden"` // bench steps that must never touch this stone
	Guarded   []string             `json:"guarded"`   // bench steps that need caution
	Assumed   []string             `json:"assumed"`
	If        []string             `json:"if"` // other stones it may be
	Findings  []durability.Finding `json:"findings"`
	Disputed  []durability.Dispute `json:"disputed"` // where published sources contradict each other
	Spares    string               `json:"spares"`   // the usual rule on spare stones for the setting
	Losses    []durability.Rate    `json:"losses"`   // chance of breaking while it is set, and of coming back damaged
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
	{"display", "Display", 10, func(p *SettingPair) sheet.Cell { return sheet.Text(p.Display.String()) }},
	{"worst finding", "Worst finding", 60, func(p *SettingPair) sheet.Cell { return sheet.Text(p.worst()) }},
	onlyFiled("What mends it", 50, func(p *SettingPair) sheet.Cell { return sheet.Text(p.mend()) }),
}

// List is a line for each pair.
func (c *SettingCheck) List() Listing {
	return &list[SettingPair]{head: Head{Title: "Stones and settings"}, columns: pairColumns, rows: c.Pairs,
		screen: c.Screen}
}

// Screen is one pair with its findings, work order and chances of loss, or
// several as a table.
func (c *SettingCheck) Screen() Screen {
	if len(c.Pairs) > 1 {
		return Screen{{Table: tableOf(pairColumns, c.Pairs)}}
	}
	var b strings.Builder
	for i := range c.Pairs {
		c.Pairs[i].text(&b)
	}
	return screenOf(b.String())
}

var lossWords = map[durability.LossKind]string{durability.LossSetting: "breaks while being set",
	durability.LossReturn: "comes back damaged in a year"}

func (p *SettingPair) text(b *strings.Builder) {
	line := func(format string, args ...any) { fmt.Fprintf(b, format+"\n", args...) }
	line("%s: %s (setting %s, bench %s, display %s)", p.Pair, p.Verdict, p.Setting, p.Bench, p.Display)
	if p.ReadAs != "" && p.ReadAs != p.Pair {
		line("  read as %s", p.ReadAs)
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
