package answer

import "lotpaper/internal/book"

// Sold is what a sale, or its return, did.
type Sold struct {
	Moved
	Sale book.Sale `json:"sale"`
}

// Screen is the sale in one line, and the postings.
func (s *Sold) Screen() Screen {
	sale := s.Sale
	return s.after(sale.Number + ": " + sale.Customer + " for " + sale.Price.Words() + ", cost " + sale.Cost.Words())
}
