package answer

import "lotpaper/internal/book"

// Charged is what a charge did.
type Charged struct {
	Moved
	Charge book.Charge `json:"charge"`
}
