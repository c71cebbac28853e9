// Package bench establishes what a stone is: it keeps readings and laboratory
// reports, judges lots by them, and says what to test next. It also judges
// stones that are in no book. It moves no stone and changes no claim without a
// laboratory's report.
package bench

import "lotpaper/internal/desk"

// Room is the bench of one open book.
type Room struct {
	desk *desk.Desk
}

// New returns the bench of the book on d.
func New(d *desk.Desk) *Room { return &Room{d} }

// NoBook returns the bench without a book: it judges stones by their readings
// alone, with the default settings.
func NoBook() *Room { return &Room{} }
