package answer

import "lotpaper/internal/book"

// Sold is what a sale, or its return, did.
type Sold struct {
	Moved
	Sale     book.Sale `json:"sale"`
	Opinions []Opinion `json:"opinions"` // of lots that are sold by the dealer's judgement
}

// Screen is the sale in one line, and the postings.
func (s *Sold) Screen() Screen {
	sale := s.Sale
	out := s.after(sale.Number + ": " + sale.Customer + " for " + sale.Price.Words() + ", cost " + sale.Cost.Words())
	for _, o := range s.Opinions {
		out.remark("%s is sold as %s; tests: %s", o.Lot, o.Called, o.tests())
	}
	return out
}
