package answer

import (
	"cmp"
	"fmt"
	"math"
	"strings"
)

// Screen is what is decided of every stone, or the account of it.
func (c *Cases) Screen() Screen {
	var b strings.Builder
	for i := range c.Cases {
		if c.Explain {
			c.Cases[i].text(&b, "")
		} else {
			c.Cases[i].brief(liner(&b, ""))
		}
	}
	return screenOf(b.String())
}

// liner prints lines after an indent, wrapped.
func liner(b *strings.Builder, indent string) func(string, ...any) {
	return func(format string, args ...any) {
		text := fmt.Sprintf(format, args...)
		in := indent + text[:len(text)-len(strings.TrimLeft(text, " "))]
		fmt.Fprintf(b, "%s%s\n", in, Wrap(text, 100, in+"    "))
	}
}

// percent words a share, never rounded up to certainty.
func percent(share float64) string {
	if share >= 0.9995 {
		return "over 99.9 %"
	}
	return fmt.Sprintf("%.1f %%", math.Floor(share*1000)/10)
}

// sharesOf lists names with their shares.
func sharesOf(list []Shared) string {
	var out []string
	for _, s := range list {
		out = append(out, s.Name+" "+percent(s.Share))
	}
	return strings.Join(out, ", ")
}

// aheadShown is how many cautions stand below what is decided.
const aheadShown = 3

// brief is what is decided: what the stone is, what it can still be, what to do
// next, and the cautions of that.
func (c *Case) brief(line func(string, ...any)) {
	line("%s", c.Headline)
	c.further(line)
}

// further is brief without its first line.
func (c *Case) further(line func(string, ...any)) {
	if also := sharesOf(c.AlsoPossible); also != "" && c.Named != nil {
		line("also possible: %s", also)
	}
	for _, q := range c.Quarrels {
		if !strings.Contains(c.Headline, q.Text) {
			line("%s", q.Text)
		}
	}
	if next := c.next(); next != "" {
		line("%s", next)
	}
	if len(c.Barred) > 0 {
		line("%s", strings.Join(c.Barred, "; "))
	}
	for _, s := range shown(c.Ahead, aheadShown) {
		line("caution: %s", s)
	}
}

// next is the test to make next, or why none is wanted; empty when it was not
// asked for.
func (c *Case) next() string {
	if len(c.Next) == 0 {
		return c.Enough
	}
	n := c.Next[0]
	if n.Chance < 0.005 {
		return fmt.Sprintf("next: %s, %s; no one test establishes it, this one tells most for its time", n.Test,
			minutes(n.Minutes))
	}
	return fmt.Sprintf("next: %s, %s, establishes it with a chance of %.0f %%", n.Test, minutes(n.Minutes),
		100*n.Chance)
}

// minutes writes the time of a test: 4 min, or 0.2 min.
func minutes(m float64) string {
	if m < 1 {
		return fmt.Sprintf("%.1f min", m)
	}
	return fmt.Sprintf("%.0f min", m)
}

// text is the whole account of one stone, every line after an indent.
func (c *Case) text(b *strings.Builder, indent string) {
	line := liner(b, indent)
	line("%s (%d materials considered)", c.Headline, c.Considered)
	if also := sharesOf(c.AlsoPossible); also != "" {
		line("also possible: %s", also)
	}
	c.candidateLines(line)
	for i, e := range c.Excluded {
		if i == 5 {
			line("excluded also: %d more", len(c.Excluded)-i)
			break
		}
		line("excluded: %s, %s", e.Species, e.Reason)
	}
	for _, q := range c.Quarrels {
		line("quarrel: %s", q.Text)
	}
	for _, s := range c.Separates {
		line("%s", s)
	}
	if len(c.NotSeparated) > 0 {
		line("NOT separated by these readings: %s", strings.Join(c.NotSeparated, ", "))
	}
	for _, f := range c.Facets {
		word := "NOT established"
		if f.Established {
			word = "established"
		}
		line("%s: %s (%s)", f.Facet, word, f.How)
	}
	for i, n := range c.Next {
		line("next test %d: %s, %s, established with a chance of %.0f %%, %.2f bits: %s", i+1, n.Test,
			minutes(n.Minutes), 100*n.Chance, n.Bits, n.Why)
		if n.Caution != "" {
			line("    caution: %s", n.Caution)
		}
	}
	for _, s := range c.Barred {
		line("%s", s)
	}
	if c.Enough != "" {
		line("%s", c.Enough)
	}
	for _, s := range c.Inseparable {
		line("%s", s)
	}
	for _, s := range c.Cautions {
		line("caution: %s", s)
	}
}

// candidateLines are what is left, the first three with their tests.
func (c *Case) candidateLines(line func(string, ...any)) {
	if len(c.Candidates) == 0 {
		return
	}
	line("not excluded:")
	for i, k := range c.Candidates {
		if i == 12 {
			line("  and %d more", len(c.Candidates)-i)
			break
		}
		variety := ""
		if len(k.Varieties) > 0 {
			variety = "; of this colour: " + strings.Join(k.Varieties, ", ")
		}
		line("  %s: share %.1f %%, %s%s", k.Species, 100*k.Share, k.Standing, variety)
		if i >= 3 {
			continue
		}
		for _, t := range k.Tests {
			off := "inside"
			switch {
			case t.ExcessU == nil:
				off = "cannot be"
			case *t.ExcessU > 0:
				off = fmt.Sprintf("%.1f u outside", *t.ExcessU)
			}
			line("      %s %s against %s: %s (%s)", t.Test, t.Reading, t.Range, off, t.Source)
		}
		if k.Note != "" {
			line("      note: %s", k.Note)
		}
	}
}

// Screen is what is decided of every lot, or the account of it, stone by stone.
func (d *Identity) Screen() Screen { return screenOf(d.Text()) }

// Text is what is decided of every lot, or the account of it, stone by stone.
func (d *Identity) Text() string {
	var b strings.Builder
	for i := range d.Lots {
		if d.Explain {
			d.Lots[i].text(&b)
		} else {
			d.Lots[i].brief(&b)
		}
	}
	return b.String()
}

// brief is a line for the lot and one for each tested stone; a lot of one stone
// is that stone.
func (l *LotIdentity) brief(b *strings.Builder) {
	line, stone := liner(b, ""), liner(b, "  ")
	line("%s", strings.Join(fields(l.headline(), l.chanceWords(), l.lossWords(), l.moreWords()), "; "))
	if l.State != "supported" && l.State != "verified" {
		for _, why := range shown(l.Reasons, 1) {
			stone("%s", why)
		}
	}
	for _, words := range l.Cautions {
		stone("caution: %s", words)
	}
	for i := range l.Stones {
		s := &l.Stones[i]
		if l.Of == 1 {
			stone("%s", s.Headline)
			if s.Standing != "claim" && s.Why != "" && s.Why != s.Headline {
				stone("%s", s.Why)
			}
			s.further(stone)
			continue
		}
		stone("%s", s.brief())
	}
}

// brief is a tested stone in a line: how it stands to the claim, what it is or
// why that is open, and the next test.
func (s *TestedStone) brief() string {
	words := s.name()
	switch s.Standing {
	case "":
	case notTheClaim:
		words += ", " + s.Standing
	default:
		words += fmt.Sprintf(", %s, %s", s.Standing, percent(s.Chance))
	}
	switch {
	case s.Why != "" && s.Standing != "claim":
		words += ": " + s.Why
	case s.Named != nil:
		words += fmt.Sprintf(": %s %s, %s", s.Named.Name, percent(s.Named.Share), s.Verdict)
	default:
		words += ": " + s.Headline
	}
	if len(s.Case.Next) > 0 {
		words += "; next: " + s.Case.Next[0].Test
	}
	return words
}

// notTheClaim is how a stone stands that the tests show to be something else.
const notTheClaim = "not the claim"

func (s *TestedStone) name() string { return cmp.Or(s.Stone, "the stone") }

func (l *LotIdentity) headline() string {
	return fmt.Sprintf("%s, claimed %s: %s (%d of %d tested)", l.Lot, l.Claim, l.State, l.Tested, l.Of)
}

// chanceWords are the chance of the claim, the strangers expected and their
// bound; empty when nothing was tested.
func (l *LotIdentity) chanceWords() string {
	if l.Chance == nil {
		return ""
	}
	words := fmt.Sprintf("chance that it is %s; strangers expected %s", percent(*l.Chance), few(*l.Expected))
	if l.UpperCount != nil {
		words += fmt.Sprintf(", at most %d at %g %%", *l.UpperCount, 100*l.Confidence)
	}
	return words
}

// few words an expected count.
func few(n float64) string {
	if n > 0 && n < 0.01 {
		return "under 0.01"
	}
	return fmt.Sprintf("%.2g", n)
}

// lossWords are what is expected to be lost, and what is at most.
func (l *LotIdentity) lossWords() string {
	if l.ExpectedLoss == nil {
		return ""
	}
	return fmt.Sprintf("expected loss if sold as claimed now %s, at most %s", l.ExpectedLoss.Words(),
		l.LossBound.Words())
}

// moreWords are the stones that are still to be tested.
func (l *LotIdentity) moreWords() string {
	var out []string
	if l.More > 0 {
		out = append(out, fmt.Sprintf("%d more stones, %.0f minutes of testing, would verify it", l.More, l.Minutes))
	}
	if t := l.LossTarget; t != nil {
		if t.More != nil {
			out = append(out, fmt.Sprintf("%d more bring the expected loss to at most %s", *t.More, t.Under.Words()))
		} else {
			out = append(out, fmt.Sprintf("no number of tests brings the expected loss to %s", t.Under.Words()))
		}
	}
	return strings.Join(out, "; ")
}

// text is the whole account of a lot.
func (l *LotIdentity) text(b *strings.Builder) {
	fmt.Fprintf(b, "%s\n", l.headline())
	for _, why := range l.Reasons {
		fmt.Fprintf(b, "  %s\n", Wrap(why, 100, "    "))
	}
	for _, words := range l.Cautions {
		fmt.Fprintf(b, "  caution: %s\n", Wrap(words, 90, "    "))
	}
	for _, words := range fields(l.lossWords(), l.moreWords()) {
		fmt.Fprintf(b, "  %s\n", Wrap(words, 100, "    "))
	}
	if l.Report != nil {
		fmt.Fprintf(b, "  report %s %s of %s: %s\n", l.Report.Lab, l.Report.Number, l.Report.On, l.Report.Species)
	}
	for i := range l.Stones {
		s := &l.Stones[i]
		fmt.Fprintf(b, "\n%s (%s): %s", s.name(), s.Drawn, s.Standing)
		if s.Why != "" {
			fmt.Fprintf(b, ", %s", s.Why)
		}
		b.WriteString("\n")
		s.text(b, "  ")
	}
}
