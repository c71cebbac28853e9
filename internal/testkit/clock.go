package testkit

import (
	"sync"
	"time"
)

// Clock is a clock that stands still until it is moved.
type Clock struct {
	mu sync.Mutex
	at time.Time
}

// NewClock stands at 2026-01-05 09:00 UTC, a Monday.
func NewClock() *Clock { return &Clock{at: time.Date(2026, 1, 5, 9, 0, 0, 0, time.UTC)} }

// Now is where the clock stands.
func (c *Clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.at
}

// Advance moves the clock.
func (c *Clock) Advance(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.at = c.at.Add(d)
}
