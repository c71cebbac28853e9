// Package lines plans a line of designs from the stock: it finds the stones,
// prices the pieces, weighs the risk, proposes the line, orders what is missing
// and says the most that a parcel may cost.
package lines

import "lotpaper/internal/desk"

// Room is the lines of one open book.
type Room struct {
	desk *desk.Desk
}

// New returns the lines of the book on d.
func New(d *desk.Desk) *Room { return &Room{d} }
