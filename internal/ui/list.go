package ui

import (
	"bufio"
	"errors"
	"fmt"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
)

// Item is one item of a List, written already.
type Item []byte

// NewItem writes an item; several may be written at a time.
func NewItem(v any) (Item, error) {
	return wholeIndented(v, "    ")
}

// List writes the JSON document {"schema":"lotpaper/NAME/1", KEY: [...]}, byte
// for byte as Document would, while its items come: a long list is never held
// whole.
func (s *Streams) List(name, key string, each func(add func(Item) error) error) error {
	w := bufio.NewWriterSize(s.Out, 1<<16)
	fmt.Fprintf(w, "{\n  \"schema\": \"lotpaper/%s/1\",\n  %q: [", name, key)
	n := 0
	err := each(func(item Item) error {
		if n++; n > 1 {
			w.WriteByte(',')
		}
		w.WriteString("\n    ")
		_, err := w.Write(item)
		return err
	})
	if err != nil {
		return fmt.Errorf("write %s: %w", name, err)
	}
	if n > 0 {
		w.WriteString("\n  ")
	}
	w.WriteString("]\n}\n")
	return w.Flush()
}

// Rows prints a table while its rows come; only a terminal, which shows them
// aligned, waits for the last.
func (s *Streams) Rows(header []string, each func(add func(...string)) error) error {
	if s.OutTTY {
		t := &Table{Header: header}
		if err := each(t.Add); err != nil {
			return err
		}
		s.Table(t)
		return nil
	}
	w := bufio.NewWriterSize(s.Out, 1<<16)
	line := func(cells ...string) { w.WriteString(strings.Join(cells, "\t") + "\n") }
	line(header...)
	if err := each(line); err != nil {
		return err
	}
	return w.Flush()
}

// NewItems writes the items of a list on all cores.
func NewItems[T any](list []T) ([]Item, error) {
	out, errs := make([]Item, len(list)), make([]error, len(list))
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(list)) {
		wait.Go(func() {
			for i := int(next.Add(1)) - 1; i < len(list); i = int(next.Add(1)) - 1 {
				out[i], errs[i] = NewItem(&list[i])
			}
		})
	}
	wait.Wait()
	return out, errors.Join(errs...)
}
