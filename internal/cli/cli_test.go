package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"lotpaper/internal/book"
	"lotpaper/internal/store"
	"lotpaper/internal/store/sqlite"
	"lotpaper/internal/testkit"
	"lotpaper/internal/ui"
)

// program runs commands as a person would, in one folder, on one clock and on
// one book. The book is made by the first command that wants it; see newBook.
type program struct {
	t     *testing.T
	dir   string
	book  string // its file
	in    string // stdin of the next commands
	deps  Deps
	clock *testkit.Clock
}

// ran is what one command did.
type ran struct {
	code     int
	out, err string
}

// newProgram has no book yet.
func newProgram(t *testing.T) *program {
	t.Helper()
	p := &program{t: t, dir: t.TempDir(), clock: testkit.NewClock()}
	p.book = filepath.Join(p.dir, "lotpaper.db")
	p.deps = Deps{
		Now: p.clock.Now,
		Open: func(ctx context.Context, path string) (store.Store, error) {
			return sqlite.Open(ctx, path, sqlite.Options{Now: p.clock.Now})
		},
		Create: func(ctx context.Context, path string, m store.Meta, now func() time.Time) (store.Store, error) {
			return sqlite.Create(ctx, path, m, sqlite.Options{Now: now})
		},
	}
	return p
}

// newBook has an empty book in EUR, opened by the dealer "Sample Stones".
func newBook(t *testing.T) *program {
	t.Helper()
	p := newProgram(t)
	p.must("init", "--currency", "EUR", "--name", "Sample Stones")
	return p
}

// run runs one command on the book.
func (p *program) run(args ...string) ran {
	p.t.Helper()
	return p.runContext(p.t.Context(), args...)
}

// runContext runs one command. A command that is dated later than the clock is
// run on its date.
func (p *program) runContext(ctx context.Context, args ...string) ran {
	if i := slices.Index(args, "--date"); i >= 0 && i+1 < len(args) {
		if d, f := book.ParseDate(args[i+1]); f == nil && d > book.DateOf(p.clock.Now()) {
			p.clock.Advance(d.Time().Add(9 * time.Hour).Sub(p.clock.Now()))
		}
	}
	var out, errs bytes.Buffer
	d := p.deps
	d.Streams = &ui.Streams{In: strings.NewReader(p.in), Out: &out, Err: &errs}
	if len(args) > 0 {
		args = append(args, "--book", p.book)
	}
	code := Main(ctx, args, d)
	return ran{code, out.String(), errs.String()}
}

// must runs a command that has to succeed and returns what it answered.
func (p *program) must(args ...string) string {
	p.t.Helper()
	r := p.run(args...)
	if r.code != 0 {
		p.t.Fatalf("lotpaper %s: exit %d\n%s", strings.Join(args, " "), r.code, r.err)
	}
	return r.out
}

// file writes an input file and returns its path.
func (p *program) file(name, text string) string {
	p.t.Helper()
	path := filepath.Join(p.dir, name)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		p.t.Fatal(err)
	}
	return path
}

// readJSON reads the answer of a command that was run with --json into v,
// usually an answer model or a map.
func readJSON(t *testing.T, out string, v any) {
	t.Helper()
	if err := json.Unmarshal([]byte(out), v); err != nil {
		t.Fatalf("the answer is no JSON document: %v\n%s", err, out)
	}
}

// wantFault fails unless the command ended with the status and every text
// stands on stderr.
func wantFault(t *testing.T, r ran, code int, texts ...string) {
	t.Helper()
	if r.code != code {
		t.Errorf("exit %d, want %d\n%s", r.code, code, r.err)
	}
	if r.out != "" {
		t.Errorf("a command that failed answered on stdout:\n%s", r.out)
	}
	for _, text := range texts {
		if !strings.Contains(r.err, text) {
			t.Errorf("stderr lacks %q:\n%s", text, r.err)
		}
	}
}

// newRoot is the program as far as it is before it runs args, with streams into
// nothing: for tests of flags and of forms that need no book.
func newRoot(args ...string) *root {
	return &root{args: args, Deps: Deps{Streams: &ui.Streams{In: strings.NewReader(""), Out: io.Discard,
		Err: io.Discard}}}
}

// errDisk is an error of the machine.
var errDisk = errors.New("the disk is gone")
