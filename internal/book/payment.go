package book

import "lotpaper/internal/num"

// Payment is money that a party paid or was paid, for invoices, claims, purchases
// or charges, or on account; without money it sets what is owed one way against
// what is owed the other, or writes a debt off. It has its own rate: what it
// brings or costs more than the items stood at is an exchange difference
// (IAS 21.28). It is written once.
type Payment struct {
	Number     string        `json:"number"` // PAY7
	Party      string        `json:"party"`
	On         Date          `json:"on"`
	Out        bool          `json:"out,omitempty"`       // the dealer paid
	WriteOff   bool          `json:"write_off,omitempty"` // a debt that is not expected any more (IFRS 9 5.4.4)
	Amount     num.Money     `json:"amount"`              // in its own currency, without the fee; 0: no money moved
	Rate       num.Rate      `json:"rate,omitzero"`       // zero: book currency
	Book       num.Money     `json:"book"`                // Amount in book currency, at its own rate
	Fee        num.Money     `json:"fee,omitzero"`        // of the bank, in Amount's currency
	FeeBook    num.Money     `json:"fee_book,omitzero"`   // book currency
	Parts      []PaymentPart `json:"parts"`
	Difference num.Money     `json:"difference"` // gained by the rates, book currency; negative: lost
	Note       string        `json:"note,omitempty"`
}

// ItemKind says what is owed.
type ItemKind string

// The kinds of what is owed.
const (
	OwedInvoice    ItemKind = "invoice"
	OwedClaim      ItemKind = "claim"
	OwedPurchase   ItemKind = "purchase"
	OwedCharge     ItemKind = "charge"
	OwedCommission ItemKind = "commission"
	OwedAdvance    ItemKind = "on account" // what was paid too much, or before there was an invoice
)

// PaymentPart is what a payment settles of one item.
type PaymentPart struct {
	For       string    `json:"for"` // S3, K2, P5, C7, J4, PAY6; the payment itself: it is kept on account
	Kind      ItemKind  `json:"kind"`
	Out       bool      `json:"out,omitempty"`       // it lowers what the dealer owes, or raises what is owed to him
	Recovered bool      `json:"recovered,omitempty"` // of what was written off
	Settled   num.Money `json:"settled"`             // in the item's currency
	Rate      num.Rate  `json:"rate,omitzero"`       // of the item
	Carrying  num.Money `json:"carrying"`            // what that stood at in the book
}

// RecordKind says that payments are written once.
func (Payment) RecordKind() Kind { return KindPayment }

// RecordKey is the payment's number.
func (p Payment) RecordKey() string { return p.Number }

// Refs are the party and what was paid for.
func (p Payment) Refs() []Ref {
	refs := named(ToParty(p.Party))
	for _, x := range p.Parts {
		if x.For != p.Number {
			refs = append(refs, named(ToPaper(x.For))...)
		}
	}
	return refs
}

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
