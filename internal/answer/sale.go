package answer

import "lotpaper/internal/book"

// Sold is what a sale, or its return, did.
type Sold struct {
	Moved
	Sale book.Sale `json:"sale"`
}
