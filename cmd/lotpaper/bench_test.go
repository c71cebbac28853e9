package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"lotpaper/internal/testkit"
)

// BenchmarkTable prints the table of wall-clock ratios in DEVELOPERS.md: each of ours
// and its yardstick interleaved five times in one run, the least time of each
// counts. Run it with .ci/bench.
func BenchmarkTable(b *testing.B) {
	dir := b.TempDir()
	bin := filepath.Join(dir, "lotpaper")
	build(b, bin, ".")
	empty := filepath.Join(dir, "empty")
	source := filepath.Join(dir, "empty.go")
	put(b, source, "package main\n\nfunc main() {}\n")
	build(b, empty, source)
	small, large := filepath.Join(dir, "10k.csv"), filepath.Join(dir, "100k.csv")
	parcelCSV(b, small, 10_000)
	parcelCSV(b, large, 100_000)
	book := filepath.Join(dir, "stock.db")
	importInto(b, bin, book, large)

	fmt.Println("| what | ours | yardstick | ratio | to hold |")
	fmt.Println("| --- | --- | --- | --- | --- |")
	n := 0
	fresh := func() string { n++; return filepath.Join(dir, "b"+strconv.Itoa(n)+".db") }
	var peak int64
	ours, yard := compare(func() { peak = max(peak, importInto(b, bin, fresh(), large)) }, func() {
		run(b, "sqlite3", fresh(), ".mode csv", ".import "+large+" lots")
	})
	row("import of a 100,000-lot CSV, beside sqlite3's own .import", ours, yard, "<= 12")
	ten, _ := compare(func() { importInto(b, bin, fresh(), small) }, func() {})
	row("the same, beside our import of 10,000 lots", ours, ten, "<= 12")
	fmt.Printf("| peak memory of that import | %d MiB | | | < 300 MiB |\n", peak>>20)
	out := filepath.Join(dir, "stock.xlsx")
	ours, yard = compare(func() { run(b, bin, "stock", "list", "--book", book, "-o", out, "--force", "-q") },
		func() { plainWriter(b, out, filepath.Join(dir, "plain.xlsx")) })
	row("stock list of 100,000 lots to XLSX, beside excelize's StreamWriter with the same cells", ours, yard, "<= 1.4")
	ours, yard = compare(func() { run(b, bin, "--version") }, func() { run(b, empty) })
	row("start of `lotpaper --version`, beside an empty Go program", ours, yard, "<= 3")
}

func row(what string, ours, yard time.Duration, hold string) {
	fmt.Printf("| %s | %s | %s | %.2f | %s |\n", what, short(ours), short(yard), float64(ours)/float64(yard), hold)
}

func short(d time.Duration) string {
	if d < time.Second {
		return fmt.Sprintf("%.1f ms", float64(d)/1e6)
	}
	return fmt.Sprintf("%.2f s", d.Seconds())
}

// compare runs both five times in turn and returns the least time of each.
func compare(ours, yard func()) (a, b time.Duration) {
	a, b = time.Hour, time.Hour
	for range 5 {
		begin := time.Now()
		ours()
		a = min(a, time.Since(begin))
		begin = time.Now()
		yard()
		b = min(b, time.Since(begin))
	}
	return a, b
}

func build(b *testing.B, out, source string) {
	b.Helper()
	cmd := exec.Command("go", "build", "-o", out, source)
	cmd.Env = append(os.Environ(), "CGO_ENABLED=0")
	if text, err := cmd.CombinedOutput(); err != nil {
		b.Fatalf("build: %v\n%s", err, text)
	}
}

// run runs a command and returns its peak memory in bytes.
func run(b *testing.B, name string, args ...string) int64 {
	b.Helper()
	cmd := exec.Command(name, args...)
	var text bytes.Buffer
	cmd.Stdout, cmd.Stderr = &text, &text
	if err := cmd.Run(); err != nil {
		b.Fatalf("%s %s: %v\n%s", name, strings.Join(args, " "), err, text.String())
	}
	return peakOf(cmd.ProcessState)
}

func importInto(b *testing.B, bin, book, csv string) int64 {
	b.Helper()
	run(b, bin, "init", "--book", book, "--currency", "EUR", "-q")
	return run(b, bin, "parcel", "import", csv, "--book", book, "--vendor", "A Vendor", "--currency", "EUR", "-q")
}

func put(b *testing.B, path, text string) {
	b.Helper()
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		b.Fatal(err)
	}
}

// parcelCSV writes n invented lots with every column of the parcel template.
func parcelCSV(b *testing.B, path string, n int) {
	b.Helper()
	f, err := os.Create(path)
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	if err := (testkit.BigBook{Seed: 1, Stones: n}).WriteParcelCSV(f); err != nil {
		b.Fatal(err)
	}
}

// plainWriter copies the cells of our stock list with nothing but excelize's
// StreamWriter, so that both write the same cells.
func plainWriter(b *testing.B, from, to string) {
	b.Helper()
	if cells == nil {
		cells = readCells(b, from)
	}
	f := excelize.NewFile()
	defer f.Close()
	w, err := f.NewStreamWriter("Sheet1")
	if err != nil {
		b.Fatal(err)
	}
	for i, r := range cells {
		at, err := excelize.CoordinatesToCellName(1, i+1)
		if err != nil {
			b.Fatal(err)
		}
		if err := w.SetRow(at, r); err != nil {
			b.Fatal(err)
		}
	}
	if err := w.Flush(); err != nil {
		b.Fatal(err)
	}
	if err := f.SaveAs(to); err != nil {
		b.Fatal(err)
	}
}

var cells [][]any

// readCells reads a workbook's first sheet: numbers as numbers, the rest as
// text, and no cell where there is none.
func readCells(b *testing.B, path string) [][]any {
	b.Helper()
	f, err := excelize.OpenFile(path, excelize.Options{RawCellValue: true})
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	rows, err := f.Rows(f.GetSheetName(0))
	if err != nil {
		b.Fatal(err)
	}
	var out [][]any
	for rows.Next() {
		columns, err := rows.Columns()
		if err != nil {
			b.Fatal(err)
		}
		r := make([]any, len(columns))
		for i, c := range columns {
			if v, err := strconv.ParseFloat(c, 64); err == nil {
				r[i] = v
			} else if c != "" {
				r[i] = c
			}
		}
		out = append(out, r)
	}
	runtime.GC()
	return out
}
