package main

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/xuri/excelize/v2"
)

// table puts rows on the sheet named "lots" of a new workbook, numbers as numbers.
func table(rows [][]string) (*excelize.File, error) {
	f := excelize.NewFile()
	if err := f.SetSheetName("Sheet1", "lots"); err != nil {
		return nil, err
	}
	for r, row := range rows {
		for c, text := range row {
			cell, err := excelize.CoordinatesToCellName(c+1, r+1)
			if err != nil {
				return nil, err
			}
			var value any = text
			if n, err := strconv.ParseFloat(text, 64); err == nil && r > 0 {
				value = n
			}
			if text == "" {
				continue
			}
			if err := f.SetCellValue("lots", cell, value); err != nil {
				return nil, err
			}
		}
	}
	return f, nil
}

// workbook IN.csv OUT.xlsx [1904]: the rows of a CSV as a workbook; with 1904,
// dates count from 1904 and a cell like 2026-03-31 is stored as such a date.
func workbookCommand(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 || len(args) > 3 {
		ts.Fatalf("usage: workbook IN.csv OUT.xlsx [1904]")
	}
	rows, err := csv.NewReader(strings.NewReader(ts.ReadFile(args[0]))).ReadAll()
	ts.Check(err)
	f, err := table(rows)
	ts.Check(err)
	if len(args) == 3 {
		yes := true
		ts.Check(f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &yes}))
		format := "yyyy-mm-dd"
		style, err := f.NewStyle(&excelize.Style{CustomNumFmt: &format})
		ts.Check(err)
		for r, row := range rows {
			for c, text := range row {
				var y, m, d int
				if n, err := fmt.Sscanf(text, "%4d-%2d-%2d", &y, &m, &d); n != 3 || err != nil || len(text) != 10 {
					continue
				}
				cell, err := excelize.CoordinatesToCellName(c+1, r+1)
				ts.Check(err)
				ts.Check(f.SetCellValue("lots", cell, days1904(y, m, d)))
				ts.Check(f.SetCellStyle("lots", cell, cell, style))
			}
		}
	}
	ts.Check(f.SaveAs(ts.MkAbs(args[1])))
}

// days1904 is the serial number of a day when 1904-01-01 is 0.
func days1904(y, m, d int) int {
	julian := func(y, m, d int) int { // Fliegel and Van Flandern, 1968
		return d - 32075 + 1461*(y+4800+(m-14)/12)/4 + 367*(m-2-(m-14)/12*12)/12 - 3*((y+4900+(m-14)/12)/100)/4
	}
	return julian(y, m, d) - julian(1904, 1, 1)
}

// fill IN.xlsx OUT.xlsx SHEET!CELL=VALUE ...: types values into a workbook, as
// whoever gets it would; numbers as numbers.
func fillCommand(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 3 {
		ts.Fatalf("usage: fill IN.xlsx OUT.xlsx SHEET!CELL=VALUE ...")
	}
	f, err := excelize.OpenFile(ts.MkAbs(args[0]))
	ts.Check(err)
	defer f.Close()
	for _, arg := range args[2:] {
		place, text, found := strings.Cut(arg, "=")
		sheet, cell, two := strings.Cut(place, "!")
		if !found || !two {
			ts.Fatalf("%q is no SHEET!CELL=VALUE", arg)
		}
		var value any = text
		if n, err := strconv.ParseFloat(text, 64); err == nil {
			value = n
		}
		ts.Check(f.SetCellValue(sheet, cell, value))
	}
	ts.Check(f.SaveAs(ts.MkAbs(args[1])))
}

// good is a parcel without a fault, as rows.
var good = [][]string{
	{"lot", "species", "shape", "pieces", "weight", "price", "price_basis"},
	{"A1", "topaz", "oval", "12", "14.62", "8", "per_carat"},
	{"A2", "quartz", "round", "30", "22.4", "120", "total"},
}

// badxlsx KIND OUT: a workbook with one thing wrong.
func badWorkbookCommand(ts *testscript.TestScript, neg bool, args []string) {
	want(ts, neg, args, 2, "badxlsx KIND OUT")
	raw, err := badWorkbook(args[0])
	ts.Check(err)
	write(ts, args[1], raw)
}

func badWorkbook(kind string) ([]byte, error) {
	f, err := table(good)
	if err != nil {
		return nil, err
	}
	switch kind {
	case "good":
	case "formula":
		err = f.SetCellFormula("lots", "E2", "=14+0.62")
	case "merged":
		err = f.MergeCell("lots", "B2", "B3")
	case "error":
		err = f.SetCellValue("lots", "D2", "#REF!")
		if err == nil {
			err = f.SetCellFormula("lots", "D2", "=1/0")
		}
	case "date":
		format := "yyyy-mm-dd"
		style, e := f.NewStyle(&excelize.Style{CustomNumFmt: &format})
		if e != nil {
			return nil, e
		}
		if err = f.SetCellValue("lots", "D2", 46112); err == nil {
			err = f.SetCellStyle("lots", "D2", "D2", style)
		}
	case "xls": // the signature of a compound file (MS-CFB 2.2)
		return append([]byte{0xD0, 0xCF, 0x11, 0xE0, 0xA1, 0xB1, 0x1A, 0xE1}, make([]byte, 1024)...), nil
	case "bomb":
		return bomb(f)
	default:
		return nil, fmt.Errorf("no such kind of bad workbook: %s", kind)
	}
	if err != nil {
		return nil, err
	}
	b, err := f.WriteToBuffer()
	if err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// bomb is a workbook whose texts unpack to 200 MB from some hundred kB.
func bomb(f *excelize.File) ([]byte, error) {
	b, err := f.WriteToBuffer()
	if err != nil {
		return nil, err
	}
	in, err := zip.NewReader(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	z.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) {
		return flate.NewWriter(w,
			flate.BestSpeed)
	})
	for _, part := range in.File {
		w, err := z.Create(part.Name)
		if err != nil {
			return nil, err
		}
		if part.Name == "xl/sharedStrings.xml" {
			if err := flood(w); err != nil {
				return nil, err
			}
			continue
		}
		r, err := part.Open()
		if err != nil {
			return nil, err
		}
		if _, err := io.Copy(w, r); err != nil {
			return nil, err
		}
		r.Close()
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

func flood(w io.Writer) error {
	if _, err := io.WriteString(w,
		`<?xml version="1.0"?><sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">`); err != nil {
		return err
	}
	block := []byte(strings.Repeat("<si><t>a</t></si>", 60_000))
	for range 200 {
		if _, err := w.Write(block); err != nil {
			return err
		}
	}
	_, err := io.WriteString(w, "</sst>")
	return err
}
