// Package office has independent programs take what ours writes: LibreOffice
// computes workbooks again, poppler reads PDF files. Only tests import it.
package office

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// Recalculate opens files with LibreOffice, in one call, and returns the
// workbooks that it saves of them by the same names. A name that ends in .csv
// is a table, every other a workbook.
func Recalculate(t testing.TB, files map[string][]byte) map[string][]byte {
	t.Helper()
	program := tool(t, "soffice", "libreoffice-calc")
	dir := t.TempDir()
	in, out := filepath.Join(dir, "in"), filepath.Join(dir, "out")
	if err := os.MkdirAll(in, 0o755); err != nil {
		t.Fatal(err)
	}
	args := []string{"--headless", "--norestore", "-env:UserInstallation=file://" + filepath.Join(dir, "profile"),
		"--convert-to", "xlsx:Calc MS Excel 2007 XML", "--outdir", out}
	for name, raw := range files {
		path := filepath.Join(in, name)
		if !strings.HasSuffix(name, ".csv") {
			path += ".xlsx"
		}
		if err := os.WriteFile(path, raw, 0o644); err != nil {
			t.Fatal(err)
		}
		args = append(args, path)
	}
	log, err := exec.CommandContext(t.Context(), program, args...).CombinedOutput()
	if err != nil { // on a loaded machine it has failed to start: once more, with a profile of its own
		args[2] += "2"
		again, err := exec.CommandContext(t.Context(), program, args...).CombinedOutput()
		if err != nil {
			t.Fatalf("soffice: %v\n%s%s", err, log, again)
		}
	}
	results := map[string][]byte{}
	for name := range files {
		// it exits 0 even when it fails
		raw, err := os.ReadFile(filepath.Join(out, strings.TrimSuffix(name, ".csv")+".xlsx"))
		if err != nil {
			t.Fatalf("soffice made nothing of %s: %v\n%s", name, err, log)
		}
		results[name] = raw
	}
	return results
}

// Poppler has a program of that collection read a PDF file, and returns what it
// prints.
func Poppler(t testing.TB, raw []byte, name string, args ...string) []byte {
	t.Helper()
	program := tool(t, name, "poppler-utils")
	file := filepath.Join(t.TempDir(), "paper.pdf")
	if err := os.WriteFile(file, raw, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.CommandContext(t.Context(), program, append(args, file, "-")...).Output()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return out
}

// tool is the path of a program of a Debian package. A machine without it skips
// the test, except under CI.
func tool(t testing.TB, name, debian string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("%s is missing: install %s", name, debian)
		}
		t.Skip(name + " is not installed")
	}
	return path
}
