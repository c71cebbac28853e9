package testkit

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"testing"
)

var update = flag.Bool("update", false, "write golden files instead of comparing with them")

// Updating tells whether the test was run with -update.
func Updating() bool { return *update }

// Testdata is a path under the module's testdata folder.
func Testdata(t testing.TB, elem ...string) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return filepath.Join(append([]string{dir, "testdata"}, elem...)...)
		}
		up := filepath.Dir(dir)
		if up == dir {
			t.Fatal("no go.mod above the test's folder")
		}
		dir = up
	}
}

// Golden compares got with testdata/golden/name, or writes it under -update.
func Golden(t testing.TB, name string, got []byte) {
	t.Helper()
	path := Testdata(t, "golden", filepath.FromSlash(name))
	if Updating() {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v; run the test with -update to write it", err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("differs from testdata/golden/%s at line %d; look at the difference, then run with -update\ngot:\n%s", name, firstLine(got, want), got)
	}
}

// firstLine is the number of the first line that differs.
func firstLine(a, b []byte) int {
	line := 1
	for i := 0; i < len(a) && i < len(b) && a[i] == b[i]; i++ {
		if a[i] == '\n' {
			line++
		}
	}
	return line
}
