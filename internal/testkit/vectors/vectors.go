// Package vectors reads the tables that calculations are tested with. Only
// tests import it.
package vectors

import (
	"os"
	"path/filepath"
	"testing"

	"lotpaper/internal/csvtable"
)

// Read reads testdata/vectors/NAME for the test of a package directly under
// internal or cmd: cells by the name of their column.
func Read(t testing.TB, name string) []map[string]string {
	t.Helper()
	rows, err := csvtable.Read(os.DirFS(filepath.Join("..", "..", "testdata", "vectors")), name)
	if err != nil {
		t.Fatal(err)
	}
	return rows
}
