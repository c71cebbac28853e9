package testkit

import (
	"compress/gzip"
	"io"
	"os"
	"path/filepath"
	"testing"
)

// EveryKind is the kept book that has every kind of record and place.
const EveryKind = "schema-1-every-kind.db.gz"

// FrozenBook unpacks a book of testdata/books and returns its path.
func FrozenBook(t testing.TB, file string) (path string) {
	t.Helper()
	f, err := os.Open(Testdata(t, "books", file))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	raw, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	path = filepath.Join(t.TempDir(), "book.db")
	if err := os.WriteFile(path, raw, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}
