package internal

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// commandWords find what only the command line may say: a flag, or a command
// of the program.
var commandWords = regexp.MustCompile(`(^|[^-\w])--[a-z]|\blotpaper [a-z]`)

// edges may speak command line: the command line itself, its streams, and
// programs of their own.
var edges = []string{"cli", "ui", "testkit", "allocate/planbench", "allocate/outside"}

// TestWords_NoCommandLineBelowTheEdge holds every text of the packages below
// cli against words of the command line: a fault names a field and an action.
func TestWords_NoCommandLineBelowTheEdge(t *testing.T) {
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		for _, edge := range edges {
			if strings.HasPrefix(filepath.ToSlash(path), edge+"/") {
				return nil
			}
		}
		files := token.NewFileSet()
		file, err := parser.ParseFile(files, path, nil, 0)
		if err != nil {
			return err
		}
		ast.Inspect(file, func(n ast.Node) bool {
			lit, ok := n.(*ast.BasicLit)
			if !ok || lit.Kind != token.STRING {
				return true
			}
			if text, err := strconv.Unquote(lit.Value); err == nil && commandWords.MatchString(text) {
				t.Errorf("%s: %q speaks command line: name a field (AtField) and an action (Do)",
					files.Position(lit.Pos()), text)
			}
			return true
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
