package wholefile

import (
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"slices"
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

// The folder is synced once the file has its name; a file that was not written
// leaves the folder alone, and what the sync fails with is told.
func TestWrite_SyncsTheFolder(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.txt")
	broken := errors.New("broken")
	var synced []string
	sync := func(folder string) error {
		text, _ := os.ReadFile(path)
		synced = append(synced, folder+": "+string(text))
		return broken
	}
	for _, c := range []struct {
		text string
		over bool
		want error
	}{{"one", false, broken}, {"two", false, ErrExists}, {"three", true, broken}} {
		if err := write(path, c.over, put(c.text), sync); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.text, err, c.want)
		}
	}
	if want := []string{filepath.Dir(path) + ": one", filepath.Dir(path) + ": three"}; !slices.Equal(synced, want) {
		t.Errorf("synced %q, want %q", synced, want)
	}
	if err := syncFolder(filepath.Dir(path)); err != nil {
		t.Error(err)
	}
	if err := syncFolder(path + ".d"); err == nil && runtime.GOOS != "windows" {
		t.Error("a folder that is not there was synced")
	}
}
