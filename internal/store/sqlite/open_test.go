package sqlite

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
	"lotpaper/internal/store/sqlstore"
	"lotpaper/internal/testkit"
)

func newBook(t *testing.T) (path string) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "a book of 100% & more?.db") // the path is escaped in the driver's name
	clock := testkit.NewClock()
	s, err := Create(t.Context(), path, store.Meta{Currency: "EUR", Zone: "UTC", Created: clock.Now()},
		Options{Now: clock.Now})
	if err != nil {
		t.Fatal(err)
	}
	if err := (testkit.BigBook{Seed: 1, Stones: 3}).Fill(t.Context(), s, "2026-01-05"); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

// next is a set of migrations that is one ahead of the program's.
func next(t *testing.T, statements string) fs.FS {
	t.Helper()
	files := fstest.MapFS{}
	names, err := fs.Glob(migrations(), "*.sql")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		raw, err := fs.ReadFile(migrations(), name)
		if err != nil {
			t.Fatal(err)
		}
		files[name] = &fstest.MapFile{Data: raw}
	}
	files["9000_next.sql"] = &fstest.MapFile{Data: []byte("-- +goose Up\n" + statements)}
	return files
}

func TestMigrate(t *testing.T) {
	path := newBook(t)
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	// A migration that fails leaves the book as it was, and a copy.
	if _, err := open(t.Context(), path, Options{}, next(t, "CREATE TABLE more (a INTEGER) STRICT;\nCREATE TABLE "+
		"more (a INTEGER) STRICT;")); err == nil {
		t.Fatal("a broken migration went through")
	}
	if after, err := os.ReadFile(path); err != nil || string(after) != string(before) {
		t.Errorf("a failed migration changed the book (%v)", err)
	}
	s, err := open(t.Context(), path, Options{}, next(t, "CREATE TABLE more (a INTEGER) STRICT;"))
	if err != nil {
		t.Fatal(err)
	}
	if err := s.View(t.Context(), func(tx store.ReadTx) error {
		return tx.Check(t.Context(), func(d store.Difference) { t.Errorf("after migrating: %+v", d) })
	}); err != nil {
		t.Error(err)
	}
	if err := s.Close(); err != nil {
		t.Error(err)
	}
	// The copy is the book before; the migrated book is too new for this version.
	newest, err := sqlstore.Newest(migrations())
	if err != nil {
		t.Fatal(err)
	}
	old, err := Open(t.Context(), fmt.Sprintf("%s.schema-%d", path, newest), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := old.Close(); err != nil {
		t.Error(err)
	}
	if _, err := Open(t.Context(), path, Options{}); !errors.Is(err, store.ErrNewer) {
		t.Errorf("open a newer book: %v", err)
	}
}

// TestMigrationsAreFrozen: a released migration never changes. The hash of a
// new one is added here when it is released.
func TestMigrationsAreFrozen(t *testing.T) {
	released := map[string]string{
		"0001_book.sql":      "7b2ec76ce34315c9ccc69b140bf9f3cee264cfa6f483cee932986dc0db8302fc",
		"0002_records.sql":   "985a35c827fc74aaa700d22948cbc330eb8873aa70e5350bb2f7623c9e5225c1",
		"0003_voids.sql":     "8322c6ef6542f01f13f6862574d2f680bae11cedbc3c3325c104923d8a126218",
		"0004_opinions.sql":  "4d9b673e14264c1640e20aa5313a707536e85a8c37e14a2341c6876478ad44f5",
		"0005_movements.sql": "22d7a1aeb3be27e47570cfa483a6b247af47ab9f9c20d46a9ebdfeea406a54c4",
		"0006_pictures.sql":  "2db29527d51239719b9f991824d5fd0120a91a4737c8b9ab2fa30d2ad6cba61a",
	}
	names, err := fs.Glob(migrations(), "*.sql")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		raw, err := fs.ReadFile(migrations(), name)
		if err != nil {
			t.Fatal(err)
		}
		sum := sha256.Sum256(raw)
		if got := hex.EncodeToString(sum[:]); got != released[name] {
			t.Errorf("%s has the hash %s, released as %q", name, got, released[name])
		}
		if strings.Contains(strings.ToLower(string(raw)), "update entries") {
			t.Errorf("%s touches sealed entries", name)
		}
	}
	if len(names) != len(released) {
		t.Errorf("%d migrations, %d released", len(names), len(released))
	}
}

// TestLibcIsTheDriversOwn: the driver works only with the version of its C
// library that its own go.mod requires.
func TestLibcIsTheDriversOwn(t *testing.T) {
	required := func(file, module string) string {
		raw, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(string(raw)) {
			words := strings.Fields(strings.TrimPrefix(strings.TrimSpace(line), "require "))
			if len(words) >= 2 && words[0] == module {
				return words[1]
			}
		}
		t.Fatalf("%s does not require %s", file, module)
		return ""
	}
	ours := filepath.Join(filepath.Dir(testkit.Testdata(t)), "go.mod")
	driver := required(ours, "modernc.org/sqlite")
	cache := os.Getenv("GOMODCACHE")
	if cache == "" {
		gopath := os.Getenv("GOPATH")
		if gopath == "" {
			home, err := os.UserHomeDir()
			if err != nil {
				t.Fatal(err)
			}
			gopath = filepath.Join(home, "go")
		}
		cache = filepath.Join(gopath, "pkg", "mod")
	}
	theirs := filepath.Join(cache, "modernc.org", "sqlite@"+driver, "go.mod")
	if got, want := required(ours, "modernc.org/libc"), required(theirs, "modernc.org/libc"); got != want {
		t.Errorf("go.mod has modernc.org/libc %s, but modernc.org/sqlite %s requires %s", got, driver, want)
	}
}

// TestOpenNoBook: a file that is no book is said to be none, and stays as it is.
func TestOpenNoBook(t *testing.T) {
	for name, content := range map[string][]byte{"text": []byte("lot,species\n1,topaz\n"), "empty": nil,
		"zeros": make([]byte, 8192)} {
		p := filepath.Join(t.TempDir(), name)
		if err := os.WriteFile(p, content, 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := Open(t.Context(), p, Options{}); !errors.Is(err, store.ErrNoBook) {
			t.Errorf("open a file of %s: %v, want no book", name, err)
		}
		if after, _ := os.ReadFile(p); !bytes.Equal(after, content) {
			t.Errorf("opening a file of %s changed it", name)
		}
	}
	if _, err := Open(t.Context(), t.TempDir(), Options{}); !errors.Is(err, store.ErrNoBook) {
		t.Errorf("open a folder: %v, want no book", err)
	}
	missing := filepath.Join(t.TempDir(), "none.db")
	if _, err := Open(t.Context(), missing, Options{}); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("open a missing book: %v", err)
	}
	if _, err := os.Stat(missing); err == nil {
		t.Error("opening a missing book made a file")
	}
}

// TestRollbackLeavesTheFile: what is rolled back, such as a dry run, does not
// change the file, and nothing is left beside it.
func TestRollbackLeavesTheFile(t *testing.T) {
	path := newBook(t)
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	s, err := Open(t.Context(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	err = s.Update(t.Context(), func(tx store.Tx) error {
		for i := range 300 { // more than the engine's cache would hold back
			l := book.Lot{Code: fmt.Sprintf("P9-%d", i+1), Parcel: "P9", Owner: book.Own}
			e := ledger.Entry{Kind: ledger.Record, PostedOn: "2026-01-05", Reason: "x", Records: []book.Record{l}}
			if err := tx.Post(t.Context(), &e); err != nil {
				return err
			}
		}
		return store.ErrRollback
	})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Backup(t.Context(), io.Discard); err != nil {
		t.Error(err)
	}
	if err := s.Close(); err != nil {
		t.Error(err)
	}
	if after, err := os.ReadFile(path); err != nil || !bytes.Equal(before, after) {
		t.Errorf("a dry run changed the file (%v)", err)
	}
	if files, err := os.ReadDir(filepath.Dir(path)); err != nil || len(files) != 1 {
		t.Errorf("files left beside the book: %v, %v", files, err)
	}
}

// TestBusyBookIsTriedAgain: an update that meets a busy book succeeds when the
// other one is done by the next try, runs once, and a conflict is not tried again.
func TestBusyBookIsTriedAgain(t *testing.T) {
	path := newBook(t)
	h, err := openHandles(path, Options{Wait: 20 * time.Millisecond}.filled())
	if err != nil {
		t.Fatal(err)
	}
	defer h.close()
	other, err := openHandles(path, Options{}.filled())
	if err != nil {
		t.Fatal(err)
	}
	defer other.close()
	holder, err := other.writer.Begin()
	if err != nil {
		t.Fatal(err)
	}
	defer holder.Rollback()
	d, refusals, excluded := h.dialect(), 0, 0
	d.Exclude = func(context.Context, *sql.Tx) error { excluded++; return nil } // as engines do that need it
	d.Locked = func(err error) bool {
		if locked(err) {
			refusals++
			if err := holder.Rollback(); err != nil && !errors.Is(err, sql.ErrTxDone) {
				t.Error(err)
			}
		}
		return locked(err)
	}
	s, err := sqlstore.New(t.Context(), h.reader, h.writer, d, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	runs := 0
	if err := s.Update(t.Context(), func(store.Tx) error { runs++; return nil }); err != nil || runs != 1 ||
		refusals == 0 || excluded != 1 {
		t.Errorf("update of a busy book: %v, %d refusals, %d runs, excluded %d times", err, refusals, runs, excluded)
	}
	runs = 0
	err = s.Update(t.Context(), func(store.Tx) error { runs++; return store.ErrConflict })
	if !errors.Is(err, store.ErrConflict) || runs != 1 {
		t.Errorf("conflict: %v after %d runs", err, runs)
	}
	runs = 0
	err = s.Update(t.Context(), func(store.Tx) error { runs++; return fmt.Errorf("again: %w", store.ErrLocked) })
	if !errors.Is(err, store.ErrLocked) || runs < 2 || runs > 9 {
		t.Errorf("a book that stays busy: %v after %d runs", err, runs)
	}
}

func TestLockedBook(t *testing.T) {
	path := newBook(t)
	s, err := Open(t.Context(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	other, err := Open(t.Context(), path, Options{Wait: 20 * time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	err = s.Update(t.Context(), func(store.Tx) error {
		err := other.Update(t.Context(), func(store.Tx) error { return nil })
		if !errors.Is(err, store.ErrLocked) {
			t.Errorf("write to a locked book: %v", err)
		}
		return other.View(t.Context(), func(tx store.ReadTx) error { // readers never wait
			_, err := tx.Head(t.Context())
			return err
		})
	})
	if err != nil {
		t.Error(err)
	}
}

// TestReaderCannotWrite: a view has no way to the tables but reading.
func TestReaderCannotWrite(t *testing.T) {
	h, err := openHandles(newBook(t), Options{}.filled())
	if err != nil {
		t.Fatal(err)
	}
	defer h.close()
	if _, err := h.reader.Exec(`DELETE FROM counters`); err == nil {
		t.Error("the reading handle writes")
	}
	for _, db := range []struct {
		name   string
		pragma map[string]string
	}{{"writer", map[string]string{"foreign_keys": "1", "recursive_triggers": "1", "synchronous": "2",
		"journal_mode": "wal", "page_size": "8192", "busy_timeout": "2000"}},
		{"reader", map[string]string{"foreign_keys": "1", "recursive_triggers": "1", "query_only": "1",
			"busy_timeout": "2000"}}} {
		handle := h.writer
		if db.name == "reader" {
			handle = h.reader
		}
		for name, want := range db.pragma {
			var got string
			if err := handle.QueryRow(`PRAGMA ` + name).Scan(&got); err != nil || got != want {
				t.Errorf("%s: %s = %s, want %s (%v)", db.name, name, got, want, err)
			}
		}
	}
}

// TestInterrupt: a work that is cancelled in the middle leaves the book as it was.
func TestInterrupt(t *testing.T) {
	s, err := Open(t.Context(), newBook(t), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	ctx, cancel := context.WithCancel(t.Context())
	err = s.Update(ctx, func(tx store.Tx) error {
		e := ledger.Entry{Kind: ledger.Record, PostedOn: "2026-01-05", Reason: "x",
			Records: []book.Record{book.Setting{Key: "k", Value: "v"}}}
		if err := tx.Post(ctx, &e); err != nil {
			return err
		}
		cancel()
		e.Records = []book.Record{book.Setting{Key: "k", Value: "w"}}
		return tx.Post(ctx, &e)
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled update: %v", err)
	}
	if err := s.View(t.Context(), func(tx store.ReadTx) error {
		if _, err := tx.Row(t.Context(), book.KindConfig, "k"); !errors.Is(err, store.ErrNotFound) {
			t.Errorf("half of a cancelled work is there: %v", err)
		}
		return nil
	}); err != nil {
		t.Error(err)
	}
}
