package store

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"sync"

	"lotpaper/internal/book"
)

// Get returns the newest version of the record with key, or ErrNotFound.
func Get[T book.Record](ctx context.Context, tx ReadTx, key string) (T, error) {
	var v T
	row, err := tx.Row(ctx, v.RecordKind(), key)
	if err != nil {
		return v, err
	}
	err = decode(&v, row)
	return v, err
}

// All returns every record of T's kind whose key starts with prefix.
func All[T book.Record](ctx context.Context, tx ReadTx, prefix string) ([]T, error) {
	var out []T
	err := Each(ctx, tx, RowFilter{Prefix: prefix}, func(v T) error {
		out = append(out, v)
		return nil
	})
	return out, err
}

// page is how many records Each reads at a time, unless its filter says another
// number.
const page = 1000

// Each calls f for every record of T's kind that the filter selects, page by
// page; those of a prefix are found by key and read at once, unless the filter
// has a limit. With a Ref it is the newest version that must speak of it.
func Each[T book.Record](ctx context.Context, tx ReadTx, filter RowFilter, f func(T) error) error {
	return EachRow(ctx, tx, filter, func(_ Row, v T) error { return f(v) })
}

// EachRow is Each, with the row that holds the record.
func EachRow[T book.Record](ctx context.Context, tx ReadTx, filter RowFilter, f func(Row, T) error) error {
	if filter.Limit == 0 && filter.Prefix == "" {
		filter.Limit = page
	}
	var zero T
	for {
		rows, err := tx.Rows(ctx, zero.RecordKind(), filter)
		if err != nil {
			return err
		}
		values, err := decodeAll[T](rows)
		if err != nil {
			return err
		}
		for i, v := range values {
			if filter.Ref != (book.Ref{}) && !slices.ContainsFunc(v.Refs(), filter.Ref.Same) {
				continue
			}
			if err := f(rows[i], v); err != nil {
				return err
			}
		}
		if filter.Limit == 0 || len(rows) < filter.Limit {
			return nil
		}
		filter.After = rows[len(rows)-1].First
	}
}

// Of returns every record of T's kind that speaks of ref.
func Of[T book.Record](ctx context.Context, tx ReadTx, ref book.Ref) ([]T, error) {
	out := []T{}
	err := Each(ctx, tx, RowFilter{Ref: ref}, func(v T) error {
		out = append(out, v)
		return nil
	})
	return out, err
}

// Versions returns every version of one key, oldest first.
func Versions[T book.Record](ctx context.Context, tx ReadTx, key string) ([]T, error) {
	var zero T
	rows, err := tx.History(ctx, zero.RecordKind(), key)
	if err != nil {
		return nil, err
	}
	out := make([]T, len(rows))
	for i, row := range rows {
		if err := decode(&out[i], row); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// decodeAll decodes a page, a long one on all cores: of a large book, decoding
// is what takes the time.
func decodeAll[T book.Record](rows []Row) ([]T, error) {
	out := make([]T, len(rows))
	workers := min(runtime.GOMAXPROCS(0), 1+len(rows)/256)
	errs := make([]error, workers)
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			for i := w * len(rows) / workers; i < (w+1)*len(rows)/workers && errs[w] == nil; i++ {
				errs[w] = decode(&out[i], rows[i])
			}
		})
	}
	wg.Wait()
	return out, errors.Join(errs...)
}

func decode[T book.Record](v *T, row Row) error {
	if l, isLot := any(v).(*book.Lot); isLot && l.ReadStored(row.Doc) {
		return nil
	}
	*v = *new(T)
	if err := json.Unmarshal(row.Doc, v); err != nil {
		return fmt.Errorf("read %s %s: %w", (*v).RecordKind(), row.Key, err)
	}
	return nil
}

// Decode reads a stored record of any kind.
func Decode(kind book.Kind, key string, doc []byte) (book.Record, error) {
	if !kind.Known() {
		return nil, fmt.Errorf("read %s %s: this version knows no such kind of record", kind, key)
	}
	r := kind.Blank()
	if l, isLot := r.(*book.Lot); isLot && l.ReadStored(doc) {
		return r, nil
	}
	r = kind.Blank() // ReadStored may have left it half read
	if err := json.Unmarshal(doc, r); err != nil {
		return nil, fmt.Errorf("read %s %s: %w", kind, key, err)
	}
	return r, nil
}

// Canonical is the form in which a record is stored and sealed: its JSON, with
// <, > and & as they are. A record that is book.Stored omits unknown fields.
func Canonical(r book.Record) ([]byte, error) {
	if p, ok := r.(prepared); ok {
		return p.doc, nil
	}
	var v any = r
	if s, ok := r.(book.Stored); ok {
		v = s.StoredForm()
	}
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, fmt.Errorf("write %s %s: %w", r.RecordKind(), r.RecordKey(), err)
	}
	return bytes.TrimSuffix(b.Bytes(), []byte{'\n'}), nil
}

// prepared is a record whose canonical form is known already.
type prepared struct {
	book.Record
	doc []byte
}

// Prepare works out the canonical form of records before they are posted, so
// that it can be done beside the writing of others.
func Prepare(records []book.Record) error {
	for i, r := range records {
		if _, isFile := r.(book.Filed); isFile { // its bytes are asked for when it is posted
			continue
		}
		doc, err := Canonical(r)
		if err != nil {
			return err
		}
		records[i] = prepared{r, doc}
	}
	return nil
}
