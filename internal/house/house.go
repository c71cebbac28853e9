// Package house opens every room on one book.
package house

import (
	"time"

	"lotpaper/internal/bench"
	"lotpaper/internal/desk"
	"lotpaper/internal/fitting"
	"lotpaper/internal/lines"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/store"
)

// House is the rooms of one open book.
type House struct {
	Desk      *desk.Desk
	Bench     *bench.Room
	Fitting   *fitting.Room
	Stockroom *stockroom.Room
	Lines     *lines.Room
}

// Open returns the rooms of the book in s. now is the clock of what is only
// read; what is written has the store's one clock.
func Open(s store.Store, now func() time.Time) *House {
	d := desk.New(s, now)
	b := bench.New(d)
	f := fitting.New(d, b)
	return &House{Desk: d, Bench: b, Fitting: f, Stockroom: stockroom.New(d, b, f), Lines: lines.New(d)}
}
