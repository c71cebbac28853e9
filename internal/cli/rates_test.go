package cli

import (
	"path/filepath"
	"strings"
	"testing"

	"lotpaper/internal/answer"
	"lotpaper/internal/testkit/books"
)

// Rates come from a file, are shown by kind and date, and go into one.
func TestRates_Forms(t *testing.T) {
	p := newBook(t)
	file := p.file("rates.csv", books.Rates+"fx,JPY,0.6112,100,EUR/JPY,2026-01-02,invented\n"+
		"fx,USD,0.95,1,EUR/USD,2026-02-01,invented\n")
	if out := p.must("rates", "import", file, "--date", "2026-02-02"); !strings.HasSuffix(out, " rates\n") {
		t.Errorf("import: %s", out)
	}
	var done answer.Imported
	readJSON(t, p.must("rates", "import", file, "--date", "2026-02-02", "--dry-run", "--json"), &done)
	if done.Rows < 10 || done.Entry == "" {
		t.Errorf("JSON of an import: %+v", done)
	}
	var show answer.RatesShow
	readJSON(t, p.must("rates", "show", "--kind", "fx", "--on", "2026-01-31", "--json"), &show)
	if len(show.Rates) != 2 || show.Rates[0].Kind != "fx" {
		t.Errorf("JSON: %+v", show)
	}
	table := p.must("rates", "show", "--kind", "fx", "--on", "2026-02-01")
	for _, want := range []string{"kind\tname\tvalue\tunit\tdate\tsource\n", "fx\tUSD\t0.95\tEUR/USD\t2026-02-01\t",
		"fx\tJPY\t0.6112 per 100\tEUR/JPY\t"} {
		if !strings.Contains(table, want) {
			t.Errorf("the table does not say %q:\n%s", want, table)
		}
	}
	path := filepath.Join(p.dir, "out.csv")
	p.must("rates", "show", "--kind", "fx", "-o", path)
	rows := readCSV(t, path)
	if len(rows) != 4 || strings.Join(rows[0], ",") != "Kind,Name,Value,Per,Unit,Date,Source,Note" {
		t.Errorf("CSV: %q", rows)
	}
	for _, row := range rows {
		if row[1] == "JPY" && (row[2] != "0.6112" || row[3] != "100") {
			t.Errorf("a number and what it is for: %q", row)
		}
	}
	wantFault(t, p.run("rates", "show", "--on", "soon"), 2, "where: --on")
	wantFault(t, p.run("rates", "import", p.file("bad.csv", "kind,name,value,date,source\nmetal,gold,many,2026-01-02,"+
		"x\n")),
		3, "bad.csv", "many")
}
