package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

// CaseReport is the answer for one stone, in the words of the contract.
type CaseReport struct {
	Case         string            `json:"case"`
	Verdict      string            `json:"verdict"`
	Headline     string            `json:"headline"`
	Candidates   []CandidateReport `json:"candidates"` // best first
	Excluded     []ExcludedReport  `json:"excluded"`   // nearest first
	Conflicts    []string          `json:"conflicts"`
	NotSeparated []string          `json:"not_separated"`
	Separates    []string          `json:"separates"`
	Facets       []FacetReport     `json:"facets"`
	Considered   int               `json:"considered"`
	Next         []NextReport      `json:"next"`
	Enough       string            `json:"enough"`
	Inseparable  []string          `json:"inseparable"`
	Cautions     []string          `json:"cautions"`
}

// CandidateReport is one material that is left.
type CandidateReport struct {
	Species   string       `json:"species"`
	Varieties []string     `json:"varieties"`
	Share     float64      `json:"share"`
	Standing  string       `json:"standing"`
	Tests     []TestReport `json:"tests"`
}

// TestReport is one reading held against one material. ExcessU is null where a
// reading cannot be at all.
type TestReport struct {
	Test    string   `json:"test"`
	Reading string   `json:"reading"`
	Range   string   `json:"range"`
	ExcessU *float64 `json:"excess_u"`
	Source  string   `json:"source"`
}

// ExcludedReport is one material that a reading excludes.
type ExcludedReport struct {
	Species string `json:"species"`
	Reason  string `json:"reason"`
}

// FacetReport is one facet of a stone.
type FacetReport struct {
	Facet       string `json:"facet"`
	Established bool   `json:"established"`
	How         string `json:"how"`
}

// NextReport is one test worth making.
type NextReport struct {
	Test    string   `json:"test"`
	Minutes float64  `json:"minutes"`
	Bits    float64  `json:"bits"`
	Splits  []string `json:"splits"`
	Why     string   `json:"why"`
	Caution string   `json:"caution"`
}

// LotReport is the answer for one lot, in the words of the contract.
type LotReport struct {
	Lot        string          `json:"lot"`
	Claim      string          `json:"claim"`
	State      string          `json:"state"`
	Tested     int             `json:"tested"`
	Of         int             `json:"of"`
	UpperBound *float64        `json:"upper_bound"` // share of others at most; null: nothing bounds it
	Confidence float64         `json:"confidence"`
	More       int             `json:"more"` // further stones, drawn at random, that would verify it
	Reasons    []string        `json:"reasons"`
	Report     *book.Report    `json:"report"`
	Strata     []StratumReport `json:"strata"` // the lot by appearance, when its parts were counted
	Stones     []StoneReport   `json:"stones"`
	// ExpectedLoss is what is expected to be not the claim, at the lot's loose
	// price, or at its cost where the price list has none: the money at risk if
	// it is sold as claimed now. Null when nothing bounds it.
	ExpectedLoss *num.Money `json:"expected_loss"`
	Minutes      float64    `json:"minutes"` // of testing More stones by index and specific gravity
}

// StoneReport is one tested stone of a lot.
type StoneReport struct {
	Stone    string `json:"stone"`
	Drawn    string `json:"drawn"`
	Standing string `json:"standing"`
	Why      string `json:"why"`
	CaseReport
}

// StratumReport is the bound within one part of a lot.
type StratumReport struct {
	Name       string `json:"name"`
	Pieces     int    `json:"pieces"`
	Tested     int    `json:"tested"`
	Others     int    `json:"others"`
	UpperCount int    `json:"upper_count"` // pieces at most that are not the claim
}
