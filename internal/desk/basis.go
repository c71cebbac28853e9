package desk

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/store"
)

// Basis is what a piece of work was read from: the head it was read at, and the
// things that it used. Work that is finished outside a transaction keeps one,
// and the write that follows calls Unchanged: what others wrote in between
// spoils the work only when it touches one of these things. What all entries
// together teach (the rates of loss, a cutter's yield) is no part of a basis:
// every return would spoil every plan.
type Basis struct {
	Head    store.Head
	lots    map[string]bool
	records map[string]bool // kind/key
	kinds   map[book.Kind]bool
}

// NewBasis returns a basis without things, read at head.
func NewBasis(head store.Head) *Basis {
	return &Basis{Head: head, lots: map[string]bool{}, records: map[string]bool{}, kinds: map[book.Kind]bool{}}
}

// ReadBasis returns a basis without things, read at the head of tx.
func ReadBasis(ctx context.Context, tx store.ReadTx) (*Basis, error) {
	head, err := tx.Head(ctx)
	return NewBasis(head), err
}

// Lots adds lots: their words, what they have, their readings, reports and
// holds.
func (b *Basis) Lots(codes ...string) {
	for _, code := range codes {
		b.lots[strings.ToLower(code)] = true
	}
}

// Records adds single records, such as a design.
func (b *Basis) Records(records ...book.Record) {
	for _, r := range records {
		b.records[recordName(r.RecordKind(), r.RecordKey())] = true
	}
}

// Kinds adds every record of a kind, such as the rates.
func (b *Basis) Kinds(kinds ...book.Kind) {
	for _, k := range kinds {
		b.kinds[k] = true
	}
}

func recordName(kind book.Kind, key string) string { return string(kind) + "/" + strings.ToLower(key) }

// Unchanged returns a store.ErrConflict that names the first thing of the basis
// that an entry has touched since it was read, and nil when there is none.
func (b *Basis) Unchanged(ctx context.Context, tx store.ReadTx) error {
	head, err := tx.Head(ctx)
	if err != nil || head == b.Head {
		return err
	}
	if head.Sequence <= b.Head.Sequence {
		return &changedError{what: "the book"} // another book lies in its place
	}
	const page = 200
	last := b.Head
	for last.Sequence < head.Sequence {
		bodies, err := tx.Bodies(ctx, last.Sequence, page)
		if err != nil {
			return err
		}
		for _, body := range bodies {
			if body.Previous != last.Hash {
				return &changedError{what: "the book"}
			}
			what, err := b.touchedBy(body)
			if err != nil {
				return err
			}
			if what != "" {
				return &changedError{what, body.Code}
			}
			last = store.Head{Sequence: body.Sequence, Hash: body.Hash}
		}
	}
	return nil
}

// touchedBy names the first thing of the basis that a sealed entry touches;
// empty when there is none.
func (b *Basis) touchedBy(sealed store.Body) (string, error) {
	var e struct {
		Postings []struct{ Lot string }
		Records  []struct {
			Kind book.Kind
			Key  string
			Doc  json.RawMessage
		}
	}
	if err := json.Unmarshal(sealed.Body, &e); err != nil {
		return "", fmt.Errorf("read entry %s: %w", sealed.Code, err)
	}
	for _, p := range e.Postings {
		if b.lots[strings.ToLower(p.Lot)] {
			return "lot " + p.Lot, nil
		}
	}
	for _, r := range e.Records {
		if b.kinds[r.Kind] || b.records[recordName(r.Kind, r.Key)] {
			return string(r.Kind) + " " + r.Key, nil
		}
		var lot string
		switch r.Kind {
		case book.KindLot:
			lot = r.Key
		case book.KindReading, book.KindVoid, book.KindReport, book.KindHold:
			record, err := store.Decode(r.Kind, r.Key, r.Doc)
			if err != nil {
				return "", err
			}
			refs := record.Refs()
			if i := slices.IndexFunc(refs, func(ref book.Ref) bool { return ref.Kind == book.RefLot }); i >= 0 {
				lot = refs[i].Name
			}
		}
		if b.lots[strings.ToLower(lot)] {
			return "lot " + lot, nil
		}
	}
	return "", nil
}

// changedError is a store.ErrConflict that names what has changed, and the
// entry that changed it.
type changedError struct{ what, entry string }

func (e *changedError) Error() string {
	if e.entry == "" {
		return e.what + " changed while this was worked out"
	}
	return fmt.Sprintf("%s changed in entry %s while this was worked out", e.what, e.entry)
}

func (e *changedError) Unwrap() error { return store.ErrConflict }
