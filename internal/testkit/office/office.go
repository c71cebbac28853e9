// Package office has an independent program, LibreOffice, compute workbooks
// again. Only tests import it.
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
// is a table, every other a workbook. A machine without the program skips the
// test, except under CI.
func Recalculate(t testing.TB, files map[string][]byte) map[string][]byte {
	t.Helper()
	program, err := exec.LookPath("soffice")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("soffice is missing: install libreoffice-calc")
		}
		t.Skip("soffice is not installed")
	}
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
	if err != nil {
		t.Fatalf("soffice: %v\n%s", err, log)
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
