package desk

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"time"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// Desk is one open book.
type Desk struct {
	store store.Store
	now   func() time.Time
}

// New returns the desk of the book in s. now is the clock of what is only read, such
// as a plan for today; what is written has the store's one clock.
func New(s store.Store, now func() time.Time) *Desk { return &Desk{store: s, now: now} }

// Today is on, or today in the book's zone when on is empty.
func (desk *Desk) Today(tx store.ReadTx, on book.Date) book.Date {
	if on != "" {
		return on
	}
	return today(tx.Meta().Zone, desk.now())
}

// Write is the part of every request that writes.
type Write struct {
	On     book.Date // business date; empty: today in the book's zone
	Who    string
	Reason string
	DryRun bool
}

// Stamp is a Write with its blanks filled in.
type Stamp struct {
	On     book.Date
	Who    string
	Reason string
	press  *press
}

// Entry starts an entry of kind k with the stamp's head; reason is used when
// the user gave none.
func (s Stamp) Entry(k ledger.Kind, reason string) ledger.Entry {
	if s.Reason != "" {
		reason = s.Reason
	}
	return ledger.Entry{Kind: k, PostedOn: s.On, Reason: reason, Who: s.Who}
}

// Update runs f in one write transaction, rolled back at its end for a dry
// run. A business date after today is refused, and what f posts into a closed
// month. Papers that f issues are rendered while the book is free, and f runs again:
// it may run several times. Conditions of the store become faults that say what to
// do.
func (desk *Desk) Update(ctx context.Context, w Write, f func(tx store.Tx, s Stamp) error) error {
	p := &press{}
	for tries := 1; ; tries++ {
		err := desk.store.Update(ctx, func(tx store.Tx) error {
			s := Stamp{w.On, w.Who, w.Reason, p}
			now := today(tx.Meta().Zone, tx.Now())
			if s.On == "" {
				s.On = now
			}
			if err := checkFuture(ctx, tx, s.On, now); err != nil {
				return err
			}
			if err := f(guardedTx{tx}, s); err != nil {
				return err
			}
			if w.DryRun || p.waits() {
				return store.ErrRollback
			}
			return nil
		})
		if err != nil || !p.waits() {
			return mendable(err, thisBook)
		}
		if tries > mostPrints {
			return mendable(store.ErrConflict, thisBook)
		}
		if err := p.print(ctx); err != nil {
			return err
		}
	}
}

// View runs f in one consistent read.
func (desk *Desk) View(ctx context.Context, f func(tx store.ReadTx) error) error {
	return mendable(desk.store.View(ctx, f), thisBook)
}

// today is the business date of an instant in a zone.
func today(zone string, now time.Time) book.Date {
	loc, err := time.LoadLocation(zone)
	if err != nil {
		loc = time.UTC
	}
	return book.DateOf(now.In(loc))
}

// thisBook names the open book where its file is not known.
const thisBook = "this book"

// Unopened turns what opening or making the book at path failed with into a
// fault that says what to do.
func Unopened(err error, path string) error {
	switch {
	case errors.Is(err, store.ErrNotFound):
		return fault.New(fault.NotFound, "book-missing", "there is no book at "+path,
			"open a new one, or name the right file").AtField("book").Do("init", "")
	case errors.Is(err, store.ErrNoBook):
		return fault.New(fault.Refused, "book-not", path+" is no book of lotpaper", "name the right file").
			AtField("book")
	case errors.Is(err, store.ErrExists):
		return fault.New(fault.Refused, "book-exists", "the file "+path+" exists already",
			"use it, move it away, or name another").AtField("book")
	case errors.Is(err, store.ErrNoFolder):
		return fault.New(fault.NotFound, "book-folder", "the folder "+filepath.Dir(path)+" does not exist",
			"make it first, or choose another").AtField("book")
	}
	return mendable(err, path)
}

// mendable turns the store's conditions into faults. They are worded here and
// in Unopened only.
func mendable(err error, path string) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, store.ErrLocked):
		return fault.New(fault.Locked, "book-locked", "another process is writing to "+path,
			"wait for it to end, then try again")
	case errors.Is(err, store.ErrConflict):
		what := "the book changed while this was worked out"
		if changed := new(changedError); errors.As(err, &changed) {
			what = changed.Error()
		}
		return fault.New(fault.Conflict, "book-changed", what, "try again")
	case errors.Is(err, store.ErrNewer):
		return fault.New(fault.Refused, "book-newer", path+" was written by a newer version of lotpaper",
			"install that version, or restore an older backup")
	}
	return err
}

// lists name the action that lists the records of a noun, where it is not
// NOUN list.
var lists = map[string]fault.Action{
	"design": {Noun: "line", Verb: "show"},
	"entry":  {Noun: "ledger", Verb: "show"},
	"line":   {Noun: "line", Verb: "show"},
	"report": {Noun: "lot", Verb: "show"},
}

// notFound turns ErrNotFound for the code of a noun into a fault.
func notFound(err error, noun, code string) error {
	if !errors.Is(err, store.ErrNotFound) {
		return err
	}
	list, ok := lists[noun]
	if !ok {
		list = fault.Action{Noun: noun, Verb: "list"}
	}
	return fault.New(fault.NotFound, noun+"-unknown", fmt.Sprintf("there is no %s %q in this book", noun, code),
		"list them").
		AtRef(code).Do(list.Noun, list.Verb)
}

// OfRow turns a row's naming what the book does not have into a fault of the
// row; another error stays as it is.
func OfRow(err error, row fault.Where) (*fault.Fault, error) {
	if l, ok := fault.From(err); ok && fault.KindOf(err) == fault.NotFound {
		f := l[0].At(row)
		f.Kind = fault.Invalid
		return f, nil
	}
	return nil, err
}

// Named reads the record of a kind that code names; that there is none is a
// fault.
func Named[T book.Record](ctx context.Context, tx store.ReadTx, code string) (T, error) {
	v, err := store.Get[T](ctx, tx, code)
	return v, notFound(err, string(v.RecordKind()), code)
}

// VoidBy is the entry that took back the one which first wrote a record; empty: it
// stands.
func VoidBy(ctx context.Context, tx store.ReadTx, kind book.Kind, key string) (string, error) {
	row, err := tx.Row(ctx, kind, key)
	if err != nil {
		return "", err
	}
	void, err := tx.Reversals(ctx)
	return void[row.Since], err
}

// EntryNamed reads an entry; that there is none is a fault.
func EntryNamed(ctx context.Context, tx store.ReadTx, code string) (ledger.Entry, error) {
	e, err := tx.Entry(ctx, code)
	return e, notFound(err, "entry", code)
}

// ParcelNamed reads a parcel by its code or by the label it was bought under;
// that there is none is a fault.
func ParcelNamed(ctx context.Context, tx store.ReadTx, code string) (book.Parcel, error) {
	p, err := store.Get[book.Parcel](ctx, tx, code)
	if !errors.Is(err, store.ErrNotFound) {
		return p, err
	}
	all, err := store.All[book.Parcel](ctx, tx, "")
	if err != nil {
		return p, err
	}
	for _, p := range all {
		if p.Label == code && code != "" {
			return p, nil
		}
	}
	return p, notFound(store.ErrNotFound, "parcel", code)
}
