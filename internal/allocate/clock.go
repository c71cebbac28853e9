package allocate

import (
	"context"
	"math"
	"time"
)

// clock counts work and says when to stop, and why.
type clock struct {
	ctx      context.Context
	started  time.Time
	deadline time.Time // zero: none
	work     int64
	limit    int64
	status   Status
	stopped  bool
}

func newClock(ctx context.Context, s Settings, m *model) *clock {
	c := &clock{ctx: ctx, started: time.Now(), limit: int64(s.Work) * 1e6}
	if s.Work == 0 {
		c.limit = defaultWork(m)
	}
	if s.WallLimit > 0 {
		c.deadline = c.started.Add(s.WallLimit)
	}
	return c
}

// unlimited is a clock for work that must be done whatever the limits.
func unlimited() *clock { return &clock{ctx: context.Background(), limit: math.MaxInt64} }

func (c *clock) spend(steps int) { c.work += int64(steps) }

// within lets f spend at most half of the work that is left.
func (c *clock) within(f func()) {
	limit := c.limit
	c.limit = c.work + (limit-c.work)/2
	f()
	if c.limit = limit; c.stopped && c.status == WorkLimit && c.work < limit {
		c.stopped = false
	}
}

// stop reports whether the search must end now.
func (c *clock) stop() bool {
	if c.stopped {
		return true
	}
	switch {
	case c.ctx.Err() != nil:
		c.stopped, c.status = true, Cancelled
	case !c.deadline.IsZero() && time.Now().After(c.deadline):
		c.stopped, c.status = true, WallLimit
	case c.work >= c.limit:
		c.stopped, c.status = true, WorkLimit
	}
	return c.stopped
}

// defaultWork is the work (see Settings) for a model. First it grows with the
// linear programs, beyond them with what the price search must look at.
func defaultWork(m *model) int64 {
	size, work := m.size(), 400
	switch {
	case size <= 600:
	case size <= 2500:
		work += (size - 600) * 8 / 19
	case size <= treeSize:
		work = 1200 + (size-2500)*2/5
	default:
		work = 600 + len(m.cap)/100
	}
	return int64(work)*1e6 + 500*int64(len(m.entItem)+len(m.edgeA))
}
