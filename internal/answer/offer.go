package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// ParcelOffer is the most to pay for a parcel, to carry into a negotiation.
type ParcelOffer struct {
	Head
	Parcel     string         `json:"parcel"`
	Vendor     string         `json:"vendor"`
	Kind       string         `json:"kind"` // offer, purchase, memo-in
	Line       string         `json:"line"`
	Lots       int64          `json:"lots"`
	Pieces     int64          `json:"pieces"`
	Weight     num.Carat      `json:"carats"`
	Per        string         `json:"per"` // carat, piece, total: what the price is quoted by
	Terms      OfferTerms     `json:"terms"`
	Target     num.Money      `json:"target"`
	Haircut    num.Percent    `json:"haircut_percent"`
	Limits     []OfferLimit   `json:"limits"`
	Ask        *OfferRow      `json:"ask"` // null: no ask is known
	Table      []OfferRow     `json:"table"`
	Designs    []OfferDesign  `json:"designs"` // at the limit of zero expected profit
	Uses       []OfferUse     `json:"stones"`  // likewise
	History    []OfferHistory `json:"asks_and_bids"`
	Runs       int            `json:"runs"`
	Seed       int64          `json:"seed"`
	Counted    []string       `json:"counted"`
	NotCounted []string       `json:"not_counted"`
	Notes      []string       `json:"notes"`
	// Warnings are told beside the answer.
	Warnings fault.List `json:"-"`
}

// OfferTerms are how the parcel is paid, and what money costs until the line
// is sold.
type OfferTerms struct {
	CashDiscount num.Percent `json:"cash_discount_percent"`
	PayDays      int64       `json:"pay_days"`
	SellMonths   num.Dec     `json:"sell_months"`
	MoneyCost    num.Percent `json:"money_cost_percent"`
}

// OfferLimit is the highest price that meets an aim, and the next minor unit
// that misses it with the same random numbers.
type OfferLimit struct {
	Aim      string    `json:"aim"`
	Found    bool      `json:"found"`
	Reason   string    `json:"reason"` // why there is none
	Met      *OfferRow `json:"met"`
	PerCarat num.Dec   `json:"per_carat"`
	PerPiece num.Dec   `json:"per_piece"`
	Missed   *OfferRow `json:"missed"`
}

// OfferRow is what is earned at one price. Earns is what the line earns before the parcel is paid, its
// leftovers with it, so that Earns less Cost is the expected profit.
type OfferRow struct {
	Price   num.Money   `json:"price"` // by Per
	Total   num.Money   `json:"total"`
	Cost    num.Money   `json:"cost"` // by the terms
	Earns   num.Money   `json:"earns"`
	Profit  num.Money   `json:"profit"`
	Error   num.Money   `json:"standard_error"`
	P10     num.Money   `json:"p10"`
	P90     num.Money   `json:"p90"`
	Loss    num.Percent `json:"loss_chance"`
	Reached num.Percent `json:"target_chance"`
	Plan    string      `json:"plan"`
	Made    int64       `json:"made"`
	Set     int64       `json:"stones_set"`
	Left    int64       `json:"stones_left"`
	Brings  num.Money   `json:"leftovers"`
	Mark    string      `json:"mark"` // "the ask", "zero expected profit" ...
}

// OfferDesign is how often a design is made with and without the parcel.
type OfferDesign struct {
	Design  string `json:"design"`
	Wanted  int64  `json:"wanted"`
	Made    int64  `json:"made"`
	Without int64  `json:"without"`
}

// OfferUse is what becomes of one lot of the parcel.
type OfferUse struct {
	Lot    string    `json:"lot"`
	Name   string    `json:"name"`
	Pieces int64     `json:"pieces"`
	Set    int64     `json:"set"`
	Each   num.Money `json:"each"` // what one stone brings as a leftover
	Left   num.Money `json:"left"` // what those that are left bring
	Known  bool      `json:"priced"`
}

// OfferHistory is an ask or a bid so far.
type OfferHistory struct {
	On      book.Date `json:"on"`
	Party   string    `json:"party"`
	Side    string    `json:"side"`
	Total   num.Money `json:"total"`
	Foreign string    `json:"foreign"` // as named, when in another currency
	Note    string    `json:"note"`
}

// JSON is the model's canonical form: lotpaper/offer/1.
func (o *ParcelOffer) JSON() ([]byte, error) { return encode("lotpaper/offer/1", o) }
