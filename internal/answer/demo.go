package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

// Demo is what the demo did and found. Every number in it comes out of
// the book.
type Demo struct {
	Folder  string        `json:"folder"` // where its files were written
	LookOn  string        `json:"-"`      // how to look on, in the words of the edge
	Dealer  string        `json:"dealer"`
	Bought  []DemoParcel  `json:"bought"`
	States  []DemoState   `json:"states"` // of the lots as bought
	Found   []DemoFinding `json:"found"`
	Facets  []DemoFacet   `json:"facets"`  // how each facet of the stones is known, at the end
	Refused []Refusal     `json:"refused"` // what may not be set where it was asked for
	Caution []Refusal     `json:"caution"` // what was planned and needs care at the bench or in the showcase
	Line    DemoLine      `json:"line"`
	Orders  []DemoOrder   `json:"orders"`
	Files   []DemoFile    `json:"files"`
	Check   LedgerCheck   `json:"ledger"`
	Assumed []DemoAssumed `json:"assumed"` // treatments that nobody stated, in planned stones
}

// DemoParcel is what came in.
type DemoParcel struct {
	Code     string       `json:"parcel"`
	Label    string       `json:"label"`
	Kind     string       `json:"kind"`
	Vendor   string       `json:"vendor"`
	Lots     int          `json:"lots"`
	Pieces   int64        `json:"pieces"`
	Carats   num.Carat    `json:"carats"`
	Price    num.Money    `json:"price"`
	Currency num.Currency `json:"currency"` // of the invoice
	Rate     num.Rate     `json:"rate"`
	Charges  num.Money    `json:"charges"`
	Held     num.Money    `json:"held"` // landed cost of what is left
	Agreed   num.Money    `json:"agreed"`
}

// DemoState counts the lots in one state of identity.
type DemoState struct {
	State  string `json:"state"`
	Lots   int    `json:"lots"`
	Pieces int64  `json:"pieces"`
}

// DemoFinding is one thing that was found out about a lot. Kind is
// contradicted, mixed, undecided, untested, treatment, verified or report.
type DemoFinding struct {
	Kind   string   `json:"kind"`
	Lot    string   `json:"lot"`
	Claim  string   `json:"claim"`
	Pieces int64    `json:"pieces"`
	Tested int      `json:"tested"`
	Of     int      `json:"of"`
	Others int      `json:"others"` // tested stones that are not the claim
	What   string   `json:"what"`   // what the others most likely are, or what is assumed
	Why    string   `json:"why"`
	Next   string   `json:"next"`
	Into   []string `json:"into"` // lots that a sort made
}

// DemoFacet counts pieces by how one facet is known.
type DemoFacet struct {
	Facet  string `json:"facet"`
	Report int64  `json:"lab_reported"`
	Tested int64  `json:"tested"`
	Stated int64  `json:"stated"`
	Silent int64  `json:"unknown"`
}

// DemoAssumed is a treatment that nobody stated.
type DemoAssumed struct {
	Lots    string `json:"lots"`
	Stone   string `json:"stone"`
	Assumed string `json:"assumed"`
}

// DemoLine is what the line costs and earns.
type DemoLine struct {
	Name       string       `json:"line"`
	Designs    []DemoDesign `json:"designs"`
	Cost       num.Money    `json:"cost"`
	Sales      num.Money    `json:"sales"`
	Fixed      num.Money    `json:"fixed"`
	Earned     num.Money    `json:"earned"`
	Drop       string       `json:"drop"`
	Bound      num.Money    `json:"bound"`
	GapPercent float64      `json:"gap_percent"`
	Status     string       `json:"status"`
	Low        num.Money    `json:"p10"`
	High       num.Money    `json:"p90"`
	LossChance string       `json:"loss_chance_percent"`
	Runs       int          `json:"runs"`
	Short      []DemoShort  `json:"short"`
}

// DemoDesign is one design as planned.
type DemoDesign struct {
	Design string    `json:"design"`
	Metal  string    `json:"metal"`
	Wanted int64     `json:"wanted"`
	Made   int64     `json:"made"`
	Cost   num.Money `json:"cost"`
	Price  num.Money `json:"price_trade"`
	Margin string    `json:"margin_percent"`
	Earned num.Money `json:"earned"`
}

// DemoShort is what the plan lacks.
type DemoShort struct {
	Design   string    `json:"design"`
	Position string    `json:"position"`
	Missing  int64     `json:"missing"`
	Why      string    `json:"why"`
	Worth    num.Money `json:"worth"`
}

// DemoOrder is one item of a cutter order.
type DemoOrder struct {
	Number   string         `json:"order"`
	Document string         `json:"document"`
	Cutter   string         `json:"cutter"`
	Due      book.Date      `json:"due"`
	Design   string         `json:"design"`
	Position string         `json:"position"`
	Material string         `json:"material"`
	Shape    string         `json:"shape"`
	Length   num.Millimetre `json:"length_mm"`
	Width    num.Millimetre `json:"width_mm"`
	Count    int64          `json:"count"`
	Spare    int64          `json:"spare"`
	Weight   num.Carat      `json:"weight_each"`
	PriceMax num.Money      `json:"price_max_each"`
}

// DemoFile is a file that the demo wrote: a document, or one of the inputs.
type DemoFile struct {
	Name  string `json:"name"` // with / between folder and file
	About string `json:"about"`
	Bytes []byte `json:"-"`
}
