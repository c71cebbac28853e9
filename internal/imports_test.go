package internal

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// allowed is the import law: what each package of the project may import of
// the project. Imports point down; what is not listed is forbidden, and what is
// listed must be used.
var allowed = map[string][]string{
	"cmd/lotpaper":        {"internal/cli", "internal/store", "internal/store/sqlite", "internal/ui"},
	"internal/fault":      {},
	"internal/progress":   {},
	"internal/csvtable":   {},
	"internal/num":        {"data", "internal/csvtable", "internal/fault"},
	"internal/formula":    {"internal/num"},
	"internal/chance":     {},
	"internal/book":       {"internal/fault", "internal/num"},
	"internal/ledger":     {"internal/book", "internal/fault", "internal/num"},
	"internal/facts":      {"data", "internal/csvtable", "internal/fault"},
	"internal/identify":   {"internal/chance", "internal/csvtable", "internal/facts", "internal/fault"},
	"internal/durability": {"data", "internal/chance", "internal/csvtable", "internal/facts", "internal/fault"},
	"internal/cutting": {"internal/book", "internal/chance", "internal/facts", "internal/fault",
		"internal/num"},
	"internal/allocate":           {},
	"internal/allocate/instance":  {"internal/allocate"},
	"internal/allocate/planbench": {"internal/allocate", "internal/allocate/instance", "internal/allocate/outside"},
	"internal/allocate/outside":   {"internal/allocate"},
	"internal/lineplan":           {"internal/allocate", "internal/book", "internal/num"},
	"internal/costing": {"internal/book", "internal/chance", "internal/facts", "internal/fault",
		"internal/formula", "internal/num"},
	"internal/sheet":   {"internal/fault", "internal/num"},
	"internal/page":    {"internal/fault", "internal/formula", "internal/num"},
	"internal/pdf":     {"internal/page"},
	"internal/picture": {"internal/fault"},
	"internal/chart":   {},
	"internal/intake": {"internal/book", "internal/cutting", "internal/facts", "internal/fault",
		"internal/num", "internal/sheet"},
	"internal/answer": {"internal/book", "internal/chart", "internal/costing", "internal/cutting",
		"internal/durability", "internal/facts", "internal/fault", "internal/formula", "internal/ledger",
		"internal/num",
		"internal/page", "internal/sheet"},
	"internal/store": {"internal/book", "internal/ledger", "internal/num"},
	"internal/store/sqlstore": {"internal/book", "internal/fault", "internal/ledger", "internal/num",
		"internal/store"},
	"internal/store/sqlite": {"internal/store", "internal/store/sqlstore",
		"internal/wholefile", "schema"},
	"internal/store/storetest": {"internal/testkit", "internal/book", "internal/fault", "internal/ledger",
		"internal/num", "internal/store"},
	"internal/config": {"internal/book", "internal/costing", "internal/cutting", "internal/durability",
		"internal/fault", "internal/identify", "internal/num", "internal/page", "internal/store"},
	"internal/desk": {"internal/answer", "internal/book", "internal/config", "internal/costing",
		"internal/cutting", "internal/facts", "internal/fault", "internal/intake", "internal/ledger",
		"internal/num", "internal/page", "internal/pdf", "internal/picture", "internal/progress", "internal/sheet",
		"internal/store"},
	"internal/bench": {"data", "internal/answer", "internal/book", "internal/config", "internal/cutting",
		"internal/desk", "internal/durability", "internal/facts", "internal/fault", "internal/identify",
		"internal/intake",
		"internal/ledger", "internal/num", "internal/sheet", "internal/store"},
	"internal/fitting": {"internal/answer", "internal/bench", "internal/book", "internal/config",
		"internal/desk", "internal/durability", "internal/facts", "internal/fault", "internal/identify",
		"internal/intake", "internal/num", "internal/store"},
	"internal/stockroom": {"internal/answer", "internal/bench", "internal/book", "internal/chance",
		"internal/config", "internal/costing", "internal/cutting", "internal/desk", "internal/facts",
		"internal/fault", "internal/fitting", "internal/identify", "internal/intake", "internal/ledger",
		"internal/lineplan", "internal/num", "internal/store"},
	"internal/lines": {"internal/allocate", "internal/answer", "internal/bench", "internal/book",
		"internal/chance", "internal/config", "internal/costing", "internal/cutting", "internal/desk",
		"internal/durability", "internal/facts", "internal/fault", "internal/fitting", "internal/formula",
		"internal/identify", "internal/intake", "internal/ledger", "internal/lineplan", "internal/num",
		"internal/progress", "internal/sheet", "internal/store"},
	"internal/calc": {"internal/answer", "internal/book", "internal/chance", "internal/costing", "internal/cutting",
		"internal/durability", "internal/facts", "internal/fault", "internal/identify", "internal/num"},
	"internal/house": {"internal/bench", "internal/desk", "internal/fitting", "internal/lines",
		"internal/stockroom", "internal/store"},
	"internal/demo": {"samples", "internal/answer", "internal/bench", "internal/book", "internal/desk",
		"internal/fault", "internal/fitting", "internal/house", "internal/lines", "internal/num", "internal/sheet",
		"internal/stockroom", "internal/store"},
	"internal/ui":        {"internal/fault", "internal/wholefile"},
	"internal/wholefile": {},
	"internal/cli": {"internal/answer", "internal/bench", "internal/book", "internal/calc", "internal/chart",
		"internal/costing", "internal/demo", "internal/desk", "internal/fault", "internal/fitting", "internal/house",
		"internal/intake", "internal/lineplan", "internal/lines", "internal/num", "internal/progress",
		"internal/sheet", "internal/stockroom", "internal/store", "internal/ui"},
	"internal/testkit": {"internal/book", "internal/ledger", "internal/num", "internal/store"},
	"internal/testkit/books": {"internal/answer", "internal/desk", "internal/fault", "internal/house",
		"internal/lines", "internal/num", "internal/stockroom", "internal/store", "internal/store/sqlite"},
	"internal/testkit/draw":    {},
	"internal/testkit/office":  {},
	"internal/testkit/vectors": {"internal/csvtable"},
	"data":                     {},
	"schema":                   {},
	"samples":                  {},
	"internal":                 {},
}

// fences name the only package that may import a library.
var fences = map[string]string{
	"github.com/shopspring/decimal":   "internal/num",
	"gonum.org/v1/gonum":              "internal/chance",
	"gonum.org/v1/plot":               "internal/chart",
	"github.com/xuri/excelize":        "internal/sheet",
	"golang.org/x/text":               "internal/sheet",
	"codeberg.org/go-pdf/fpdf":        "internal/pdf",
	"golang.org/x/image":              "internal/pdf", // the widths of letters
	"github.com/spf13/cobra":          "internal/cli",
	"github.com/spf13/pflag":          "internal/cli", // cobra's flags
	"modernc.org/":                    "internal/store/sqlite",
	"github.com/pressly/goose":        "internal/store/sqlstore",
	"golang.org/x/term":               "internal/ui",
	"github.com/google/go-cmp":        "tests",
	"pgregory.net/rapid":              "internal/store/storetest", // and test files
	"github.com/rogpeppe/go-internal": "tests",
	"github.com/mattn/go-isatty":      "nobody",
	"github.com/stretchr/testify":     "nobody",
}

// pure packages do no I/O of their own: they may not import these.
var (
	pure = []string{"internal/fault", "internal/formula", "internal/num", "internal/chance", "internal/book",
		"internal/ledger", "internal/identify", "internal/durability", "internal/cutting", "internal/allocate",
		"internal/lineplan", "internal/costing", "internal/page"}
	impure = []string{"os", "net", "net/http", "database/sql", "os/exec", "log"}
)

// TestImports holds every file of the project that is not a test against the
// law. Test files may import sideways and the three test libraries.
func TestImports(t *testing.T) {
	root := ".."
	used := map[string]map[string]bool{}
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && strings.HasPrefix(d.Name(), ".") && path != root {
			return filepath.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		rel, err := filepath.Rel(root, filepath.Dir(path))
		if err != nil {
			return err
		}
		pkg := filepath.ToSlash(rel)
		list, known := allowed[pkg]
		if !known {
			t.Errorf("%s: the package is not in the import law", pkg)
			return nil
		}
		if used[pkg] == nil {
			used[pkg] = map[string]bool{}
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		for _, spec := range file.Imports {
			name, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				return err
			}
			used[pkg][strings.TrimPrefix(name, "lotpaper/")] = true
			checkImport(t, path, pkg, name, list)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for pkg, list := range allowed {
		if used[pkg] == nil && pkg != "internal" {
			t.Errorf("%s stands in the import law, but there is no such package", pkg)
		}
		for _, name := range list {
			if !used[pkg][name] {
				t.Errorf("%s may import %s, but does not: take it off the import law", pkg, name)
			}
		}
	}
}

func checkImport(t *testing.T, path, pkg, name string, list []string) {
	t.Helper()
	if own, found := strings.CutPrefix(name, "lotpaper/"); found {
		for _, ok := range list {
			if own == ok {
				return
			}
		}
		t.Errorf("%s imports %s, which the import law does not allow", path, own)
		return
	}
	for lib, only := range fences {
		if strings.HasPrefix(name, lib) && pkg != only {
			t.Errorf("%s imports %s: only %s may", path, name, only)
		}
	}
	first, _, _ := strings.Cut(name, "/")
	if strings.Contains(first, ".") && !fenced(name) {
		t.Errorf("%s imports %s, which has no fence: give it one package", path, name)
	}
	for _, p := range pure {
		for _, io := range impure {
			if pkg == p && name == io {
				t.Errorf("%s imports %s, but %s is pure", path, name, pkg)
			}
		}
	}
}

func fenced(name string) bool {
	for lib := range fences {
		if strings.HasPrefix(name, lib) {
			return true
		}
	}
	return false
}
