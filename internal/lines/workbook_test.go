package lines_test

import (
	"bytes"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// changedWorkbook sets the cell beside a label, the first below the heading
// under, and takes the values of all formulas out.
func changedWorkbook(t *testing.T, raw []byte, label, under, value string) []byte {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	on := "Assumptions"
	if under != "" {
		on = "Cost build-up"
	}
	rows, err := f.GetRows(on)
	if err != nil {
		t.Fatal(err)
	}
	below := under == ""
	for i, row := range rows {
		for j, v := range row {
			below = below || strings.HasPrefix(v, under)
			if !below || strings.TrimSpace(v) != label {
				continue
			}
			at := j + 1
			for at < len(row) && row[at] == "" {
				at++
			}
			cell, _ := excelize.CoordinatesToCellName(at+1, i+1)
			n, err := strconv.ParseFloat(value, 64)
			if err == nil {
				err = f.SetCellValue(on, cell, n)
			}
			if err == nil {
				err = f.UpdateLinkedValue()
			}
			var out bytes.Buffer
			if err == nil {
				err = f.Write(&out)
			}
			if err != nil {
				t.Fatal(err)
			}
			return out.Bytes()
		}
	}
	t.Fatalf("the sheet %s has no %q", on, label)
	return nil
}

// numbersOf are the numbers of the sheets that follow from the assumptions.
func numbersOf(t *testing.T, raw []byte) map[string]float64 {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	out := map[string]float64{}
	for _, on := range []string{"Summary", "Pieces", "Cost build-up"} {
		rows, err := f.GetRows(on, excelize.Options{RawCellValue: true})
		if err != nil {
			t.Fatal(err)
		}
		for i, row := range rows {
			for j, v := range row {
				if n, err := strconv.ParseFloat(v, 64); err == nil {
					cell, _ := excelize.CoordinatesToCellName(j+1, i+1)
					out[on+"!"+cell] = n
				}
			}
		}
	}
	return out
}
