package sqlite

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
	"lotpaper/internal/testkit"
)

func newBook(t *testing.T) (path string) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "a book of 100% & more?.db") // the path is escaped in the driver's name
	clock := testkit.NewClock()
	s, err := Create(t.Context(), path, store.Meta{Currency: "EUR", Zone: "UTC", Created: clock.Now()}, Options{Now: clock.Now})
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
	if _, err := open(t.Context(), path, Options{}, next(t, "CREATE TABLE more (a INTEGER) STRICT;\nCREATE TABLE more (a INTEGER) STRICT;")); err == nil {
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
	old, err := Open(t.Context(), path+".schema-1", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := old.Close(); err != nil {
		t.Error(err)
	}
	if _, err := Open(t.Context(), path, Options{}); !errors.Is(err, store.ErrNewer) || fault.KindOf(err) != fault.Refused {
		t.Errorf("open a newer book: %v", err)
	}
}

// TestMigrationsAreFrozen: a released migration never changes. The hash of a
// new one is added here when it is released.
func TestMigrationsAreFrozen(t *testing.T) {
	released := map[string]string{
		"0001_book.sql": "7b2ec76ce34315c9ccc69b140bf9f3cee264cfa6f483cee932986dc0db8302fc",
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
		if !errors.Is(err, store.ErrLocked) || fault.KindOf(err) != fault.Locked {
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
	}{{"writer", map[string]string{"foreign_keys": "1", "recursive_triggers": "1", "synchronous": "2", "journal_mode": "wal", "page_size": "8192", "busy_timeout": "5000"}},
		{"reader", map[string]string{"foreign_keys": "1", "recursive_triggers": "1", "query_only": "1", "busy_timeout": "5000"}}} {
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
		e := ledger.Entry{Kind: ledger.Record, PostedOn: "2026-01-05", Reason: "x", Records: []book.Record{book.Setting{Key: "k", Value: "v"}}}
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
