package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/xuri/excelize/v2"

	"lotpaper/internal/testkit"
)

// root is the module's folder seen from here.
const root = "../.."

// TestScripts runs every script of testdata/script against the program. What
// the scripts may use beside testscript's own commands is the table below.
func TestScripts(t *testing.T) {
	schemas, err := filepath.Abs(filepath.Join(root, "schema", "json"))
	if err != nil {
		t.Fatal(err)
	}
	samples, err := filepath.Abs(filepath.Join(root, "samples"))
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:                filepath.Join(root, "testdata", "script"),
		UpdateScripts:      testkit.Updating(),
		RequireUniqueNames: true,
		Setup: func(e *testscript.Env) error {
			home := filepath.Join(e.WorkDir, ".home")
			for k, v := range map[string]string{
				"HOME": home, "XDG_CONFIG_HOME": home, "TZ": "UTC", "LC_ALL": "C", "NO_COLOR": "1",
				"LOTPAPER_WHO": "tester", "LOTPAPER_BOOK": "", "SCHEMAS": schemas, "SAMPLES": samples,
			} {
				e.Setenv(k, v)
			}
			if err := os.MkdirAll(home, 0o755); err != nil {
				return err
			}
			return startWorker(e)
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"lotpaper":   lotpaperCommand,
			"status":     statusCommand,
			"same":       sameCommand,
			"cells":      cellsCommand,
			"jsonschema": schemaCommand,
			"faults":     faultsCommand,
			"latin1":     latin1Command,
			"cut":        cutCommand,
			"bom":        bomCommand,
			"part":       partCommand,
			"workbook":   workbookCommand,
			"fill":       fillCommand,
			"badxlsx":    badWorkbookCommand,
			"photo":      photoCommand,
		},
	})
}

func want(ts *testscript.TestScript, neg bool, args []string, n int, usage string) {
	if neg || len(args) != n {
		ts.Fatalf("usage: %s", usage)
	}
}

// status N lotpaper ARGS ...: the command ends with exactly that exit status.
func statusCommand(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 || args[1] != "lotpaper" {
		ts.Fatalf("usage: status N lotpaper ARGS ...")
	}
	wanted, err := strconv.Atoi(args[0])
	ts.Check(err)
	if got := lotpaper(ts, args[2:]); got != wanted {
		ts.Fatalf("exit status %d, want %d", got, wanted)
	}
}

// same A B: the two files are equal byte for byte.
func sameCommand(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 2 {
		ts.Fatalf("usage: [!] same A B")
	}
	a, b := ts.ReadFile(args[0]), ts.ReadFile(args[1])
	switch {
	case neg && a == b:
		ts.Fatalf("%s and %s are the same", args[0], args[1])
	case !neg && a != b:
		at := 0
		for at < len(a) && at < len(b) && a[at] == b[at] {
			at++
		}
		ts.Fatalf("%s (%d bytes) and %s (%d bytes) differ from byte %d on", args[0], len(a), args[1], len(b), at)
	}
}

// cells FILE [SHEET]: prints every filled cell of a workbook as
// SHEET!CELL, a tab, and its value (and =FORMULA), for stdout to look at.
func cellsCommand(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 || len(args) > 2 {
		ts.Fatalf("usage: cells FILE [SHEET]")
	}
	f, err := excelize.OpenFile(ts.MkAbs(args[0]))
	ts.Check(err)
	defer f.Close()
	found := false
	for _, sheet := range f.GetSheetList() {
		if len(args) == 2 && sheet != args[1] {
			continue
		}
		found = true
		rows, err := f.GetRows(sheet)
		ts.Check(err)
		for r, row := range rows {
			for c, value := range row {
				name, err := excelize.CoordinatesToCellName(c+1, r+1)
				ts.Check(err)
				formula, err := f.GetCellFormula(sheet, name)
				ts.Check(err)
				if formula != "" {
					value += "\t=" + formula
				}
				if value != "" {
					fmt.Fprintf(ts.Stdout(), "%s!%s\t%s\n", sheet, name, value)
				}
			}
		}
	}
	if !found {
		ts.Fatalf("no such sheet in %s: it has %q", args[0], f.GetSheetList())
	}
}

// latin1 IN OUT: writes a UTF-8 file as Windows-1252 (letters up to U+00FF).
func latin1Command(ts *testscript.TestScript, neg bool, args []string) {
	want(ts, neg, args, 2, "latin1 IN OUT")
	var out []byte
	for _, r := range ts.ReadFile(args[0]) {
		if r > 0xFF {
			ts.Fatalf("%q does not fit into one byte", r)
		}
		out = append(out, byte(r))
	}
	write(ts, args[1], out)
}

// cut N IN OUT: keeps the first N bytes.
func cutCommand(ts *testscript.TestScript, neg bool, args []string) {
	want(ts, neg, args, 3, "cut N IN OUT")
	n, err := strconv.Atoi(args[0])
	ts.Check(err)
	raw := []byte(ts.ReadFile(args[1]))
	if n >= len(raw) {
		ts.Fatalf("%s has only %d bytes", args[1], len(raw))
	}
	write(ts, args[2], raw[:n])
}

// photo WIDTH HEIGHT OUT: makes a JPEG file of noise as a camera writes it, with the
// words "Camera of Ada" in an application segment.
func photoCommand(ts *testscript.TestScript, neg bool, args []string) {
	want(ts, neg, args, 3, "photo WIDTH HEIGHT OUT")
	w, err := strconv.Atoi(args[0])
	ts.Check(err)
	h, err := strconv.Atoi(args[1])
	ts.Check(err)
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	rng := rand.New(rand.NewPCG(uint64(w), uint64(h)))
	for i := range m.Pix {
		m.Pix[i] = uint8(rng.UintN(256)) | 0x80
	}
	var b bytes.Buffer
	ts.Check(jpeg.Encode(&b, m, nil))
	const segment = "\xff\xe1\x00\x0fCamera of Ada"
	write(ts, args[2], slices.Concat(b.Bytes()[:2], []byte(segment), b.Bytes()[2:]))
}

// bom IN OUT: puts a byte order mark in front.
func bomCommand(ts *testscript.TestScript, neg bool, args []string) {
	want(ts, neg, args, 2, "bom IN OUT")
	write(ts, args[1], append([]byte("\xEF\xBB\xBF"), ts.ReadFile(args[0])...))
}

// part KEY OUT: keeps one value of the JSON document on stdout, without the head
// of the book that it was read from.
func partCommand(ts *testscript.TestScript, neg bool, args []string) {
	want(ts, neg, args, 2, "part KEY OUT")
	var doc map[string]json.RawMessage
	ts.Check(json.Unmarshal([]byte(ts.ReadFile("stdout")), &doc))
	if doc[args[0]] == nil {
		ts.Fatalf("the document has no %s", args[0])
	}
	write(ts, args[1], doc[args[0]])
}

func write(ts *testscript.TestScript, name string, raw []byte) {
	ts.Check(os.WriteFile(ts.MkAbs(name), raw, 0o644))
}

// TestScripts_Promise: every script opens with the promise that it keeps.
func TestScripts_Promise(t *testing.T) {
	scripts, err := filepath.Glob(filepath.Join(root, "testdata", "script", "*.txtar"))
	if err != nil || len(scripts) == 0 {
		t.Fatalf("no scripts: %v", err)
	}
	for _, name := range scripts {
		f, err := os.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		head := make([]byte, 200)
		n, err := io.ReadFull(f, head)
		f.Close()
		if err != nil && n == 0 {
			t.Errorf("%s: %v", name, err)
		}
		first, _, _ := bytes.Cut(head[:n], []byte("\n"))
		if !strings.HasPrefix(string(first), "# ") || len(first) < 20 {
			t.Errorf("%s does not open with its promise", filepath.Base(name))
		}
	}
}
