package main

import (
	"bytes"
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"lotpaper/internal/cli"
	"lotpaper/internal/store"
	"lotpaper/internal/store/sqlite"
	"lotpaper/internal/ui"
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
		var out, errs bytes.Buffer
		deps := cli.Deps{Streams: &ui.Streams{In: strings.NewReader(""), Out: &out, Err: &errs}, Now: time.Now,
			Open: func(ctx context.Context, path string) (store.Store, error) {
				return sqlite.Open(ctx, path, sqlite.Options{})
			},
			Create: func(ctx context.Context, path string, m store.Meta, now func() time.Time) (store.Store, error) {
				return sqlite.Create(ctx, path, m, sqlite.Options{Now: now})
			}}
		if code := cli.Main(t.Context(), words, deps); code != 0 {
			t.Fatalf("%s: exit status %d: %s", strings.Join(words, " "), code, errs.String())
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
