package allocate

import (
	"context"
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

func newClock(ctx context.Context, s Settings, size int) *clock {
	c := &clock{ctx: ctx, started: time.Now(), limit: int64(s.Work) * 1e6}
	if s.Work == 0 {
		c.limit = int64(DefaultWork(size)) * 1e6
	}
	if s.WallLimit > 0 {
		c.deadline = c.started.Add(s.WallLimit)
	}
	return c
}

func (c *clock) spend(steps int) { c.work += int64(steps) }

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

// DefaultWork is the work (see Settings) for a problem with so many items: a
// second or two for 2,000, six for 6,000, whose linear programs take longer,
// two for 20,000, which have none, on the machine it was measured on. Small
// problems are mostly proven long before.
func DefaultWork(items int) int {
	switch {
	case items <= 2000:
		return 500
	case items <= treeItems:
		return 500 + (items-2000)/2
	case items <= 20_000:
		return 450
	}
	return 450 + (items-20_000)/100
}
