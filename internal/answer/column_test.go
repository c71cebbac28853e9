package answer

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"
)

// A column of the stock list shows the same value of a row on screen, in CSV
// and, by its name, in JSON.
func TestStockList_OneValue(t *testing.T) {
	l := sampleStock()
	table := tableOf(l.columns(), l.Lots)
	var raw bytes.Buffer
	if err := l.WriteCSV(&raw, each(l.Lots)); err != nil {
		t.Fatal(err)
	}
	file, err := csv.NewReader(&raw).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	columns := filed(l.columns())
	seen := 0
	for j, c := range columns {
		if file[0][j] != c.header {
			t.Errorf("column %d is headed %q, want %q", j, file[0][j], c.header)
		}
		for k, name := range table.Header {
			if name != c.name {
				continue
			}
			seen++
			for i := range l.Lots {
				if table.Rows[i][k] != file[i+1][j] {
					t.Errorf("%s of row %d is %q on screen, %q in the file", name, i, table.Rows[i][k], file[i+1][j])
				}
			}
		}
	}
	if seen != len(table.Header) || seen < 10 {
		t.Errorf("%d of %d columns of the screen stand in the file", seen, len(table.Header))
	}
	want := "P1-9\t\tmemo-in/Harbour Gems\tindicolite\tnone\tround\t2.10-2.30\t\t\t\t140\t9.633\t0.00\tsafe"
	if got := strings.Join(table.Rows[1], "\t"); got != want {
		t.Errorf("row %q, want %q", got, want)
	}
	if table.Right[0] || !table.Right[10] {
		t.Errorf("right: %v: pieces stand right, codes left", table.Right)
	}
}
