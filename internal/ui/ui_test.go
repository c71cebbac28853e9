package ui

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"

	"lotpaper/internal/fault"
)

func TestDocument(t *testing.T) {
	var b bytes.Buffer
	s := &Streams{Out: &b}
	if err := s.Document("x", struct {
		A int `json:"a"`
	}{1}); err != nil {
		t.Fatal(err)
	}
	want := "{\n  \"schema\": \"lotpaper/x/1\",\n  \"a\": 1\n}\n"
	if b.String() != want {
		t.Errorf("got %s", b.String())
	}
	b.Reset()
	if err := s.Document("x", struct{}{}); err != nil || b.String() != "{\n  \"schema\": \"lotpaper/x/1\"\n}\n" {
		t.Errorf("empty: %s %v", b.String(), err)
	}
}

func TestTable(t *testing.T) {
	var b bytes.Buffer
	s := &Streams{Out: &b}
	table := &Table{Header: []string{"lot", "ct"}, Right: []bool{false, true}}
	table.Add("P1-1", "2.000")
	s.Table(table)
	if b.String() != "lot\tct\nP1-1\t2.000\n" {
		t.Errorf("plain: %q", b.String())
	}
	if got := table.Text(false); got != "lot      ct\nP1-1  2.000\n" {
		t.Errorf("aligned: %q", got)
	}
}

func TestWriteFile(t *testing.T) {
	s := &Streams{}
	path := filepath.Join(t.TempDir(), "a.txt")
	put := func(text string) func(io.Writer) error {
		return func(w io.Writer) error { _, err := io.WriteString(w, text); return err }
	}
	if err := s.WriteFile(path, false, false, put("one")); err != nil {
		t.Fatal(err)
	}
	if err := s.WriteFile(path, false, false, put("two")); fault.KindOf(err) != fault.Refused {
		t.Errorf("second write: %v", err)
	}
	broken := errors.New("broken")
	if err := s.WriteFile(path, true, false, func(w io.Writer) error {
		io.WriteString(w,
			"x")
		return broken
	}); err != broken {
		t.Errorf("broken write: %v", err)
	}
	if got, _ := os.ReadFile(path); string(got) != "one" {
		t.Errorf("after a broken write the file holds %q", got)
	}
	if err := s.WriteFile(path, true, false, put("three")); err != nil {
		t.Fatal(err)
	}
	left, _ := os.ReadDir(filepath.Dir(path))
	if len(left) != 1 {
		t.Errorf("left over: %v", left)
	}
}
