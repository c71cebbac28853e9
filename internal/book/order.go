package book

import "lotpaper/internal/num"

// Order is what a cutter is asked to cut, recut or supply. Every change of its
// state is a version.
type Order struct {
	Number   string        `json:"number"` // O7
	Cutter   string        `json:"cutter"`
	Line     string        `json:"line,omitempty"`
	State    string        `json:"state"` // draft, sent, received, cancelled
	On       Date          `json:"on"`
	Due      Date          `json:"due,omitempty"`
	Lines    []OrderLine   `json:"lines"`
	Supplied []SuppliedLot `json:"supplied"` // material sent to the cutter
	Breakage string        `json:"breakage"` // who bears it
	Document string        `json:"document,omitempty"`
	At       Place         `json:"at,omitempty"` // where what was supplied lies; empty: an old order
	Note     string        `json:"note,omitempty"`
}

// Place is where the stones of the order lie: an old order's with its cutter's.
func (o Order) Place() Place {
	if o.At != "" {
		return o.At
	}
	return PlaceOf(AtCutter, o.Cutter)
}

// OrderLine is one kind of stone that is wanted, and what is supplied for it.
type OrderLine struct {
	Design    string   `json:"design,omitempty"`
	Position  string   `json:"position,omitempty"`
	Species   []string `json:"species"`
	Treatment string   `json:"treatment,omitempty"`
	WantedStone
	Color       string `json:"color,omitempty"`
	Clarity     string `json:"clarity,omitempty"`
	Orientation string `json:"orientation,omitempty"`
	Finish      string `json:"finish,omitempty"`
	WantedWeight
	PriceMax num.Money `json:"price_max"` // the most one stone may cost, from the plan
	Why      string    `json:"why"`
	Risk     string    `json:"risk,omitempty"`
}

// WantedStone is the shape, the size and the number of stones that are wanted.
type WantedStone struct {
	Shape     string         `json:"shape"`
	Length    num.Millimetre `json:"length"`
	Width     num.Millimetre `json:"width"`
	Tolerance num.Millimetre `json:"tolerance_mm"`
	DepthLow  num.Percent    `json:"depth_low"` // of the width
	DepthHigh num.Percent    `json:"depth_high"`
	Count     int64          `json:"count"`
	Spare     int64          `json:"spare"` // asked for on top, for breakage in setting
	Match     string         `json:"match"`
}

// WantedWeight is what one wanted stone is expected to weigh, and the least
// yield of what is supplied.
type WantedWeight struct {
	Weight     num.Carat   `json:"weight"`
	WeightLow  num.Carat   `json:"weight_low"`
	WeightHigh num.Carat   `json:"weight_high"`
	MinYield   num.Percent `json:"min_yield"` // 0: none asked
}

// SuppliedLot is material sent to the cutter.
type SuppliedLot struct {
	Lot    string    `json:"lot"`
	Pieces int64     `json:"pieces"`
	Carats num.Carat `json:"carats"`
}

// RecordKind says that orders are kept as versions.
func (Order) RecordKind() Kind { return KindOrder }

// RecordKey is the order's number.
func (o Order) RecordKey() string { return o.Number }

// Refs are the cutter, the line, the lots supplied, and the issued document.
func (o Order) Refs() []Ref {
	return withLots(named(ToParty(o.Cutter), ToLine(o.Line), ToPaper(o.Document)), o.Supplied)
}

// Offer is an ask, a bid or a counter-offer for a parcel.
type Offer struct {
	Parcel string    `json:"parcel"`
	Number int       `json:"number"`
	Party  string    `json:"party"`
	Side   string    `json:"side"`  // ask, bid, or bought
	Total  num.Money `json:"total"` // book currency
	// Foreign is the amount as it was named, when in another currency.
	Foreign *ForeignPrice `json:"foreign,omitempty"`
	On      Date          `json:"on"`
	Note    string        `json:"note,omitempty"`
	// Lots are the seller's list with its pieces and weights, which no entry
	// moves while the parcel is only on offer; the first ask keeps them.
	Lots []SuppliedLot `json:"lots,omitempty"`
}

// RecordKind says that offers are kept as versions.
func (Offer) RecordKind() Kind { return KindOffer }

// RecordKey is parcel and number.
func (o Offer) RecordKey() string { return o.Parcel + "/" + num.Int(int64(o.Number)).String() }

// Refs are the parcel and who named the amount.
func (o Offer) Refs() []Ref { return named(ToParcel(o.Parcel), ToParty(o.Party)) }

// Memo is goods out on approval.
type Memo struct {
	Number string        `json:"number"` // M3
	Party  string        `json:"party"`
	State  string        `json:"state,omitempty"` // of an old memo: out, closed
	On     Date          `json:"on"`
	Due    Date          `json:"due,omitempty"`
	Lots   []SuppliedLot `json:"lots,omitempty"` // of an old memo: what is still out
	At     Place         `json:"at,omitempty"`   // where its stones lie; empty: an old memo
	Sent   []Sent        `json:"sent,omitempty"` // what went out
	Note   string        `json:"note,omitempty"`
}

// Place is where the memo's stones lie: an old memo's with its party's.
func (m Memo) Place() Place {
	if m.At != "" {
		return m.At
	}
	return PlaceOf(AtMemo, m.Party)
}

// RecordKind says that memos are kept as versions.
func (Memo) RecordKind() Kind { return KindMemo }

// RecordKey is the memo's number.
func (m Memo) RecordKey() string { return m.Number }

// Refs are who has the lots, and the lots that went out.
func (m Memo) Refs() []Ref { return withSent(withLots(named(ToParty(m.Party)), m.Lots), m.Sent) }

// Work is what a setter did with stones of one lot, and how hard the judged
// situation was: what the loss rates learn from. Levels are those of the day,
// 0 sound to 3 avoid.
type Work struct {
	Number      string `json:"number"` // W9
	Setter      string `json:"setter"`
	Lot         string `json:"lot"`
	Piece       string `json:"piece,omitempty"` // that they were set into
	For         string `json:"for"`             // line/design/position
	Set         int64  `json:"set"`
	Broken      int64  `json:"broken"`
	BreakLevel  int    `json:"break_level"`
	ReturnLevel int    `json:"return_level"`
	On          Date   `json:"on"`
	Reversed    bool   `json:"reversed,omitempty"` // its entry was taken back: nothing is learnt from it
}

// RecordKind says that works are kept.
func (Work) RecordKind() Kind { return KindWork }

// RecordKey is the work's number.
func (w Work) RecordKey() string { return w.Number }

// Refs are the setter, the lot, and the piece that its stones were set into.
func (w Work) Refs() []Ref { return named(ToParty(w.Setter), ToLot(w.Lot), ToPiece(w.Piece)) }
