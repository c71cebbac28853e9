package ui

import (
	"fmt"
	"io"
	"strings"
	"sync"
	"time"
)

// Working shows on a terminal, from the first second on, what runs, for how
// long, and what tell last said of it. It shows nothing in JSON or quiet mode,
// and is gone at the first word on the terminal or when end is called. It never
// guesses how much is left.
func (s *Streams) Working(what string) (tell func(doing string), end func()) {
	if !s.ErrTTY || s.JSON || s.Quiet {
		return func(string) {}, func() {}
	}
	seconds := time.NewTicker(time.Second)
	w := s.working(what, seconds.C)
	return w.tell, func() { seconds.Stop(); w.end() }
}

// working is a line on stderr that is written again each second.
type working struct {
	what   string
	to     io.Writer
	over   chan struct{}
	mu     sync.Mutex // of all below
	ended  bool
	doing  string
	ran    int // seconds
	length int // of the line as it stands
}

// working starts the line; seconds ticks once a second.
func (s *Streams) working(what string, seconds <-chan time.Time) *working {
	w := &working{what: what, to: s.Err, over: make(chan struct{})}
	s.Err = ending{w, s.Err}
	if s.OutTTY {
		s.Out = ending{w, s.Out}
	}
	go func() {
		for {
			select {
			case <-seconds:
				w.show()
			case <-w.over:
				return
			}
		}
	}()
	return w
}

func (w *working) tell(doing string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.doing = doing
}

func (w *working) show() {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.ended {
		return
	}
	w.ran++
	line := fmt.Sprintf("%s, %d s", w.what, w.ran)
	if w.doing != "" {
		line += ": " + w.doing
	}
	const width = 79 // a line that wraps cannot be taken back
	if runes := []rune(line); len(runes) > width {
		line = string(runes[:width])
	}
	length := len([]rune(line))
	fmt.Fprint(w.to, "\r"+line+strings.Repeat(" ", max(0, w.length-length)))
	w.length = length
}

func (w *working) end() {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.ended {
		return
	}
	w.ended = true
	close(w.over)
	if w.length > 0 {
		fmt.Fprint(w.to, "\r"+strings.Repeat(" ", w.length)+"\r")
	}
}

// ending is a stream on the terminal whose first word ends the line.
type ending struct {
	line *working
	io.Writer
}

// Write ends the line, then writes.
func (e ending) Write(p []byte) (int, error) {
	e.line.end()
	return e.Writer.Write(p)
}
