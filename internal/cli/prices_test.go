package cli

import (
	"path/filepath"
	"strings"
	"testing"

	"lotpaper/internal/answer"
)

// Prices come from a file, are shown as of a date, and go into one. What the
// list does not state is empty, not 0.
func TestPrices_Forms(t *testing.T) {
	p := newBook(t)
	file := p.file("prices.csv", "species,variety,length_min,length_max,loose,replacement,date,source\n"+
		"topaz,,5,,40,,2026-01-02,own sales\ncorundum,sapphire,,4.99,120,150,2026-03-02,own sales\n")
	if out := p.must("prices", "import", file, "--date", "2026-03-02"); !strings.HasSuffix(out, ": 2 prices\n") {
		t.Errorf("import: %s", out)
	}
	var show answer.PricesShow
	readJSON(t, p.must("prices", "show", "--json"), &show)
	if len(show.Prices) != 2 || show.Prices[0].Loose.String() != "40.00" {
		t.Errorf("JSON: %+v", show)
	}
	want := "topaz\t\t\t5.00\t\t\t40.00\t\t2026-01-02\town sales\n"
	if table := p.must("prices", "show", "--on", "2026-02-01"); !strings.HasSuffix(table, "source\n"+want) {
		t.Errorf("table:\n%s", table)
	}
	path := filepath.Join(p.dir, "out.csv")
	p.must("prices", "show", "-o", path)
	rows := readCSV(t, path)
	if len(rows) != 3 || rows[0][6] != "Loose per ct (EUR)" || strings.Join(rows[1], "\t")+"\n" != want {
		t.Errorf("CSV: %q", rows)
	}
	wantFault(t, p.run("prices", "show", "--on", "soon"), 2, "where: --on")
}
