package cli

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"lotpaper/internal/answer"
)

// readCSV returns the rows of a CSV file.
func readCSV(t *testing.T, path string) [][]string {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// readXLSX returns the rows of a workbook's first sheet.
func readXLSX(t *testing.T, path string) [][]string {
	t.Helper()
	f, err := excelize.OpenFile(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := f.GetRows(f.GetSheetList()[0])
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// A list is the same on screen, in JSON, as CSV and as a workbook.
func TestList_FourForms(t *testing.T) {
	p := lineBook(t)
	at := func(name string) string { return filepath.Join(p.dir, name) }
	var parcels answer.Parcels
	readJSON(t, p.must("parcel", "list", "--json"), &parcels)
	if len(parcels.Parcels) != 1 || parcels.Parcels[0].Code != "P1" {
		t.Fatalf("JSON: %+v", parcels)
	}
	price := parcels.Parcels[0].Price.String()

	screen := strings.Split(p.must("parcel", "list"), "\n")
	if got := strings.Split(screen[1], "\t"); !slices.Equal(got, []string{"P1", "", "purchase", "V", "2026-02-02", "2",
		"32", "17.000", price}) {
		t.Errorf("screen: %q", got)
	}
	want := [][]string{{"Parcel", "Label", "Kind", "Vendor", "Date", "Lots", "Pieces", "By scale (ct)", "Price (EUR)",
		"Invoice currency", "Rate", "Note"}, {"P1", "", "purchase", "V", "2026-02-02", "2", "32", "17.000",
		price, "EUR",
		"1", ""}}

	if out := p.must("parcel", "list", "-o", at("parcels.csv"), "--json"); out != "" {
		t.Errorf("a list that goes into a file answers on stdout:\n%s", out)
	}
	if got := readCSV(t, at("parcels.csv")); !slices.EqualFunc(got, want, slices.Equal) {
		t.Errorf("CSV: %q", got)
	}

	p.must("parcel", "list", "-o", at("parcels.XLSX"))
	book := readXLSX(t, at("parcels.XLSX"))
	if book[0][0] != "Parcels" || !strings.HasSuffix(book[1][0], ", Sample Stones.") ||
		!strings.HasPrefix(book[2][0], "Book, head hash ") {
		t.Errorf("the workbook says of itself: %q", book[:3])
	}
	table := book[len(book)-2:]
	table[1] = append(table[1], "")                        // an empty last cell is left out
	table[1][8] = strings.ReplaceAll(table[1][8], ",", "") // a workbook shows thousands
	if !slices.EqualFunc(table, want, slices.Equal) {
		t.Errorf("XLSX: %q", table)
	}
	if out := p.must("parcel", "list", "-o", "-"); !strings.HasPrefix(out, "PK") {
		t.Errorf("- is no workbook: %.20q", out)
	}
}

// The file's ending decides its kind; no other is written, and none over an
// older one.
func TestList_Faults(t *testing.T) {
	p := newBook(t)
	for _, name := range []string{"parcels.txt", "parcels", "parcels.csv.gz"} {
		path := filepath.Join(p.dir, name)
		wantFault(t, p.run("parcel", "list", "-o", path), 2, "must be a .csv or .xlsx file", "where: --output")
		if _, err := os.Stat(path); err == nil {
			t.Errorf("%s was written", name)
		}
	}
	path := p.file("parcels.csv", "mine")
	wantFault(t, p.run("parcel", "list", "-o", path), 5, "exists already", "--force")
	p.must("parcel", "list", "-o", path, "--force")
	if got := readCSV(t, path); len(got) != 1 || got[0][0] != "Parcel" {
		t.Errorf("an empty list: %q", got)
	}
}
