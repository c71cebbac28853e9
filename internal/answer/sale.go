package answer

import "lotpaper/internal/book"

// Sold is what a sale, or its return, did.
type Sold struct {
	Moved
	Sale book.Sale `json:"sale"`
}

// Remark is the sale in one line.
func (s *Sold) Remark() string {
	return s.Sale.Number + ": " + s.Sale.Customer + " for " + s.Sale.Price.Words() + ", cost " + s.Sale.Cost.Words()
}
