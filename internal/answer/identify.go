package answer

import (
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/chart"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Cases are stones that are in no book, each with what its readings leave.
type Cases struct {
	Cases []Case         `json:"cases"`
	Chart *IdentityChart `json:"chart"` // null: not asked for, or neither index nor specific gravity was read
}

// Case is what the readings of one stone leave.
type Case struct {
	Name         string         `json:"case"`
	Verdict      string         `json:"verdict"`
	Headline     string         `json:"headline"`
	Candidates   []Candidate    `json:"candidates"` // best first
	Excluded     []Excluded     `json:"excluded"`   // nearest first
	Conflicts    []string       `json:"conflicts"`
	NotSeparated []string       `json:"not_separated"`
	Separates    []string       `json:"separates"`
	Facets       []FacetFinding `json:"facets"`
	Considered   int            `json:"considered"` // materials in the table
	Next         []NextTest     `json:"next"`
	Enough       string         `json:"enough"`
	Inseparable  []string       `json:"inseparable"`
	Cautions     []string       `json:"cautions"`
}

// Candidate is one material that is left.
type Candidate struct {
	Species   string     `json:"species"`
	Varieties []string   `json:"varieties"`
	Share     float64    `json:"share"`
	Standing  string     `json:"standing"`
	Tests     []HeldTest `json:"tests"`
}

// HeldTest is one reading held against one material. ExcessU is null where a
// reading cannot be at all.
type HeldTest struct {
	Test    string   `json:"test"`
	Reading string   `json:"reading"`
	Range   string   `json:"range"`
	ExcessU *float64 `json:"excess_u"`
	Source  string   `json:"source"`
}

// Excluded is one material that a reading excludes.
type Excluded struct {
	Species string `json:"species"`
	Reason  string `json:"reason"`
}

// FacetFinding is what the tests say of one facet of a stone.
type FacetFinding struct {
	Facet       string `json:"facet"`
	Established bool   `json:"established"`
	How         string `json:"how"`
}

// NextTest is one test worth making.
type NextTest struct {
	Test    string   `json:"test"`
	Minutes float64  `json:"minutes"`
	Bits    float64  `json:"bits"`
	Splits  []string `json:"splits"`
	Why     string   `json:"why"`
	Caution string   `json:"caution"`
}

// Identity is what the tests say of lots of the book.
type Identity struct {
	Head
	Scope string        `json:"scope"`
	Lots  []LotIdentity `json:"lots"`
}

// LotIdentity is what the tests say of one lot.
type LotIdentity struct {
	Lot        string        `json:"lot"`
	Claim      string        `json:"claim"`
	State      string        `json:"state"` // stated, doubted, supported, verified, mixed, contradicted
	Tested     int           `json:"tested"`
	Of         int           `json:"of"`
	UpperBound *float64      `json:"upper_bound"` // share of others at most; null: nothing bounds it
	Confidence float64       `json:"confidence"`
	More       int           `json:"more"` // further stones, drawn at random, that would verify it
	Reasons    []string      `json:"reasons"`
	Facets     []NamedFacet  `json:"facets"`            // as the book holds them
	Assumed    string        `json:"treatment_assumed"` // for wear, care and disclosure; empty: a treatment is stated
	Report     *book.Report  `json:"report"`
	Strata     []Stratum     `json:"strata"` // the lot by appearance, when its parts were counted
	Stones     []TestedStone `json:"stones"`
	// ExpectedLoss is what is expected to be not the claim, at the lot's loose
	// price, or at its cost where the price list has none: the money at risk if
	// it is sold as claimed now. Null when nothing bounds it.
	ExpectedLoss *num.Money     `json:"expected_loss"`
	Minutes      float64        `json:"minutes"` // of testing More stones by index and specific gravity
	Chart        *IdentityChart `json:"chart"`   // null: not asked for, or neither index nor specific gravity was read
}

// NamedFacet is a facet with its name: species, nature, treatment, origin.
type NamedFacet struct {
	Name string `json:"name"`
	Facet
}

// TestedStone is one tested stone of a lot.
type TestedStone struct {
	Stone    string    `json:"stone"`
	Drawn    string    `json:"drawn"`
	Standing string    `json:"standing"`
	Why      string    `json:"why"`
	TooLight *TooLight `json:"too_light"` // null: its weight is not what leaves it open
	Case
}

// TooLight says that the specific gravity of a stone, its only reading, cannot
// decide at its weight: even the easiest common rival takes a heavier stone.
type TooLight struct {
	Gravity string  `json:"gravity"` // as it was read, with its uncertainty
	Carats  float64 `json:"carats"`
	Claim   string  `json:"claim"`
	Rival   string  `json:"rival"`
	Needs   float64 `json:"needs_carats"` // the least weight that separates the two
}

// Stratum is the bound within one part of a lot.
type Stratum struct {
	Name       string `json:"name"`
	Pieces     int    `json:"pieces"`
	Tested     int    `json:"tested"`
	Others     int    `json:"others"`
	UpperCount int    `json:"upper_count"` // pieces at most that are not the claim
}

// IdentityChart is n against SG: the boxes of the candidates and the crosses
// of the stones. Its numbers are statistics of a picture, never of money.
type IdentityChart struct {
	Title  string       `json:"title"`
	Boxes  []ChartBox   `json:"boxes"`
	Stones []ChartStone `json:"stones"`
}

// ChartBox is a candidate's ranges.
type ChartBox struct {
	Name    string  `json:"name"`
	Left    bool    `json:"left"` // still a candidate
	SGLow   float64 `json:"sg_low"`
	SGHigh  float64 `json:"sg_high"`
	NLow    float64 `json:"n_low"`
	NHigh   float64 `json:"n_high"`
	Claimed bool    `json:"claimed"`
}

// ChartStone is one stone's reading with its k = 1 errors.
type ChartStone struct {
	Name  string  `json:"name"`
	SG    float64 `json:"sg"`
	SGU   float64 `json:"sg_u"`
	NLow  float64 `json:"n_low"` // lowest and highest reading
	NHigh float64 `json:"n_high"`
	NU    float64 `json:"n_u"`
}

// Figure draws the chart.
func (c *IdentityChart) Figure() chart.Figure {
	f := chart.Identity{Title: c.Title}
	for _, b := range c.Boxes {
		f.Boxes = append(f.Boxes, chart.IdentityBox{Name: b.Name, SGLow: b.SGLow, SGHigh: b.SGHigh, NLow: b.NLow,
			NHigh: b.NHigh, Left: b.Left, Claimed: b.Claimed})
	}
	for _, s := range c.Stones {
		f.Stones = append(f.Stones, chart.IdentityStone{Name: s.Name, SG: s.SG, SGU: s.SGU, NLow: s.NLow,
			NHigh: s.NHigh, NU: s.NU})
	}
	return f
}

var caseColumns = []column[Case]{
	{"case", "Case", 16, func(c *Case) sheet.Cell { return sheet.Text(c.Name) }},
	{"verdict", "Verdict", 16, func(c *Case) sheet.Cell { return sheet.Text(c.Verdict) }},
	{"left", "Left", 7, func(c *Case) sheet.Cell { return sheet.Int(int64(len(c.Candidates))) }},
	{"not excluded", "Not excluded", 70, func(c *Case) sheet.Cell { return sheet.Text(c.left(6)) }},
}

// Table is a line for each stone.
func (c *Cases) Table() *Table { return tableOf(caseColumns, c.Cases) }

// List is a line for each stone.
func (c *Cases) List() Listing {
	return &list[Case]{head: Head{Title: "Stones"}, columns: caseColumns, rows: c.Cases}
}

// Screen is the account of every stone.
func (c *Cases) Screen() Screen {
	var b strings.Builder
	for i := range c.Cases {
		c.Cases[i].text(&b, "")
	}
	return screenOf(b.String())
}

// left names what is not excluded with its shares, the best most of them.
func (c *Case) left(most int) string {
	var left []string
	for i, k := range c.Candidates {
		if i == most {
			left = append(left, "...")
			break
		}
		left = append(left, fmt.Sprintf("%s %.0f%%", k.Species, 100*k.Share))
	}
	return strings.Join(left, ", ")
}

// text is the account of one stone, every line after an indent.
func (c *Case) text(b *strings.Builder, indent string) {
	line := func(format string, args ...any) {
		text := fmt.Sprintf(format, args...)
		in := indent + text[:len(text)-len(strings.TrimLeft(text, " "))]
		fmt.Fprintf(b, "%s%s\n", in, Wrap(text, 100, in+"    "))
	}
	line("%s (%d materials considered)", c.Headline, c.Considered)
	c.candidateLines(line)
	for i, e := range c.Excluded {
		if i == 5 {
			line("excluded also: %d more", len(c.Excluded)-i)
			break
		}
		line("excluded: %s, %s", e.Species, e.Reason)
	}
	for _, s := range c.Conflicts {
		line("contradiction: %s", s)
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
		line("next test %d: %s, %.0f min, %.2f bits: %s", i+1, n.Test, n.Minutes, n.Bits, n.Why)
		if n.Caution != "" {
			line("    caution: %s", n.Caution)
		}
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
	}
}

var identityColumns = []column[LotIdentity]{
	{"lot", "Lot", 13, func(l *LotIdentity) sheet.Cell { return sheet.Text(l.Lot) }},
	{"claim", "Claim", 18, func(l *LotIdentity) sheet.Cell { return sheet.Text(l.Claim) }},
	{"state", "State", 13, func(l *LotIdentity) sheet.Cell { return sheet.Text(l.State) }},
	{"tested", "Tested", 8, func(l *LotIdentity) sheet.Cell { return sheet.Int(int64(l.Tested)) }},
	{"of", "Of", 8, func(l *LotIdentity) sheet.Cell { return sheet.Int(int64(l.Of)) }},
	screen("others at most", func(l *LotIdentity) sheet.Cell { return sheet.Text(l.bound()).Right() }),
	onlyFiled("Others at most (%)", 11, func(l *LotIdentity) sheet.Cell {
		if l.UpperBound == nil {
			return sheet.Empty()
		}
		return sheet.Float(100**l.UpperBound, 0)
	}),
	{"why", "Why", 60, func(l *LotIdentity) sheet.Cell { return sheet.Text(strings.Join(l.Reasons, "; ")) }},
}

// List is a line for each lot.
func (d *Identity) List() Listing {
	return &list[LotIdentity]{head: d.Head, columns: identityColumns, rows: d.Lots}
}

// Screen is the account of every lot, stone by stone.
func (d *Identity) Screen() Screen { return screenOf(d.Text()) }

// Text is the account of every lot, stone by stone.
func (d *Identity) Text() string {
	var b strings.Builder
	for i := range d.Lots {
		d.Lots[i].text(&b)
	}
	return b.String()
}

func (l *LotIdentity) text(b *strings.Builder) {
	fmt.Fprintf(b, "%s, claimed %s: %s (%d of %d tested)\n", l.Lot, l.Claim, l.State, l.Tested, l.Of)
	for _, why := range l.Reasons {
		fmt.Fprintf(b, "  %s\n", Wrap(why, 100, "    "))
	}
	if l.ExpectedLoss != nil {
		fmt.Fprintf(b, "  expected loss if sold as claimed now: %s", l.ExpectedLoss.Words())
		if l.More > 0 {
			fmt.Fprintf(b, "; %d more stones, %.0f minutes of testing, would verify it", l.More, l.Minutes)
		}
		b.WriteString("\n")
	}
	if l.Report != nil {
		fmt.Fprintf(b, "  report %s %s of %s: %s\n", l.Report.Lab, l.Report.Number, l.Report.On, l.Report.Species)
	}
	for i := range l.Stones {
		s := &l.Stones[i]
		name := s.Stone
		if name == "" {
			name = "the stone"
		}
		fmt.Fprintf(b, "\n%s (%s): %s", name, s.Drawn, s.Standing)
		if s.Why != "" {
			fmt.Fprintf(b, ", %s", s.Why)
		}
		b.WriteString("\n")
		s.text(b, "  ")
	}
}

// bound says what bounds the stones that are not the claim: "28 %"; empty when
// nothing does.
func (l *LotIdentity) bound() string {
	if l.UpperBound == nil {
		return ""
	}
	return fmt.Sprintf("%.0f %%", 100**l.UpperBound)
}

// worst is the first stone that the tests show to be something else than the
// claim, or else the first that they leave open, or else the first; an empty
// one when none was tested.
func (l *LotIdentity) worst() *TestedStone {
	if len(l.Stones) == 0 {
		return &TestedStone{}
	}
	rank := map[string]int{"not the claim": 2, "claim among others": 1}
	worst, at := -1, 0
	for i := range l.Stones {
		if r := rank[l.Stones[i].Standing]; r > worst {
			worst, at = r, i
		}
	}
	return &l.Stones[at]
}
