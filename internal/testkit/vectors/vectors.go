// Package vectors reads the tables that calculations are tested with. Only
// tests import it.
package vectors

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"testing"
)

// Read reads testdata/vectors/NAME for the test of a package directly under
// internal: rows by header name.
func Read(t testing.TB, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "vectors", filepath.FromSlash(name)))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, h := range rows[0] {
			m[h] = row[i]
		}
		out = append(out, m)
	}
	return out
}
