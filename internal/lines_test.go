package internal

import (
	"bytes"
	"go/scanner"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"
)

// The limits of a file of Go: columns of a line, a tab counting as four, and
// lines of a file.
const (
	mostColumns = 120
	mostLines   = 600
)

// TestLines holds every file of Go to the limits. What stands inside a raw
// string of a test is data and may be longer.
func TestLines(t *testing.T) {
	for _, root := range []string{"../cmd", "../internal", "../schema", "../data", "../samples"} {
		err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") {
				return err
			}
			src, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			raw := map[int]bool{}
			if strings.HasSuffix(path, "_test.go") {
				raw = rawLines(src)
			}
			lines := strings.Split(strings.TrimSuffix(string(src), "\n"), "\n")
			if len(lines) > mostLines {
				t.Errorf("%s has %d lines: at most %d, one story", path, len(lines), mostLines)
			}
			for i, line := range lines {
				if n := utf8.RuneCountInString(line) + 3*strings.Count(line, "\t"); n > mostColumns && !raw[i+1] {
					t.Errorf("%s:%d has %d columns: at most %d", path, i+1, n, mostColumns)
				}
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
}

// rawLines returns the numbers of the lines that a raw string stands in.
func rawLines(src []byte) map[int]bool {
	files := token.NewFileSet()
	file := files.AddFile("", files.Base(), len(src))
	var s scanner.Scanner
	s.Init(file, src, nil, 0)
	out := map[int]bool{}
	for {
		pos, tok, lit := s.Scan()
		if tok == token.EOF {
			return out
		}
		if tok == token.STRING && lit[0] == '`' {
			first := files.Position(pos).Line
			for n := range bytes.Count([]byte(lit), []byte{'\n'}) + 1 {
				out[first+n] = true
			}
		}
	}
}
