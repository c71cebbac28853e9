package sqlstore

import (
	"context"
	"database/sql"
	"errors"
	"io/fs"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	_ "modernc.org/sqlite"

	"lotpaper/internal/book"
	"lotpaper/internal/store"
	"lotpaper/schema"
)

// TestFoundByIndex: what is asked of one lot, parcel, place or paper is found by
// index, never by walking a table: the engine's own plan of each statement says
// so. (Its rules for choosing depend on which indexes are unique.)
func TestFoundByIndex(t *testing.T) {
	db, err := sql.Open("sqlite", filepath.Join(t.TempDir(), "book.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	if err := Migrate(t.Context(), SQLite, db, migrationsOf(t)); err != nil {
		t.Fatal(err)
	}
	if err := Begin(t.Context(), db, store.Meta{Currency: "EUR", Zone: "UTC"}); err != nil {
		t.Fatal(err)
	}
	marks := func(_, n int) string { return strings.TrimSuffix(strings.Repeat("?,", n), ",") }
	s, err := New(t.Context(), db, db, Dialect{Marks: marks}, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	for name, ask := range map[string]func(tx store.ReadTx) error{
		"a record": func(tx store.ReadTx) error {
			_, err := tx.Row(t.Context(), book.KindLot, "x")
			return skip(err)
		},
		"keys": func(tx store.ReadTx) error {
			_, err := tx.Known(t.Context(), book.KindLot, []string{"a", "b"})
			return err
		},
		"readings of a lot":  rowsOf(book.KindReading, store.RowFilter{Ref: book.ToLot("x")}),
		"a page of a parcel": rowsOf(book.KindLot, store.RowFilter{Ref: book.ToParcel("x"), After: 9, Limit: 10}),
		"a prefix":           rowsOf(book.KindLot, store.RowFilter{Prefix: "x"}),
		"a page of lots":     rowsOf(book.KindLot, store.RowFilter{After: 9, Limit: 10}),
		"versions": func(tx store.ReadTx) error {
			_, err := tx.History(t.Context(), book.KindLot, "x")
			return err
		},
		"a file": func(tx store.ReadTx) error {
			_, err := tx.File(t.Context(), "x")
			return skip(err)
		},
		"entries of a lot": func(tx store.ReadTx) error {
			_, err := tx.Entries(t.Context(), store.EntryFilter{Lot: "x"})
			return err
		},
		"an entry": func(tx store.ReadTx) error {
			_, err := tx.Entry(t.Context(), "E1")
			return skip(err)
		},
		"a lot's balances": balancesOf(store.BalanceFilter{Lot: "x"}),
		"a parcel's":       balancesOf(store.BalanceFilter{Ref: book.ToParcel("x"), RealOnly: true}),
		"a place's":        balancesOf(store.BalanceFilter{Place: "memo/X"}),
		"a page of a place": balancesOf(store.BalanceFilter{Place: "paper/M1", RealOnly: true, AfterLot: "x",
			Limit: 10}),
		"a lot's past balances": balancesOf(store.BalanceFilter{Lot: "x", On: "2026-01-05"}),
		"a parcel's past":       balancesOf(store.BalanceFilter{Ref: book.ToParcel("x"), RealOnly: true, At: 9}),
		"reversals": func(tx store.ReadTx) error {
			_, err := tx.Reversals(t.Context())
			return err
		},
	} {
		err := s.View(t.Context(), func(tx store.ReadTx) error {
			if err := ask(tx); err != nil {
				return err
			}
			asked := tx.(*readTx)
			for text := range asked.prepared {
				for _, step := range planOf(t, asked.tx, text) {
					if walksTable.MatchString(step) {
						t.Errorf("%s: %s\n%s", name, step, text)
					}
				}
			}
			return nil
		})
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// walksTable matches a step that reads all of a table, or all keys of a kind.
var walksTable = regexp.MustCompile(`^SCAN (b|c|l|p|r|v|entries|postings|records|refs|balances|current_versions)\b` +
	`|^SEARCH (c|current_versions) USING .*\(kind=\?\)$`)

// skip ignores that nothing is found in an empty book.
func skip(err error) error {
	if errors.Is(err, store.ErrNotFound) {
		return nil
	}
	return err
}

func rowsOf(kind book.Kind, f store.RowFilter) func(tx store.ReadTx) error {
	return func(tx store.ReadTx) error { _, err := tx.Rows(context.Background(), kind, f); return err }
}

func balancesOf(f store.BalanceFilter) func(tx store.ReadTx) error {
	return func(tx store.ReadTx) error { _, err := tx.Balances(context.Background(), f); return err }
}

func planOf(t *testing.T, tx *sql.Tx, text string) (steps []string) {
	t.Helper()
	numbered := 0
	for _, m := range regexp.MustCompile(`\$(\d)`).FindAllStringSubmatch(text, -1) {
		numbered = max(numbered, int(m[1][0]-'0'))
	}
	args := make([]any, numbered+strings.Count(text, "?"))
	rows, err := tx.Query("EXPLAIN QUERY PLAN "+text, args...)
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	defer rows.Close()
	for rows.Next() {
		var id, parent, unused int
		var step string
		if err := rows.Scan(&id, &parent, &unused, &step); err != nil {
			t.Fatal(err)
		}
		steps = append(steps, step)
	}
	return steps
}

func migrationsOf(t *testing.T) fs.FS {
	t.Helper()
	files, err := fs.Sub(schema.SQLite, "sqlite")
	if err != nil {
		t.Fatal(err)
	}
	return files
}
