package main

import (
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

// TestWrittenFiles_OwnerOnly: every file that the program writes holds costs,
// so only its owner may read it: the book, what demo writes, a backup, an
// exported list, and a list in place of one that everybody could read.
func TestWrittenFiles_OwnerOnly(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("files have no mode there")
	}
	dir := t.TempDir()
	run := func(words ...string) {
		t.Helper()
		if r := here(words...); r.Code != 0 {
			t.Fatalf("%s: exit status %d: %s", strings.Join(words, " "), r.Code, r.Err)
		}
	}
	demo := filepath.Join(dir, "demo")
	run("demo", demo)
	book := filepath.Join(demo, "lotpaper.db")
	list := filepath.Join(dir, "stock.xlsx")
	run("backup", filepath.Join(dir, "copy.db"), "--book", book)
	run("stock", "list", "--book", book, "-o", list)
	if err := os.Chmod(list, 0o644); err != nil {
		t.Fatal(err)
	}
	run("stock", "list", "--book", book, "-o", list, "--force")
	seen := 0
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		seen++
		if info.Mode().Perm() != 0o600 {
			t.Errorf("%s has mode %s", path, info.Mode())
		}
		return nil
	})
	if err != nil || seen < 10 {
		t.Errorf("%d files were written, %v", seen, err)
	}
}
