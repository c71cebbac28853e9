package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/desk"
)

func TestStockFilter_Request(t *testing.T) {
	var got desk.StockFilter
	parsed(t, func(c *cobra.Command) { stockFilter(c, &got) }, "--parcel", "P1", "--species", "topaz", "--shape",
		"oval", "--place", "memo/A B", "--owner", "own", "--all")
	want := desk.StockFilter{Parcel: "P1", Species: "topaz", Shape: "oval", Place: "memo/A B", Owner: "own", All: true}
	if got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

// The stock is listed by a filter on screen, in JSON, as CSV and as a workbook,
// which may hold the lots in doubt.
func TestStockList_Forms(t *testing.T) {
	p := lineBook(t)
	at := func(name string) string { return filepath.Join(p.dir, name) }
	var list answer.StockList
	readJSON(t, p.must("stock", "list", "--species", "topaz", "--json"), &list)
	if len(list.Lots) != 1 || list.Lots[0].Code != "T" || list.Lots[0].Identity != "stated" {
		t.Errorf("JSON: %+v", list)
	}
	table := p.must("stock", "list", "--species", "topaz")
	if lines := strings.Split(table, "\n"); len(lines) != 4 || !strings.HasPrefix(lines[2], "T\tT\town\ttopaz\t") ||
		!strings.HasPrefix(lines[0], "1 lot: 12 pieces, 12.000 ct,") || !strings.HasSuffix(lines[2],
		"\t12\t12.000\t480.00\tsafe") {
		t.Errorf("table:\n%s", table)
	}
	if lots := p.must("lot", "list", "--species", "topaz"); lots != table {
		t.Errorf("lot list is another:\n%s", lots)
	}
	p.must("stock", "list", "--species", "topaz", "-o", at("stock.csv"))
	if rows := readCSV(t, at("stock.csv")); len(rows) != 2 || rows[0][19] != "Cost (EUR)" || rows[1][19] != "480.00" {
		t.Errorf("CSV: %q", rows)
	}
	p.must("stock", "list", "-o", at("stock.xlsx"))
	rows := readXLSX(t, at("stock.xlsx"))
	if last := rows[len(rows)-1]; last[0] != "2 lots" || rows[len(rows)-2][0] != "S" {
		t.Errorf("workbook: %q", rows)
	}
	p.must("stock", "list", "--doubt", "-o", at("doubt.xlsx"))
	wantFault(t, p.run("stock", "list", "--doubt"), 2, "where: --doubt")
	wantFault(t, p.run("stock", "list", "--doubt", "-o", at("doubt.csv")), 2, "where: --doubt")
	wantFault(t, p.run("stock", "list", "-o", at("stock.txt")), 2, "where: --output")
}

// A valuation has its items on screen, its sums by a group, and both in files.
func TestStockValue_Forms(t *testing.T) {
	p := lineBook(t)
	at := func(name string) string { return filepath.Join(p.dir, name) }
	ask := []string{"stock", "value", "--on", "2026-03-31"}
	var v answer.StockValue
	readJSON(t, p.must(append(ask, "--json")...), &v)
	if v.By != "parcel" || len(v.Rows) != 2 || v.Cost.String() != "1080.00" || v.On != "2026-03-31" {
		t.Errorf("JSON: %+v", v)
	}
	if table := p.must(ask...); !strings.Contains(table, "\nT\tP1\ttopaz\t12\t12.000\t480.00\t") ||
		!strings.Contains(table, "cost 1080.00 EUR, write-down ") {
		t.Errorf("table:\n%s", table)
	}
	if sums := p.must(append(ask, "--by", "species")...); !strings.Contains(sums, "\n  topaz ") {
		t.Errorf("sums:\n%s", sums)
	}
	p.must(append(ask, "--by", "species", "-o", at("value.csv"))...)
	if rows := readCSV(t, at("value.csv")); len(rows) != 3 || rows[0][1] != "Species" {
		t.Errorf("CSV: %q", rows)
	}
	p.must(append(ask, "-o", at("value.xlsx"))...)
	if raw, err := os.ReadFile(at("value.xlsx")); err != nil || !strings.HasPrefix(string(raw), "PK") {
		t.Errorf("workbook: %v", err)
	}
	wantFault(t, p.run("stock", "value", "--on", "soon"), 2, "where: --on")
	wantFault(t, p.run("stock", "value", "--by", "moon"), 2, "where: --by")
}

// A count that differs ends with status 6 and says where.
func TestStockCount_Forms(t *testing.T) {
	p := lineBook(t)
	file := p.file("count.csv", "lot,place,pieces,weight_ct\nT,safe,11,11.0\n")
	r := p.run("stock", "count", file)
	if r.code != 6 || !strings.Contains(r.out, "\nT\tsafe\t12\t11\t") ||
		!strings.HasSuffix(r.out, "1 lots counted, 1 differ, 1 not counted\nnot counted: S\n") {
		t.Errorf("exit %d:\n%s", r.code, r.out)
	}
	r = p.run("stock", "count", file, "--json")
	var count answer.StockCount
	readJSON(t, r.out, &count)
	if r.code != 6 || len(count.Differences) != 1 || len(count.Missing) != 1 {
		t.Errorf("exit %d: %+v", r.code, count)
	}
}
