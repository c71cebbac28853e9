package answer

import "lotpaper/internal/book"

// LineProposed is what a proposal issued, with what it was made from.
type LineProposed struct {
	Price     LinePrice       `json:"price"`
	Proposal  Proposal        `json:"proposal"`
	Refused   []Refusal       `json:"refused"` // stones that the line asks for and its settings refuse
	Documents []book.Document `json:"documents"`
}
