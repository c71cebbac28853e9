package answer

import (
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/chart"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

// Proposal is a line as it is offered: what is made of which stones, what each
// design costs and is sold for, what may go wrong, and what must be told.
//
// Its numbers hang together by formulas over named inputs: see Node. The
// workbook carries them live, so a changed input carries through.
type Proposal struct {
	Head
	Line     string           `json:"line"`
	Customer string           `json:"customer"` // empty: not addressed
	Inputs   []Input          `json:"inputs"`   // of the line: prices, rates, percentages, margin
	Designs  []ProposalDesign `json:"designs"`
	Stones   []ProposalStone  `json:"stones"` // in the order of Designs
	Short    []Shortage       `json:"short"`
	Warnings []Warning        `json:"warnings"` // beside those that follow from the stones and the prices
	Plan     PlanFacts        `json:"plan"`
	Risk     *Risk            `json:"risk"`        // nil: not simulated
	Profit   num.Money        `json:"profit"`      // as planned: what Moves start from
	Moves    []Move           `json:"sensitivity"` // ranked, the largest first

	drawn chart.Plan // the first piece of every design
}

// Draw gives the proposal the plan's figure, with the first piece of every
// design.
func (p *Proposal) Draw(plan LinePlan) {
	plan.Pieces = slices.CompactFunc(slices.Clone(plan.Pieces), func(a, b PlanPiece) bool {
		return a.Design == b.Design
	})
	p.drawn = plan.Figure()
}

// Input is a number that formulas read, kept in a cell of its own.
type Input struct {
	Key    formula.Key `json:"key"`   // unique in the document
	Group  string      `json:"group"` // heading: "Metal prices", "Losses", "Labour", "Margin"
	Label  string      `json:"label"`
	Value  num.Dec     `json:"value"`
	Unit   string      `json:"unit"`   // "EUR/g fine", "EUR/h", "%", "g", "min"
	On     book.Date   `json:"on"`     // of the rate; empty: no date
	Source string      `json:"source"` // where the number comes from
}

// Node is one amount of a cost tree. Formula is how it follows from inputs and
// other nodes; without one it is a plain amount. Amount must be what Formula
// gives, at the currency's minor unit.
type Node struct {
	Key      formula.Key  `json:"key"` // unique in the document
	Label    string       `json:"label"`
	Amount   num.Money    `json:"amount"`  // per sale unit
	Words    string       `json:"words"`   // the formula in words
	Formula  formula.Expr `json:"formula"` // printed: it is not read back
	Source   string       `json:"source"`
	Children []Node       `json:"children"`
}

// ProposalDesign is one design of the line as planned.
type ProposalDesign struct {
	Design    string      `json:"design"`
	Piece     string      `json:"piece"`
	Metal     string      `json:"metal"` // "gold 750"
	Wear      string      `json:"wear"`
	Wanted    int64       `json:"wanted"`
	Planned   int64       `json:"planned"`
	Inputs    []Input     `json:"inputs"` // of this design: metal weight, minutes, counts ...
	Cost      Node        `json:"cost"`   // variable cost of one sale unit
	Prices    []PriceTier `json:"prices"`
	FixedCost num.Money   `json:"fixed_cost"`
	Identity  string      `json:"identity"` // what the design asks of its stones: stated, supported, verified
	Cautions  []Caution   `json:"cautions"`
	WorkOrder []string    `json:"work_order"`
	Forbidden []string    `json:"forbidden"`
	Assumed   []string    `json:"assumed"` // what was not stated, and what was taken for it
	Care      CareWords   `json:"care"`
	Note      string      `json:"note"`
}

// PriceTier is one price of a design and how it follows from the cost. The
// first tier is the one that the line's contribution is reckoned with.
type PriceTier struct {
	Tier string `json:"tier"` // "trade", "retail"
	Tax  string `json:"tax"`  // "without tax", "with 19 % tax"
	// NetOf is the price without tax in the document's currency, when Price
	// includes tax or is in another currency; else none.
	NetOf  formula.Expr `json:"net_of"`
	Price  Node         `json:"price"`
	Breaks []PriceBreak `json:"breaks"` // for larger quantities, by rising quantity
}

// PriceBreak is the price of one unit from a quantity on.
type PriceBreak struct {
	From  int64 `json:"from"`
	Price Node  `json:"price"`
}

// ProposalStone is the stones of one lot in one position of one unit.
type ProposalStone struct {
	Design   string `json:"design"`
	Unit     int64  `json:"unit"` // which of the planned units, from 1
	Position string `json:"position"`
	Setting  string `json:"setting"`
	Lot      string `json:"lot"`
	Pieces   int64  `json:"pieces"`
	StoneWords
	Carats num.Carat `json:"carats"` // of these pieces together, as weighed
	// ByScale tells weighed stones from a share of a lot's weight.
	ByScale bool      `json:"by_scale"`
	Cost    num.Money `json:"cost"`  // of these pieces together
	Owner   string    `json:"owner"` // "own", "memo-in/PARTY", "customer/PARTY"
	Level   string    `json:"level"` // setting verdict: sound, care, caution, avoid
}

// StoneWords says what a stone is, as published rules ask it to be told.
type StoneWords struct {
	Name           string   `json:"name"`    // accepted name: variety, else species
	Species        string   `json:"species"` // empty when it is the name
	Shape          string   `json:"shape"`
	Size           string   `json:"size"` // "9.00 x 7.00 x 4.50" mm
	Color          string   `json:"color"`
	Nature         Facet    `json:"nature"`
	Treatment      Facet    `json:"treatment"`
	Assumed        string   `json:"treatment_assumed"` // usual treatment taken when none was stated
	Permanence     string   `json:"permanence"`        // of the treatment, in words
	SpecialCare    string   `json:"special_care"`
	ValueEffect    string   `json:"value_effect"` // of the treatment, in words
	Origin         Facet    `json:"origin"`
	OriginBasis    string   `json:"origin_basis"` // report or document that says so
	Permit         string   `json:"permit"`       // number, or that one is needed
	Identity       string   `json:"identity"`     // state of its lot: stated, supported, verified, mixed, contradicted
	Established    []string `json:"established"`
	NotEstablished []string `json:"not_established"`
}

// Caution is one finding that weighs on a design.
type Caution struct {
	Position string `json:"position"`
	Lot      string `json:"lot"` // empty: every lot of the position
	Stone    string `json:"stone"`
	Part     string `json:"part"`  // setting, bench, display
	Level    string `json:"level"` // care, caution, avoid
	Reason   string `json:"reason"`
	Advice   string `json:"advice"` // what is done about it where the stone is set all the same
	Mend     string `json:"mend"`   // what was judged again and makes it better
	Source   string `json:"source"`
	Rule     string `json:"rule"`
}

// todo is what mends it, and what is done about it.
func (c *Caution) todo() string { return strings.Join(fields(c.Mend, c.Advice), "; ") }

// Warning stays visible on the Summary.
type Warning struct {
	About string `json:"about"` // design, lot or position
	Text  string `json:"text"`
	Mend  string `json:"mend"`
}

// Shortage is a position that the plan could not fill.
type Shortage struct {
	Design   string    `json:"design"`
	Position string    `json:"position"`
	Missing  int64     `json:"missing"`
	Why      string    `json:"why"`
	Worth    num.Money `json:"worth"` // per stone, of filling it
	Order    string    `json:"order"` // the cutter order that asks for them
}

// PlanFacts says how close to the best the plan is.
type PlanFacts struct {
	Value  num.Money   `json:"value"`
	Bound  num.Money   `json:"bound"`
	Gap    num.Percent `json:"gap_percent"`
	Status string      `json:"status"`
}

// Risk is what the simulation of the line's profit found.
type Risk struct {
	Runs          int         `json:"runs"`
	Seed          int64       `json:"seed"`
	P10           num.Money   `json:"p10"`
	P50           num.Money   `json:"p50"`
	P90           num.Money   `json:"p90"`
	Mean          num.Money   `json:"mean"`
	StandardError num.Money   `json:"standard_error"` // of the mean; those of the others follow
	P10Error      num.Money   `json:"p10_error"`
	P50Error      num.Money   `json:"p50_error"`
	P90Error      num.Money   `json:"p90_error"`
	LossChance    num.Percent `json:"loss_chance"`
	LossError     num.Percent `json:"loss_error"`
	Bins          []Bin       `json:"bins"`
	Counted       string      `json:"counted"`     // what was uncertain, in words
	NotCounted    string      `json:"not_counted"` // what might matter and was not, in words
}

// Bin is one bar of a histogram: how many runs fell from Low up to High.
type Bin struct {
	Low   num.Money `json:"low"`
	High  num.Money `json:"high"`
	Count int       `json:"count"`
}

// Move is what one input does to the line's profit over its own range.
type Move struct {
	Input  string    `json:"input"`
	Low    string    `json:"low"` // value with unit
	High   string    `json:"high"`
	AtLow  num.Money `json:"profit_at_low"`
	AtHigh num.Money `json:"profit_at_high"`
}

// JSON is the model's canonical form: lotpaper/proposal/1.
func (p *Proposal) JSON() ([]byte, error) { return encode("lotpaper/proposal/1", p) }
