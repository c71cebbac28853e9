package wholefile

import (
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"testing"
)

func put(text string) func(*os.File) error {
	return func(f *os.File) error { _, err := f.WriteString(text); return err }
}

// A file is there whole under its name, or as it was before; nothing else is
// left in the folder.
func TestWrite(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.txt")
	broken := errors.New("broken")
	half := func(f *os.File) error { f.WriteString("x"); return broken }
	for _, c := range []struct {
		name string
		over bool
		fill func(*os.File) error
		want error
		text string
	}{
		{"new", false, put("one"), nil, "one"},
		{"taken", false, put("two"), ErrExists, "one"},
		{"broken", true, half, broken, "one"},
		{"over", true, put("three"), nil, "three"},
	} {
		if err := Write(path, c.over, c.fill); err != c.want {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
		if got, _ := os.ReadFile(path); string(got) != c.text {
			t.Errorf("%s: the file holds %q, want %q", c.name, got, c.text)
		}
		if left, _ := os.ReadDir(filepath.Dir(path)); len(left) != 1 {
			t.Errorf("%s: left over: %v", c.name, left)
		}
	}
	if err := Write(filepath.Join(path+".d", "b.txt"), false, put("")); err != ErrNoFolder {
		t.Errorf("a folder that is not there: %v", err)
	}
}

// A name that is taken while the file is written is not written over.
func TestWrite_TakenMeanwhile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.txt")
	err := Write(path, false, func(f *os.File) error {
		return errors.Join(put("late")(f), os.WriteFile(path, []byte("first"), 0o600))
	})
	if got, _ := os.ReadFile(path); err != ErrExists || string(got) != "first" {
		t.Errorf("%v, and the file holds %q", err, got)
	}
}

// Written files hold costs: nobody but the owner reads them, neither a new one
// nor one in place of a file that everybody could read.
func TestWrite_OwnerOnly(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("files have no mode there")
	}
	path := filepath.Join(t.TempDir(), "a.txt")
	check := func(name string) {
		t.Helper()
		info, err := os.Stat(path)
		if err != nil {
			t.Fatal(err)
		}
		if info.Mode().Perm() != 0o600 {
			t.Errorf("%s: mode %s", name, info.Mode())
		}
	}
	if err := Write(path, false, put("one")); err != nil {
		t.Fatal(err)
	}
	check("new")
	if err := os.Chmod(path, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := Write(path, true, put("two")); err != nil {
		t.Fatal(err)
	}
	check("over")
}
