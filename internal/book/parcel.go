package book

import (
	"lotpaper/internal/num"
)

// ParcelKind says what a parcel is to the dealer.
type ParcelKind string

// The kinds of parcels.
const (
	Purchase  ParcelKind = "purchase"
	OfferOnly ParcelKind = "offer"
	MemoIn    ParcelKind = "memo-in"
	Custody   ParcelKind = "custody" // a customer's own stones, to be worked on
)

// Parcel is one purchase, offer or memo in from one vendor.
type Parcel struct {
	Code     string       `json:"code"` // P12
	Label    string       `json:"label,omitempty"`
	Kind     ParcelKind   `json:"kind"`
	Vendor   string       `json:"vendor"`
	On       Date         `json:"on"`
	Currency num.Currency `json:"currency"` // of the invoice
	Rate     num.Rate     `json:"rate"`     // book units per invoice unit
	Lots     int          `json:"lots"`     // as imported
	Pieces   int64        `json:"pieces"`
	Carats   num.Carat    `json:"carats"`
	Price    num.Money    `json:"price"`             // of the own lots, book currency
	Invoice  num.Money    `json:"invoice,omitzero"`  // of the own lots, in Currency; zero: not kept
	Opening  bool         `json:"opening,omitempty"` // the dealer had it when the book began
	Source   string       `json:"source,omitempty"`  // name of the imported file
	Note     string       `json:"note,omitempty"`
}

// RecordKind says that parcels are kept as versions.
func (Parcel) RecordKind() Kind { return KindParcel }

// RecordKey is the parcel's code.
func (p Parcel) RecordKey() string { return p.Code }

// Refs are the vendor.
func (p Parcel) Refs() []Ref { return named(ToParty(p.Vendor)) }

// ShareKey says how a cost is spread over lots.
type ShareKey string

// The keys: by relative sales value, by net realisable value, by carats, by
// pieces, or by the cost already booked.
const (
	ByValue  ShareKey = "value"
	ByNRV    ShareKey = "nrv"
	ByCarats ShareKey = "carats"
	ByPieces ShareKey = "pieces"
	ByCost   ShareKey = "cost"
)

// ShareKeys lists the keys.
var ShareKeys = []string{string(ByValue), string(ByNRV), string(ByCarats), string(ByPieces), string(ByCost)}

// Charge is a landed cost of a parcel: freight, insurance, duty, laboratory
// fees ... Recoverable tax is noted and stays out of cost.
type Charge struct {
	Code  string `json:"code"`            // C7
	Party string `json:"party,omitempty"` // who bills it
	// a rebate: the charge or parcel that it lowers; Amount is negative
	Credits string        `json:"credits,omitempty"`
	Parcel  string        `json:"parcel"`
	Lot     string        `json:"lot,omitempty"` // laboratory fees belong to the tested stone
	Kind    string        `json:"kind"`          // freight, insurance, duty, laboratory, broker, bank, other
	Amount  num.Money     `json:"amount"`        // book currency, without recoverable tax
	Tax     num.Money     `json:"tax"`           // recoverable tax, outside cost
	Foreign *ForeignPrice `json:"foreign,omitempty"`
	// ForeignTax is Tax as it was billed, when that was in another currency.
	ForeignTax num.Money `json:"foreign_tax,omitzero"`
	Key        ShareKey  `json:"key"`
	Variance   num.Money `json:"variance"` // the part of what was sold or lost
	On         Date      `json:"on"`
	// Invoiced is the date of its invoice, when the charge was booked later.
	Invoiced Date   `json:"invoiced,omitempty"`
	Note     string `json:"note,omitempty"`
}

// RecordKind says that charges are kept.
func (Charge) RecordKind() Kind { return KindCharge }

// RecordKey is the charge's code.
func (c Charge) RecordKey() string { return c.Code }

// Refs are the parcel, the lot when it is of one, who bills it, and what it
// credits.
func (c Charge) Refs() []Ref {
	return named(ToParcel(c.Parcel), ToLot(c.Lot), ToParty(c.Party), ToPaper(c.Credits))
}
