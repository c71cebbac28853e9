// Package stockroom moves stones and counts them: parcels in, lots sorted,
// split, merged and recut, memo, setter, cutter and sale out and back, charges,
// counts, valuations and reversals.
package stockroom

import (
	"lotpaper/internal/bench"
	"lotpaper/internal/desk"
	"lotpaper/internal/fitting"
)

// Room is the stockroom of one open book.
type Room struct {
	desk    *desk.Desk
	bench   *bench.Room
	fitting *fitting.Room
}

// New returns the stockroom of the book on d.
func New(d *desk.Desk, b *bench.Room, f *fitting.Room) *Room { return &Room{d, b, f} }
