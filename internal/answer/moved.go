package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
)

// Charged is what a charge did.
type Charged struct {
	Moved
	Charge book.Charge `json:"charge"`
}

// Moved is what a use case that moves stones did.
type Moved struct {
	Entry    string           `json:"entry"`
	Lots     []string         `json:"lots"` // new or changed lots
	Postings []ledger.Posting `json:"postings"`
	Warnings fault.List       `json:"warnings,omitempty"`
}

// MemoDone is what a memo did.
type MemoDone struct {
	Moved
	Memo book.Memo `json:"memo"`
}

// Ordered is what a movement of an order did.
type Ordered struct {
	Moved
	Order book.Order `json:"order"`
}

// OrderReturned is what a returned sheet did.
type OrderReturned struct {
	Order    book.Order `json:"order"`
	Received []Ordered  `json:"received"` // one a lot that was sent
	Warnings fault.List `json:"warnings"`
}

// Sold is what a sale did.
type Sold struct {
	Moved
	Sale book.Sale `json:"sale"`
}
