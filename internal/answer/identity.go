package answer

// IdentityReport is the lots in doubt: what each is claimed to be, what its
// readings say, and what would settle it.
type IdentityReport struct {
	Head
	Scope      string        `json:"scope"`
	Considered int           `json:"considered"` // materials in the table
	Lots       []IdentityLot `json:"lots"`
}

// IdentityLot is one lot in doubt.
type IdentityLot struct {
	Lot          string              `json:"lot"`
	Claim        string              `json:"claim"`
	State        string              `json:"state"` // stated, supported, verified, mixed, contradicted
	Tested       int64               `json:"tested"`
	Of           int64               `json:"of"`
	Bound        string              `json:"upper_bound"` // "at most 28 % others at 95 %"; empty: none
	Says         string              `json:"says"`        // the finding in one sentence
	Candidates   []IdentityCandidate `json:"candidates"`  // best first
	Excluded     []IdentityExcluded  `json:"excluded"`
	NotSeparated []string            `json:"not_separated"`
	Next         []IdentityNext      `json:"next"`
	Facets       []NamedFacet        `json:"facets"`
	Chart        *IdentityChart      `json:"chart"` // nil: neither n nor SG was read
}

// IdentityCandidate is a material that is left.
type IdentityCandidate struct {
	Name  string `json:"name"`
	Share string `json:"share"` // "62 %"; empty: not weighed
	Notes string `json:"notes"`
}

// IdentityExcluded is a material that the readings exclude, and why.
type IdentityExcluded struct {
	Name   string `json:"name"`
	Reason string `json:"reason"`
}

// IdentityNext is a test that would tell candidates apart.
type IdentityNext struct {
	Test   string `json:"test"`
	Splits string `json:"splits"`
	Why    string `json:"why"`
}

// NamedFacet is a facet with its name: species, nature, treatment, origin.
type NamedFacet struct {
	Name string `json:"name"`
	Facet
}

// IdentityChart is n against SG: the boxes of the candidates and the crosses
// of the stones. Figures are statistics of a picture, never of money.
type IdentityChart struct {
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
