package book

import (
	"fmt"
	"strings"

	"lotpaper/internal/num"
)

// Order is what a cutter is asked to cut, recut or supply. Every change of its
// state is a version.
type Order struct {
	Number   string      `json:"number"` // O7
	Cutter   string      `json:"cutter"` // empty: a draft that cutters bid for
	Line     string      `json:"line,omitempty"`
	State    string      `json:"state"` // draft, sent, received (an old order), closed, cancelled
	On       Date        `json:"on"`
	SentOn   Date        `json:"sent_on,omitempty"`
	Due      Date        `json:"due,omitempty"`
	Lines    []OrderLine `json:"lines"`
	Planned  []Supply    `json:"planned,omitempty"` // of a draft: what is to be supplied
	Supplied []Supply    `json:"supplied"`          // material sent to the cutter
	Breakage string      `json:"breakage"`          // who bears it, in words
	Claims   bool        `json:"claims,omitempty"`  // the cost of supplied stones that break is claimed from the cutter
	Bid      int64       `json:"bid,omitempty"`     // the bid that was taken
	Document string      `json:"document,omitempty"`
	At       Place       `json:"at,omitempty"` // where what was supplied lies; empty: an old order
	Note     string      `json:"note,omitempty"`
	Ended    string      `json:"ended,omitempty"` // why it was closed or cancelled
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

// ItemName is the name of a line of an order on its papers: A, B, C ...
func ItemName(i int) string {
	if i < 26 {
		return string(rune('A' + i))
	}
	return fmt.Sprintf("A%d", i-25)
}

// Item returns the line of the order with a name; nil when there is none.
func (o Order) Item(name string) *OrderLine {
	for i := range o.Lines {
		if strings.EqualFold(ItemName(i), name) {
			return &o.Lines[i]
		}
	}
	return nil
}

// SuppliedLot is material sent to the cutter.
type SuppliedLot struct {
	Lot    string    `json:"lot"`
	Pieces int64     `json:"pieces"`
	Carats num.Carat `json:"carats"`
}

// Supply is material sent to the cutter, and the item of the order that it is
// for; without an item it is for any.
type Supply struct {
	SuppliedLot
	Item string `json:"item,omitempty"`
}

// RecordKind says that orders are kept as versions.
func (Order) RecordKind() Kind { return KindOrder }

// RecordKey is the order's number.
func (o Order) RecordKey() string { return o.Number }

// Refs are the cutter, the line, the lots that are or will be supplied, and the
// issued document.
func (o Order) Refs() []Ref {
	refs := named(ToParty(o.Cutter), ToLine(o.Line), ToPaper(o.Document))
	for _, s := range append(o.Supplied[:len(o.Supplied):len(o.Supplied)], o.Planned...) {
		refs = append(refs, ToLot(s.Lot))
	}
	return refs
}

// InTotal is the basis of a bid for all that an order asks for.
const InTotal PriceBasis = "total"

// BidBases lists what a bid's price may be for.
var BidBases = []string{string(PerCarat), string(PerPiece), string(InTotal)}

// Bid is what a cutter asks for the work of an order.
type Bid struct {
	Order   string     `json:"order"`
	Number  int64      `json:"number"`
	Cutter  string     `json:"cutter"`
	On      Date       `json:"on"`
	Basis   PriceBasis `json:"basis"`
	Price   num.Money  `json:"price"`   // in the cutter's currency
	Freight num.Money  `json:"freight"` // both ways, in the same currency
	Days    int64      `json:"days,omitempty"`
	Claims  bool       `json:"claims,omitempty"` // the cutter bears the breakage of what is supplied
	Note    string     `json:"note,omitempty"`
}

// BasisWords says what the price is for: stones as they come back, or the order.
func (b Bid) BasisWords() string {
	if b.Basis == InTotal {
		return "in all"
	}
	return map[PriceBasis]string{PerCarat: "per carat as cut", PerPiece: "per piece as cut"}[b.Basis]
}

// BidKey is the key of a bid for an order: O7/2.
func BidKey(order string, n int64) string { return fmt.Sprintf("%s/%d", order, n) }

// BidSeries is the series of the bids for an order.
func BidSeries(order string) string { return string(KindBid) + "/" + strings.ToUpper(order) }

// RecordKind says that bids are kept.
func (Bid) RecordKind() Kind { return KindBid }

// RecordKey is the order's number and the bid's.
func (b Bid) RecordKey() string { return BidKey(b.Order, b.Number) }

// Refs are the order and the cutter.
func (b Bid) Refs() []Ref { return named(ToPaper(b.Order), ToParty(b.Cutter)) }

// For is what the bid asks for pieces that weigh carats, out of all pieces that
// the order asks for.
func (b Bid) For(pieces int64, carats num.Carat, all int64) num.Money {
	switch b.Basis {
	case PerCarat:
		return b.Price.Times(carats.Dec(), num.HalfUp)
	case PerPiece:
		return b.Price.Times(num.Int(pieces), num.HalfUp)
	}
	if all <= pieces {
		return b.Price
	}
	return b.Price.Share([]num.Dec{num.Int(pieces), num.Int(all - pieces)})[0]
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
	Terms  string        `json:"terms,omitempty"`
	Rate   num.Rate      `json:"rate,omitzero"` // of its prices' currency on its day; zero: the book's own
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
