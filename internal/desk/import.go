package desk

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"slices"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/progress"
	"lotpaper/internal/sheet"
	"lotpaper/internal/store"
)

// Input is a file that was handed in: its bytes and the name that faults show.
type Input struct {
	Reader   io.ReaderAt
	Size     int64
	Name     string
	Encoding string // of CSV; empty: UTF-8
}

// Open recognises the file.
func (in *Input) Open() (*sheet.File, fault.List) {
	return sheet.Open(in.Reader, in.Size, in.Name, sheet.Options{Encoding: in.Encoding})
}

// loadMost is the size of the largest file that Load takes into memory.
const loadMost = 4 << 20

// Load returns the file with its bytes in memory, for work that parses it while
// the book is open for writing: a slow disk or share then holds up no other
// work. A file of more than 4 MiB is read as it is parsed: to hold it costs a long
// import a seventh of its time. No file is nil.
func (in *Input) Load() (*Input, error) {
	if in == nil || in.Size > loadMost {
		return in, nil
	}
	raw := make([]byte, in.Size)
	if _, err := io.ReadFull(io.NewSectionReader(in.Reader, 0, in.Size), raw); err != nil {
		return nil, fmt.Errorf("read %s: %w", in.Name, err)
	}
	out := *in
	out.Reader = bytes.NewReader(raw)
	return &out, nil
}

// ImportRows reads a file outside the write, then writes its rows as the records
// of one entry. record makes the record of a row, or a fault that the book has
// against it.
func ImportRows[T any](ctx context.Context, a *Desk, w Write, in Input, what string,
	read func(tx store.ReadTx, f *sheet.File) ([]T, fault.List),
	record func(tx store.Tx, i int, row T) (book.Record, *fault.Fault, error)) (answer.Imported, error) {
	out := answer.Imported{What: what, Warnings: fault.List{}}
	f, faults := in.Open()
	if faults.Blocks() {
		return out, faults
	}
	var rows []T
	err := a.View(ctx, func(tx store.ReadTx) error {
		rows, faults = read(tx, f)
		return nil
	})
	if err != nil {
		return out, err
	}
	out.Warnings = append(out.Warnings, faults...)
	progress.Tell(ctx, "writing %d rows", len(rows))
	err = a.Update(ctx, w, func(tx store.Tx, s Stamp) error {
		e := s.Entry(ledger.Record, what+" from "+in.Name)
		l := slices.Clone(faults) // what the book says against the rows comes with what the file says
		if !l.Blocks() {
			l = nil
		}
		for i, row := range rows {
			r, f, err := record(tx, i, row)
			if err != nil {
				return err
			}
			if f != nil {
				l.Add(f)
				continue
			}
			e.Records = append(e.Records, r)
		}
		if l.Blocks() {
			return l
		}
		if err := tx.Post(ctx, &e); err != nil {
			return err
		}
		out.Entry, out.Rows = e.Code, len(rows)
		return nil
	})
	return out, err
}
