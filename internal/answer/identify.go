package answer

import (
	"fmt"
	"math"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/chart"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Cases are stones that are in no book, each with what its readings leave.
type Cases struct {
	Explain bool           `json:"-"` // on the screen: all that the readings say, not what they decide
	Cases   []Case         `json:"cases"`
	Chart   *IdentityChart `json:"chart"` // null: not asked for, or neither index nor specific gravity was read
}

// Case is what the readings of one stone leave.
type Case struct {
	Name         string         `json:"case"`
	Verdict      string         `json:"verdict"` // established, likely, open, thin, none
	Headline     string         `json:"headline"`
	Named        *Named         `json:"named"`         // null: nothing is established or likely
	OpenShare    float64        `json:"open_share"`    // of something that the table has not
	AlsoPossible []Shared       `json:"also_possible"` // beside what is named, best first
	Candidates   []Candidate    `json:"candidates"`    // best first
	Excluded     []Excluded     `json:"excluded"`      // nearest first
	Quarrels     []Quarrel      `json:"quarrels"`
	NotSeparated []string       `json:"not_separated"`
	Separates    []string       `json:"separates"`
	Facets       []FacetFinding `json:"facets"`
	Considered   int            `json:"considered"` // materials in the table
	Next         []NextTest     `json:"next"`
	Enough       string         `json:"enough"`
	Barred       []string       `json:"barred"` // why the stone cannot take some tests, and which
	Inseparable  []string       `json:"inseparable"`
	Cautions     []string       `json:"cautions"`
	Ahead        []string       `json:"-"` // cautions of what is to be done next
}

// Named is the answer to what a stone is.
type Named struct {
	Name    string   `json:"name"`
	Level   string   `json:"level"` // material, series, family
	Members []string `json:"members"`
	Share   float64  `json:"share"`
}

// Shared is what a stone can be, with its share.
type Shared struct {
	Name  string  `json:"name"`
	Share float64 `json:"share"`
}

// Quarrel is a reading that no material has, or readings that cannot all be
// right, with what the stone would be without each of a pair.
type Quarrel struct {
	Tests   []string `json:"tests"`
	Without []string `json:"without"` // in the order of the tests; empty for a single one
	Text    string   `json:"text"`
}

// Candidate is one material that is left.
type Candidate struct {
	Species   string     `json:"species"`
	Varieties []string   `json:"varieties"`
	Share     float64    `json:"share"`
	Standing  string     `json:"standing"`
	Note      string     `json:"note"` // of the facts: habits of the material; empty: none
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
	Chance  float64  `json:"chance"` // that the stone is established afterwards
	Bits    float64  `json:"bits"`
	Splits  []string `json:"splits"`
	Why     string   `json:"why"`
	Caution string   `json:"caution"`
}

// Identity is what the tests say of lots of the book.
type Identity struct {
	Explain bool `json:"-"` // on the screen: all that the readings say, not what they decide
	Head
	Scope string        `json:"scope"`
	Lots  []LotIdentity `json:"lots"`
}

// LotIdentity is what the tests say of one lot.
type LotIdentity struct {
	Lot    string `json:"lot"`
	Claim  string `json:"claim"`
	State  string `json:"state"` // stated, doubted, supported, verified, mixed, contradicted
	Tested int    `json:"tested"`
	Of     int    `json:"of"`
	// that the lot is its claim, with few strangers; null: not tested
	Chance     *float64      `json:"chance"`
	Expected   *float64      `json:"expected_strangers"` // pieces, an expectation
	UpperBound *float64      `json:"upper_bound"`        // share of others at most; null: nothing bounds it
	UpperCount *int          `json:"upper_count"`        // the same in pieces
	Confidence float64       `json:"confidence"`
	More       int           `json:"more"` // further stones, drawn at random, that would verify it
	Reasons    []string      `json:"reasons"`
	Cautions   []string      `json:"cautions"`          // a name that misleads, what can hurt people
	Facets     []NamedFacet  `json:"facets"`            // as the book holds them
	Assumed    string        `json:"treatment_assumed"` // for wear, care and disclosure; empty: a treatment is stated
	Report     *book.Report  `json:"report"`
	Strata     []Stratum     `json:"strata"` // the lot by appearance, when its parts were counted
	Stones     []TestedStone `json:"stones"`
	// ExpectedLoss is an expectation: each piece's chance of being something else
	// times what it then brings less, at the lot's loose price, or at its cost
	// where the price list has none. LossBound is what the pieces of the bound
	// are worth as the claim. Null when nothing bounds them.
	ExpectedLoss *num.Money  `json:"expected_loss"`
	LossBound    *num.Money  `json:"loss_bound"`
	LossTarget   *LossTarget `json:"loss_target"` // null: the book sets none, or it is reached
	Minutes      float64     `json:"minutes"`     // of testing More stones by index and specific gravity
	// null: not asked for, or neither index nor specific gravity was read
	Chart *IdentityChart `json:"chart"`
}

// LossTarget is how far testing brings the expected loss down.
type LossTarget struct {
	Under num.Money `json:"under"`
	More  *int      `json:"more"` // further stones at random, each the claim; null: not even all are enough
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
	Chance   float64   `json:"chance"` // that it is the claim, the other stones of the lot counted
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
	{"verdict", "Verdict", 12, func(c *Case) sheet.Cell { return sheet.Text(c.Verdict) }},
	{"is", "Is", 30, func(c *Case) sheet.Cell {
		if c.Named == nil {
			return sheet.Empty()
		}
		return sheet.Text(c.Named.Name + " " + percent(c.Named.Share))
	}},
	{"also possible", "Also possible", 70, func(c *Case) sheet.Cell { return sheet.Text(sharesOf(c.AlsoPossible)) }},
}

// Table is a line for each stone.
func (c *Cases) Table() *Table { return tableOf(caseColumns, c.Cases) }

// List is a line for each stone.
func (c *Cases) List() Listing {
	return &list[Case]{head: Head{Title: "Stones"}, columns: caseColumns, rows: c.Cases}
}

// columns are the columns of a list of lots.
func (d *Identity) columns() []column[LotIdentity] {
	return []column[LotIdentity]{
		{"lot", "Lot", 13, func(l *LotIdentity) sheet.Cell { return sheet.Text(l.Lot) }},
		{"claim", "Claim", 18, func(l *LotIdentity) sheet.Cell { return sheet.Text(l.Claim) }},
		{"state", "State", 14.5, func(l *LotIdentity) sheet.Cell { return sheet.Text(l.State) }},
		{"tested", "Tested", 8, func(l *LotIdentity) sheet.Cell { return sheet.Int(int64(l.Tested)) }},
		{"of", "Of", 8, func(l *LotIdentity) sheet.Cell { return sheet.Int(int64(l.Of)) }},
		onlyFiled("Chance of the claim (%)", 11, (*LotIdentity).chanceCell),
		onlyFiled("Others expected", 11, (*LotIdentity).expectedCell),
		screen("others at most", func(l *LotIdentity) sheet.Cell { return sheet.Text(l.bound()).Right() }),
		onlyFiled("Others at most", 11, (*LotIdentity).upperCell),
		onlyFiled("Others at most (%)", 11, func(l *LotIdentity) sheet.Cell {
			if l.UpperBound == nil {
				return sheet.Empty()
			}
			return sheet.Float(100**l.UpperBound, 0)
		}),
		onlyFiled(d.unit("Expected loss"), 12, func(l *LotIdentity) sheet.Cell { return moneyOf(l.ExpectedLoss) }),
		onlyFiled(d.unit("Loss at most"), 12, func(l *LotIdentity) sheet.Cell { return moneyOf(l.LossBound) }),
		{"why", "Why", 60, func(l *LotIdentity) sheet.Cell { return sheet.Text(strings.Join(l.Reasons, "; ")) }},
	}
}

// chanceCell is the chance that the lot is its claim, in percent; empty when
// nothing was tested.
func (l *LotIdentity) chanceCell() sheet.Cell {
	if l.Chance == nil {
		return sheet.Empty()
	}
	return sheet.Float(math.Floor(1000**l.Chance)/10, 1)
}

// expectedCell is how many pieces are expected to be something else.
func (l *LotIdentity) expectedCell() sheet.Cell {
	if l.Expected == nil {
		return sheet.Empty()
	}
	return sheet.Float(*l.Expected, 2)
}

// upperCell is how many pieces at most are something else.
func (l *LotIdentity) upperCell() sheet.Cell {
	if l.UpperCount == nil {
		return sheet.Empty()
	}
	return sheet.Int(int64(*l.UpperCount))
}

// List is a line for each lot.
func (d *Identity) List() Listing {
	return &list[LotIdentity]{head: d.Head, columns: d.columns(), rows: d.Lots}
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
