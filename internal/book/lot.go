package book

import (
	"cmp"
	"strings"

	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Size is the range of a lot's stones in one direction; Max equals Min when
// one size was given. Zero is unknown.
type Size struct {
	Min num.Millimetre `json:"min"`
	Max num.Millimetre `json:"max"`
}

// IsZero reports whether the size is unknown.
func (s Size) IsZero() bool { return s.Min == 0 && s.Max == 0 }

// String prints "7.00" or "6.90-7.10"; empty when unknown.
func (s Size) String() string {
	switch {
	case s.IsZero():
		return ""
	case s.Min == s.Max:
		return s.Min.String()
	}
	return s.Min.String() + "-" + s.Max.String()
}

// Lot is stones kept together in one paper: same claim, shape, size range,
// grade. How many pieces there are, where and at what cost is the ledger's.
// A lot of one piece is a stone.
type Lot struct {
	Code       string        `json:"code"`             // P12-3, P12-3.2 or the user's own; J7 of a piece
	Kind       LotKind       `json:"kind,omitempty"`   // empty: stones
	Label      string        `json:"label,omitempty"`  // the code on the vendor's paper
	Parcel     string        `json:"parcel"`           // parcel code
	Parent     string        `json:"parent,omitempty"` // lot it was sorted, split or cut from
	Stone      string        `json:"stone,omitempty"`  // tag inside the parent lot, for one-piece lots
	Tags       []string      `json:"tags,omitempty"`   // tags of the tested stones that came along from the parent
	Owner      Owner         `json:"owner"`
	Species    string        `json:"species"` // as resolved: the facts' name; empty unknown
	Variety    string        `json:"variety,omitempty"`
	Claim      string        `json:"claim,omitempty"` // the species as written by the vendor
	Facets     Facets        `json:"facets"`
	Opinion    *Opinion      `json:"opinion,omitempty"` // what the dealer judges the stones to be
	Shape      string        `json:"shape,omitempty"`
	Length     Size          `json:"length"`
	Width      Size          `json:"width"`
	Depth      Size          `json:"depth"`
	Calibrated bool          `json:"calibrated"`
	Estimated  bool          `json:"estimated,omitempty"` // pieces estimated, not counted
	Color      string        `json:"color,omitempty"`
	Clarity    string        `json:"clarity,omitempty"`
	Cut        string        `json:"cut,omitempty"`
	Agreed     num.Money     `json:"agreed"`            // price paid or agreed (memo in), book currency
	Foreign    *ForeignPrice `json:"foreign,omitempty"` // the price as invoiced
	Prices     *Prices       `json:"prices,omitempty"`  // what is asked for it; nil: not priced
	Due        Date          `json:"due,omitempty"`     // memo in: to be settled or returned by
	Fenced     string        `json:"fenced,omitempty"`  // reason why plans may not use it
	Jewel      *Jewel        `json:"jewel,omitempty"`   // of a finished piece alone
	Damaged    *Damage       `json:"damaged,omitempty"` // its stones, or the piece, are damaged
	Note       string        `json:"note,omitempty"`
}

// Unestablished is why a lot is fenced whose stones exclude what they were
// claimed to be and are not shown to be any one species. Its species is then
// empty, or the trade's word for all that they may be.
const Unestablished = "its species is not established"

// ForeignPrice keeps an amount in its own currency with the rate that made it
// a book amount.
type ForeignPrice struct {
	Amount num.Money `json:"amount"`
	Rate   num.Rate  `json:"rate"`
}

// Opinion is what a dealer judges a lot's stones to be, whatever they claim and
// whatever the tests say. It names them and is evidence for nothing.
type Opinion struct {
	Species string `json:"species"` // as resolved
	Variety string `json:"variety,omitempty"`
	Reason  string `json:"reason"`
	Who     string `json:"who,omitempty"`
	On      Date   `json:"on"`
}

// Name is the variety when one is named, else the species.
func (o Opinion) Name() string { return cmp.Or(o.Variety, o.Species) }

// PriceBasis says what a price of stones is for.
type PriceBasis string

// The bases of a price. A whole lot has no price of its own, since it would not
// say what a part of the lot costs.
const (
	PerCarat PriceBasis = "per_carat"
	PerPiece PriceBasis = "per_piece"
)

// ParsePriceBasis reads what a price is for.
func ParsePriceBasis(s string) (PriceBasis, *fault.Fault) {
	switch b := PriceBasis(strings.ToLower(strings.TrimSpace(s))); b {
	case PerCarat, PerPiece:
		return b, nil
	}
	return "", fault.New(fault.Invalid, "price-basis", "a price must be per_carat or per_piece, but is \""+s+"\"",
		cmp.Or(fault.DidYouMean(s, []string{string(PerCarat), string(PerPiece)}),
			"write per_carat or per_piece; a price "+
				"for a whole lot does not say what a part of it costs"))
}

// Words are the basis behind a price: "per ct".
func (b PriceBasis) Words() string {
	if b == PerPiece {
		return "per piece"
	}
	return "per ct"
}

// Prices are what is asked for a lot's stones and the least that they may be
// sold for, net of tax. Zero is not said.
type Prices struct {
	Ask   num.UnitPrice `json:"ask,omitzero"`
	Least num.UnitPrice `json:"least,omitzero"`
	Basis PriceBasis    `json:"basis"`
}

// Of is what a price of the basis makes for pieces of a weight.
func (b PriceBasis) Of(price num.UnitPrice, pieces int64, carats num.Carat) num.Money {
	if b == PerPiece {
		return price.ForPieces(pieces, num.HalfUp)
	}
	return price.ForCarats(carats, num.HalfUp)
}

// RecordKind says that lots are kept as versions.
func (Lot) RecordKind() Kind { return KindLot }

// RecordKey is the lot's code.
func (l Lot) RecordKey() string { return l.Code }

// Refs are its parcel, the lot that it came from, and whose it is.
func (l Lot) Refs() []Ref {
	return named(ToParcel(l.Parcel), ToLot(l.Parent), ToParty(l.Owner.partyOf()))
}

// Name is what a person calls the lot's stones: the variety when one is
// named, else the species, else "unnamed". A piece is called what it is: "ring".
func (l Lot) Name() string {
	switch {
	case l.IsPiece():
		return cmp.Or(l.Jewel.Is, "piece")
	case l.Variety != "":
		return l.Variety
	case l.Species != "":
		return l.Species
	}
	return "unnamed"
}

// Called is the name that lists, sales and papers print: the dealer's own, which
// says that it is his judgement, or else Name. Nothing is judged by it.
func (l Lot) Called() string {
	if l.Opinion != nil {
		return l.Opinion.Name() + ", by the dealer's judgement"
	}
	return l.Name()
}

// CheckCode returns a fault when code cannot be a lot's or a parcel's code.
func CheckCode(what, code string) *fault.Fault {
	bad := func(c rune) bool { return c <= ' ' || c == 0x7f || strings.ContainsRune(`/\:*?"<>|`, c) }
	if code == "" || len(code) > 40 || strings.IndexFunc(code, bad) >= 0 || strings.HasPrefix(code, "-") {
		return fault.New(fault.Invalid, "code-bad", what+" code must be 1 to 40 characters without blanks or / \\ : "+
			"* ? "+
			"\" < > |, but is \""+code+"\"", "choose a short code such as A-12")
	}
	return nil
}
