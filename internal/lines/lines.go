// Package lines is the room where a line of designs is planned from the stock:
// it finds the stones, prices the pieces, weighs the risk, proposes the line,
// drafts the order for what is missing, and says the most that a parcel may
// cost.
//
// Every question about a planned line goes the same way. The request says what
// is asked. The basis is what was read from the book for it, in one view, at
// one head. The plan is solved outside any transaction, and what is priced,
// weighed and proposed follows from the basis and the plan alone. Nothing here
// moves a stone.
package lines

import "lotpaper/internal/desk"

// Room is the lines of one open book.
type Room struct {
	desk *desk.Desk
}

// New returns the lines of the book on d.
func New(d *desk.Desk) *Room { return &Room{d} }
