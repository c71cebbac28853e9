package answer

import "lotpaper/internal/book"

// Charged is what a charge did.
type Charged struct {
	Moved
	Charge book.Charge `json:"charge"`
}

// Remark says what of the charge fell on stones that were gone; empty when
// nothing did.
func (c *Charged) Remark() string {
	if c.Charge.Variance.IsZero() {
		return ""
	}
	return c.Charge.Variance.Words() + " of it belongs to what was sold or lost: charge/variance"
}
