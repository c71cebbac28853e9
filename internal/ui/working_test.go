package ui

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"
)

// The line stands on stderr while the work is silent, says what tell told, and
// is blank before the answer comes.
func TestWorking(t *testing.T) {
	var terminal bytes.Buffer
	s := &Streams{Out: &terminal, Err: &terminal, OutTTY: true, ErrTTY: true}
	seconds := make(chan time.Time)
	w := s.working("line plan", seconds)
	tick := func() { seconds <- time.Time{} }
	tick()
	tick() // taken only after the first was shown
	w.tell("gap 2.5 %")
	tick()
	tick()
	fmt.Fprint(s.Out, "the answer\n")
	got := terminal.String()
	for _, want := range []string{"\rline plan, 1 s", ", 3 s: gap 2.5 %"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not in %q", want, got)
		}
	}
	blank, answer, _ := strings.Cut(got[strings.LastIndex(got[:len(got)-len("\rthe answer\n")], "\r")+1:], "\r")
	if strings.TrimSpace(blank) != "" || len(blank) < len("line plan, 3 s: gap 2.5 %") || answer != "the answer\n" {
		t.Errorf("before the answer stands %q, and then %q", blank, answer)
	}
	w.end() // again: nothing
	if terminal.String() != got {
		t.Error("the line came back")
	}
}

// A long line is cut, so that it can be taken back.
func TestWorking_LongLine(t *testing.T) {
	var terminal bytes.Buffer
	s := &Streams{Err: &terminal, ErrTTY: true}
	seconds := make(chan time.Time)
	w := s.working("work", seconds)
	w.tell(strings.Repeat("é", 200))
	seconds <- time.Time{}
	seconds <- time.Time{}
	w.end()
	for _, line := range strings.Split(terminal.String(), "\r") {
		if n := len([]rune(line)); n > 79 {
			t.Errorf("%d columns", n)
		}
	}
}

// Nothing is shown where nobody looks, and stdout that goes elsewhere ends no
// line.
func TestWorking_Silent(t *testing.T) {
	for _, s := range []*Streams{{}, {ErrTTY: true, JSON: true}, {ErrTTY: true, Quiet: true}} {
		var b bytes.Buffer
		s.Err = &b
		tell, end := s.Working("x")
		tell("y")
		end()
		if s.Err != &b || b.Len() > 0 {
			t.Errorf("%+v: a line", s)
		}
	}
	var out, terminal bytes.Buffer
	s := &Streams{Out: &out, Err: &terminal, ErrTTY: true}
	seconds := make(chan time.Time)
	w := s.working("work", seconds)
	fmt.Fprint(s.Out, "rows")
	seconds <- time.Time{}
	seconds <- time.Time{}
	w.end()
	if !strings.Contains(terminal.String(), "work, 1 s") || out.String() != "rows" {
		t.Errorf("%q, %q", terminal.String(), out.String())
	}
}
