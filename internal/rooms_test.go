package internal

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// rooms answer requests by methods of this type.
var rooms = map[string]string{"bench": "Room", "desk": "Desk", "fitting": "Room", "lines": "Room", "stockroom": "Room"}

// TestRooms_OneShape: an act of a room is a method that takes a context and the
// request of its own name. What takes a transaction, a function or nothing
// serves other rooms. A calculator is a function that takes the request named
// after it.
func TestRooms_OneShape(t *testing.T) {
	for pkg, room := range rooms {
		acts := 0
		for _, f := range functions(t, pkg) {
			if !f.Name.IsExported() || receiver(f) != room {
				continue
			}
			name, types := f.Name.Name, parameters(f)
			if slices.ContainsFunc(types, func(p string) bool { return p == "" || strings.HasPrefix(p, "store.") }) {
				continue
			}
			if len(types) != 2 || types[0] != "context.Context" || types[1] != name {
				t.Errorf("%s.%s takes %v, not a context and the request %s", pkg, name, types, name)
			}
			acts++
		}
		if acts == 0 {
			t.Errorf("%s: no act was found", pkg)
		}
	}
	for _, f := range functions(t, "calc") {
		if name := f.Name.Name; f.Name.IsExported() && f.Recv == nil &&
			!slices.Equal(parameters(f), []string{name + "Request"}) {
			t.Errorf("calc.%s takes %v, not a %sRequest", name, parameters(f), name)
		}
	}
}

// functions are those of a package's files that are not tests.
func functions(t *testing.T, pkg string) []*ast.FuncDecl {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(pkg, "*.go"))
	if err != nil || len(files) == 0 {
		t.Fatalf("%s: %d files, %v", pkg, len(files), err)
	}
	var out []*ast.FuncDecl
	for _, path := range files {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		src, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, src, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range file.Decls {
			if f, ok := d.(*ast.FuncDecl); ok {
				out = append(out, f)
			}
		}
	}
	return out
}

// receiver is the type that a method belongs to; empty for a function.
func receiver(f *ast.FuncDecl) string {
	if f.Recv == nil {
		return ""
	}
	return typeName(f.Recv.List[0].Type)
}

// parameters are the types of a function's parameters, one for each.
func parameters(f *ast.FuncDecl) []string {
	var out []string
	for _, p := range f.Type.Params.List {
		for range max(1, len(p.Names)) {
			out = append(out, typeName(p.Type))
		}
	}
	return out
}

// typeName is the name of a type; empty for a function type.
func typeName(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name
	case *ast.StarExpr:
		return typeName(e.X)
	case *ast.SelectorExpr:
		return typeName(e.X) + "." + e.Sel.Name
	}
	return ""
}
