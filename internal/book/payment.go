package book

import "lotpaper/internal/num"

// Payment is money that a party paid or was paid, for one invoice, claim or
// charge. It has its own rate: what it brings or costs more than the item stood
// at is an exchange difference (IAS 21.28). It is written once.
type Payment struct {
	Number     string    `json:"number"` // PAY7
	Party      string    `json:"party"`
	On         Date      `json:"on"`
	For        string    `json:"for"`                  // S3, K2, P5, C7
	Commission bool      `json:"commission,omitempty"` // a broker's, for a sale
	Out        bool      `json:"out,omitempty"`        // the dealer paid
	Amount     num.Money `json:"amount"`               // in its own currency
	Rate       num.Rate  `json:"rate,omitzero"`        // zero: book currency
	Book       num.Money `json:"book"`                 // Amount in book currency, at its own rate
	Settled    num.Money `json:"settled"`              // what it settles, in the item's currency
	Carrying   num.Money `json:"carrying"`             // what that stood at in the book
	Difference num.Money `json:"difference"`           // gained by the rates, book currency; negative: lost
	Note       string    `json:"note,omitempty"`
}

// RecordKind says that payments are written once.
func (Payment) RecordKind() Kind { return KindPayment }

// RecordKey is the payment's number.
func (p Payment) RecordKey() string { return p.Number }

// Refs are the party and what was paid for.
func (p Payment) Refs() []Ref { return named(ToParty(p.Party), ToPaper(p.For)) }

// Claim is what a party has to make good for stones of a lot that it broke or lost.
// It is written once.
type Claim struct {
	Number  string        `json:"number"` // K2
	Party   string        `json:"party"`
	Paper   string        `json:"paper"` // on which the stones were out
	Lot     string        `json:"lot"`
	On      Date          `json:"on"`
	Amount  num.Money     `json:"amount"`            // owed, book currency
	Foreign *ForeignPrice `json:"foreign,omitempty"` // the same as it was agreed, when in another currency
	// Over is what is owed over the cost of the stones, below 0 under it, book
	// currency; zero: the cost is owed.
	Over num.Money `json:"over,omitzero"`
	Note string    `json:"note,omitempty"`
}

// Owed is what is owed, as it was agreed.
func (c Claim) Owed() num.Money {
	if c.Foreign != nil {
		return c.Foreign.Amount
	}
	return c.Amount
}

// RecordKind says that claims are written once.
func (Claim) RecordKind() Kind { return KindClaim }

// RecordKey is the claim's number.
func (c Claim) RecordKey() string { return c.Number }

// Refs are the party, the paper and the lot.
func (c Claim) Refs() []Ref { return named(ToParty(c.Party), ToPaper(c.Paper), ToLot(c.Lot)) }
