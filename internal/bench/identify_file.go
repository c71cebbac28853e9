package bench

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/intake"
	"lotpaper/internal/sheet"
)

// IdentifyFile asks what the stones of a file are that are in no book.
type IdentifyFile struct {
	File     desk.Input
	Next     bool // with the tests that come next
	Excluded int  // exclusions of each stone at most, nearest first
	Brief    bool // of a file with several stones: nothing but the verdict and the shares
}

// CaseFile is a file of stones without a fault.
type CaseFile struct {
	Cases    int
	Warnings fault.List
	file     *sheet.File
	detail   detail
}

// IdentifyFile checks every row of a file of stones: all its faults come at
// once, before any stone is judged. Each of what it returns judges them.
func (room *Room) IdentifyFile(_ context.Context, r IdentifyFile) (*CaseFile, error) {
	file, faults := r.File.Open()
	if faults.Blocks() {
		return nil, faults
	}
	out := &CaseFile{file: file}
	var slips fault.List
	faults = intake.EachCase(file, func(c intake.Case) {
		out.Cases++
		_, l := observations(book.Lot{Code: c.Name, Color: c.Color}, c.Readings)
		for _, f := range l {
			slips.Add(f.At(fault.Where{File: r.File.Name, Row: c.Row}))
		}
		for _, f := range caseSigns(c) {
			slips.Add(f.At(fault.Where{File: r.File.Name, Row: c.Row, Header: f.Where.Header}))
		}
	})
	if faults.Blocks() {
		return nil, faults
	}
	if slips.Blocks() {
		return nil, slips
	}
	out.Warnings = faults
	out.detail = detail{next: r.Next, excluded: r.Excluded, brief: r.Brief && out.Cases > 1}
	return out, nil
}

// batch is how many stones of a file are judged at a time.
const batch = 256

// Each judges the stones of a file, by the default settings, and hands them to
// take in the order of the file, a batch at a time: a file of any size needs no
// more memory than a small one. A batch is judged on all cores; take may keep
// nothing of it. The first error ends the work.
func (f *CaseFile) Each(ctx context.Context, take func([]answer.Case) error) error {
	b, err := withoutBook()
	if err != nil {
		return err
	}
	waiting, judged := make([]intake.Case, 0, batch), make([]answer.Case, batch)
	flush := func() {
		if err = ctx.Err(); err != nil {
			return
		}
		var next atomic.Int64
		var wait sync.WaitGroup
		for range min(runtime.GOMAXPROCS(0), len(waiting)) {
			wait.Go(func() {
				for i := int(next.Add(1)) - 1; i < len(waiting); i = int(next.Add(1)) - 1 {
					v, _ := b.verdict(waiting[i]) // IdentifyFile saw its faults
					judged[i] = b.answer(waiting[i].Name, v, f.detail)
				}
			})
		}
		wait.Wait()
		err = take(judged[:len(waiting)])
		waiting = waiting[:0]
	}
	faults := intake.EachCase(f.file, func(c intake.Case) {
		if err != nil {
			return
		}
		if waiting = append(waiting, c); len(waiting) == batch {
			flush()
		}
	})
	switch {
	case err != nil:
		return err
	case faults.Blocks(): // the file changed under our hands
		return faults
	case len(waiting) > 0:
		flush()
	}
	return err
}
