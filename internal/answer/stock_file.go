package answer

import (
	"cmp"
	"fmt"
	"io"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// sizeCell is a length as a number, or a range as text.
func sizeCell(s book.Size) sheet.Cell {
	if s.Min == s.Max || s.Max == 0 {
		return sheet.Millimetres(s.Min)
	}
	return sheet.Text(s.String()).Right()
}

// WriteXLSX streams the list as a workbook: next gives the rows until it says
// false. The sums stand in the last row.
func (l *StockList) WriteXLSX(w io.Writer, next func() (*StockRow, bool)) error {
	book := sheet.Workbook{Title: strings.TrimSpace(l.Number + " " + l.Title), Created: string(l.On)}
	columns := filed(l.columns())
	var row []sheet.Cell
	total, ended := stockTotal{cost: num.Zero(l.Currency)}, false
	return sheet.Stream(w, book, l.sheet(), func() ([]sheet.Cell, bool) {
		r, ok := next()
		switch {
		case ok:
			total.add(r)
			row = cells(row, columns, r)
			return row, true
		case ended:
			return nil, false
		}
		ended = true
		return l.totalCells(total), true
	})
}

// Workbook is the list as a workbook, with a sheet and a chart for each lot in
// doubt.
func (l *StockInDoubt) Workbook() (*sheet.Workbook, error) {
	s := &page{Sheet: l.sheet()}
	add := func(row []sheet.Cell) {
		var out []cell
		for _, c := range row {
			out = append(out, plain(c))
		}
		s.add(out...)
	}
	columns := filed(l.columns())
	total := stockTotal{cost: num.Zero(l.Currency)}
	for i := range l.Lots {
		total.add(&l.Lots[i])
		add(cells(nil, columns, &l.Lots[i]))
	}
	add(l.totalCells(total))
	pages := []*page{s}
	lots, err := l.Doubt.lotPages()
	if err != nil {
		return nil, err
	}
	return assemble(l.Head, newTally(l.Currency), append(pages, lots...))
}

// sheet is the list's sheet without its rows.
func (l *StockList) sheet() sheet.Sheet {
	s := sheet.Sheet{Name: "Stock", Title: l.Title, Landscape: true, FreezeCol: 1,
		Columns: sheetColumns(filed(l.columns())),
		Notes: []string{
			strings.Join(fields(string(l.On), l.Dealer, l.Scope, l.AsOf.Words()), ", ") + ".",
			l.caratWords() + " Sums are of scale readings."}}
	if l.Book != "" {
		s.Notes = append(s.Notes, "Book, head hash "+l.Book+"; facts, version "+cmp.Or(l.Facts, "not used")+".")
	}
	s.Notes = append(s.Notes, cautionValue)
	return s
}

// WriteCSV streams the list as CSV: next gives the rows until it says false.
func (l *StockList) WriteCSV(w io.Writer, next func() (*StockRow, bool)) error {
	return writeCSV(w, l.columns(), next)
}

// stockTotal is the sums of a list.
type stockTotal struct {
	lots, pieces int64
	carats       num.Carat
	cost         num.Money
}

func (t *stockTotal) add(r *StockRow) {
	t.lots++
	t.pieces += r.Pieces
	t.carats += r.Carats
	t.cost = t.cost.Add(r.Cost)
}

// totalCells is the last row: how many lots, and the sums under their columns.
func (l *StockList) totalCells(t stockTotal) []sheet.Cell {
	columns := filed(l.columns())
	row := cells(nil, columns, &StockRow{StockLot: StockLot{Pieces: t.pieces, Carats: t.carats, Cost: t.cost}})
	for i, c := range columns {
		switch c.name {
		case "pieces", "carats", "cost":
		default:
			row[i] = sheet.Empty()
		}
		row[i] = row[i].As(sheet.Total)
	}
	row[0] = sheet.Text(fmt.Sprintf("%d lots", t.lots)).As(sheet.Total)
	return row
}
