package answer

import "lotpaper/internal/book"

// Charged is what a charge did.
type Charged struct {
	Moved
	Charge book.Charge `json:"charge"`
}

// Screen is the postings, and what of the charge fell on stones that were gone.
func (c *Charged) Screen() Screen {
	if c.Charge.Variance.IsZero() {
		return c.Moved.Screen()
	}
	return c.after(c.Charge.Variance.Words() + " of it belongs to what was sold or lost: charge/variance")
}
