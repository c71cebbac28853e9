// Package fitting decides which stone may go into which setting, for which
// wear, bench work and display. It judges lots of the book and stones that are
// only named. It plans no line and moves no stone.
package fitting

import (
	"lotpaper/internal/bench"
	"lotpaper/internal/desk"
)

// Room is the fitting of one open book.
type Room struct {
	desk  *desk.Desk
	bench *bench.Room
}

// New returns the fitting of the book on d.
func New(d *desk.Desk, b *bench.Room) *Room { return &Room{d, b} }

// NoBook returns the fitting without a book: it knows stones by name only.
func NoBook() *Room { return &Room{} }
