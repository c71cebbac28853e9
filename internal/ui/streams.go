// Package ui is how the program speaks to a person and to other programs: the
// answer on stdout, all else on stderr, tables, JSON documents, what is
// running, and files that are written whole or not at all.
package ui

import (
	"fmt"
	"io"
	"os"

	"golang.org/x/term"
)

// Streams are the program's inputs and outputs.
type Streams struct {
	In     io.Reader
	Out    io.Writer
	Err    io.Writer
	OutTTY bool // stdout is a terminal: align and colour
	ErrTTY bool // stderr is a terminal: what runs may be shown
	Color  bool
	JSON   bool
	Quiet  bool
}

// System returns the process's own streams.
func System() *Streams {
	out := term.IsTerminal(int(os.Stdout.Fd()))
	return &Streams{
		In: os.Stdin, Out: os.Stdout, Err: os.Stderr,
		OutTTY: out,
		ErrTTY: term.IsTerminal(int(os.Stderr.Fd())),
		Color:  out && os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb",
	}
}

// Printf writes a part of the answer.
func (s *Streams) Printf(format string, args ...any) { fmt.Fprintf(s.Out, format, args...) }

// Notef writes a remark beside the answer, unless quiet.
func (s *Streams) Notef(format string, args ...any) {
	if !s.Quiet {
		fmt.Fprintf(s.Err, format, args...)
	}
}

// Document writes v as one JSON document of the named schema, version 1:
// {"schema":"lotpaper/NAME/1", ...}. v must marshal to an object. Every name of
// it stands in the document, without a value as null.
func (s *Streams) Document(name string, v any) error {
	raw, err := wholeIndented(v, "")
	if err != nil {
		return fmt.Errorf("write %s: %w", name, err)
	}
	head, rest := fmt.Sprintf("{\n  \"schema\": \"lotpaper/%s/1\"", name), raw[1:]
	if len(rest) > 1 {
		head += ","
	} else {
		head += "\n"
	}
	_, err = s.Out.Write(append(append([]byte(head), rest...), '\n'))
	return err
}
