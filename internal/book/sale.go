package book

import (
	"fmt"

	"lotpaper/internal/num"
)

// Sale is stones or pieces sold to a customer, on one invoice. It is written
// once: what came back stands in its credits, what was paid in payments. A sale
// of a book of schema 4 and older has no lines: its lots share one price.
type Sale struct {
	Number   string        `json:"number"` // S12
	Customer string        `json:"customer"`
	On       Date          `json:"on"`
	From     Place         `json:"from"` // safe, paper/M3, piece/ID
	Lots     []SuppliedLot `json:"lots"`
	Price    num.Money     `json:"price"` // net of tax, book currency
	Cost     num.Money     `json:"cost"`  // that left the book with the stones
	// Foreign is the net price in the invoice's currency, when that is another.
	Foreign    *ForeignPrice `json:"foreign,omitempty"`
	Lines      []SaleLine    `json:"lines,omitempty"`
	Invoice    string        `json:"invoice,omitempty"` // the document's number
	Due        Date          `json:"due,omitempty"`
	Terms      string        `json:"terms,omitempty"`
	Tax        *SaleTax      `json:"tax,omitempty"`
	Commission *Commission   `json:"commission,omitempty"`
	Memo       string        `json:"memo,omitempty"`     // the memo it was sold from
	Returned   bool          `json:"returned,omitempty"` // of a sale without lines: the customer brought it back
	Damaged    bool          `json:"damaged,omitempty"`  // and it was damaged
	Reversed   bool          `json:"reversed,omitempty"` // of a sale without lines: its entry was taken back
	Note       string        `json:"note,omitempty"`
}

// LineBasis says what the price of a sale's line is for.
type LineBasis string

// The bases of a line's price.
const (
	LinePerCarat LineBasis = "per_carat"
	LinePerPiece LineBasis = "per_piece"
	LineTotal    LineBasis = "total"
	LineTogether LineBasis = "together" // its share, by cost, of one price for several lines
)

// SaleLine is a part of one lot, or a finished piece, at its price. Its amounts
// are in the currency of the invoice, unless they say otherwise.
type SaleLine struct {
	Lot     string        `json:"lot"`
	Pieces  int64         `json:"pieces"`
	Carats  num.Carat     `json:"carats"`
	Basis   LineBasis     `json:"basis"`
	Price   num.UnitPrice `json:"price"`           // as agreed, for its basis
	Gross   num.Money     `json:"gross"`           // what the customer owes for it, with tax
	Tax     num.Money     `json:"tax"`             // of Gross; none is shown under the margin scheme
	Sold    num.Money     `json:"sold"`            // revenue: without tax, book currency
	TaxBook num.Money     `json:"tax_book"`        // tax owed, book currency
	Cost    num.Money     `json:"cost"`            // that left with it, book currency
	Parts   []SoldPart    `json:"parts,omitempty"` // of a finished piece: itself and its stones
}

// SoldPart is what left with a line of one lot.
type SoldPart struct {
	Sent
	Cost num.Money `json:"cost"` // book currency
}

// Left are the parts of a line: what it says of its lot when it has no others.
func (l SaleLine) Left(from Place) []SoldPart {
	if len(l.Parts) > 0 {
		return l.Parts
	}
	return []SoldPart{{Sent{Lot: l.Lot, Pieces: l.Pieces, Carats: l.Carats, From: from}, l.Cost}}
}

// SaleTax is how a sale is taxed.
type SaleTax struct {
	Rate   num.Percent `json:"rate"`
	In     bool        `json:"in,omitempty"`     // the agreed prices include it
	Margin bool        `json:"margin,omitempty"` // margin scheme: on what was earned, and not shown
	// Purchase is what was paid for the goods, of the margin scheme, book currency.
	Purchase num.Money `json:"purchase,omitzero"`
}

// Commission is what a broker gets for a sale.
type Commission struct {
	Broker string    `json:"broker"`
	Amount num.Money `json:"amount"` // in the invoice's currency
	Book   num.Money `json:"book"`   // book currency
}

// Currency is the currency of the invoice.
func (s Sale) Currency() num.Currency {
	if s.Foreign != nil {
		return s.Foreign.Amount.Currency()
	}
	return s.Price.Currency()
}

// Total is what the customer owes, in the invoice's currency.
func (s Sale) Total() num.Money {
	if len(s.Lines) == 0 && s.Foreign != nil {
		return s.Foreign.Amount
	}
	if len(s.Lines) == 0 {
		return s.Price
	}
	sum := num.Zero(s.Currency())
	for _, l := range s.Lines {
		sum = sum.Add(l.Gross)
	}
	return sum
}

// TaxBook is the tax owed for the sale, book currency.
func (s Sale) TaxBook() num.Money {
	sum := num.Zero(s.Price.Currency())
	for _, l := range s.Lines {
		sum = sum.Add(l.TaxBook)
	}
	return sum
}

// Receivable is what the customer owes, in book currency at the invoice's rate.
func (s Sale) Receivable() num.Money { return s.Price.Add(s.TaxBook()) }

// RecordKind says that sales are kept as versions.
func (Sale) RecordKind() Kind { return KindSale }

// RecordKey is the sale's number.
func (s Sale) RecordKey() string { return s.Number }

// Refs are the customer and the broker, the memo or piece that it was sold from,
// the invoice, and the lots.
func (s Sale) Refs() []Ref {
	refs := named(ToParty(s.Customer), ToPaper(s.Memo), ToPaper(s.Invoice))
	if s.Commission != nil {
		refs = append(refs, ToParty(s.Commission.Broker))
	}
	if s.From.Kind() == AtPiece {
		refs = append(refs, ToPiece(s.From.Name()))
	}
	return withLots(refs, s.Lots)
}

// Credit is a credit note on a sale: what came back of it, or what was allowed
// off its price. It takes the rate of its invoice and is written once.
type Credit struct {
	Sale     string       `json:"sale"` // S3
	Number   int64        `json:"number"`
	Customer string       `json:"customer"`
	On       Date         `json:"on"`
	Document string       `json:"document"` // CREDIT-2026-0001
	Lines    []CreditLine `json:"lines"`
	Damaged  bool         `json:"damaged,omitempty"`
	Gross    num.Money    `json:"gross"`    // given back, with tax, in the invoice's currency
	Tax      num.Money    `json:"tax"`      // of Gross
	Sold     num.Money    `json:"sold"`     // revenue given back, book currency
	TaxBook  num.Money    `json:"tax_book"` // book currency
	Cost     num.Money    `json:"cost"`     // that came back, book currency
	Reason   string       `json:"reason,omitempty"`
	Accept   string       `json:"accept,omitempty"` // why differences were accepted
}

// CreditLine is what came back of one line of a sale.
type CreditLine struct {
	Line    int        `json:"line"` // of the sale, from 1
	Lot     string     `json:"lot"`
	Weighed            // as it was counted and weighed
	Off     Weighed    `json:"off"`            // what it takes off the line
	Into    string     `json:"into,omitempty"` // the lot that it is now, when it is another
	Gross   num.Money  `json:"gross"`          // as of a sale's line; without pieces it only lowers the price
	Tax     num.Money  `json:"tax"`
	Sold    num.Money  `json:"sold"`
	TaxBook num.Money  `json:"tax_book"`
	Cost    num.Money  `json:"cost"`
	Parts   []SoldPart `json:"parts,omitempty"`
}

// Take adds a line to the credit.
func (c *Credit) Take(l CreditLine) {
	c.Lines = append(c.Lines, l)
	c.Gross, c.Tax = c.Gross.Add(l.Gross), c.Tax.Add(l.Tax)
	c.Sold, c.TaxBook, c.Cost = c.Sold.Add(l.Sold), c.TaxBook.Add(l.TaxBook), c.Cost.Add(l.Cost)
}

// CreditKey is the key of a sale's credit: S3/1.
func CreditKey(sale string, n int64) string { return fmt.Sprintf("%s/%d", sale, n) }

// RecordKind says that credits are written once.
func (Credit) RecordKind() Kind { return KindCredit }

// RecordKey is the sale's number and the credit's.
func (c Credit) RecordKey() string { return CreditKey(c.Sale, c.Number) }

// Refs are the sale, the credit note, the customer, and the lots.
func (c Credit) Refs() []Ref {
	refs := named(ToPaper(c.Sale), ToPaper(c.Document), ToParty(c.Customer))
	for _, l := range c.Lines {
		refs = append(refs, named(ToLot(l.Lot), ToLot(l.Into))...)
	}
	return refs
}
