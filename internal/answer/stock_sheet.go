package answer

import (
	"cmp"
	"fmt"
	"io"
	"strings"

	"lotpaper/internal/formula"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// columns are the columns of the list. Widths are fixed, since rows are
// streamed and cannot be measured first.
func (l *StockList) columns() []sheet.Col {
	cols := []sheet.Col{{Header: "Lot", Width: 12}, {Header: "Parcel", Width: 8}, {Header: "Vendor's lot", Width: 10},
		{Header: "Name", Width: 17}, {Header: "Species", Width: 18}, {Header: "Nature", Width: 10},
		{Header: "Treatment", Width: 18}, {Header: "Identity", Width: 11.5}, {Header: "Shape", Width: 14},
		{Header: "Color", Width: 17}, {Header: "Clarity", Width: 14}, {Header: "Owner", Width: 15}}
	if l.ByPlace {
		cols = append(cols, sheet.Col{Header: "Place", Width: 14})
	}
	cols = append(cols, sheet.Col{Header: "Note", Width: 22}, sheet.Col{Header: "Count", Width: 9.5},
		sheet.Col{Header: "Pieces", Width: 8}, sheet.Col{Header: "Length (mm)", Width: 10},
		sheet.Col{Header: "Width (mm)", Width: 10}, sheet.Col{Header: "Depth (mm)", Width: 10},
		sheet.Col{Header: "Weight (ct)", Width: 10}, sheet.Col{Header: "By scale (ct)", Width: 10})
	if l.Costs {
		cols = append(cols, sheet.Col{Header: l.unit("Cost"), Width: 11})
	}
	return cols
}

// cells writes a row into the list's columns, reusing row's memory.
func (l *StockList) cells(row []sheet.Cell, r *StockRow) []sheet.Cell {
	counted := "counted"
	if r.Estimated {
		counted = "estimated"
	}
	treatment := r.Treatment
	if treatment == "" {
		treatment = "not stated"
	}
	row = append(row[:0], sheet.Text(r.Lot), sheet.Text(r.Parcel), sheet.Text(r.Label), sheet.Text(r.Name),
		sheet.Text(r.Species), sheet.Text(r.Nature), sheet.Text(treatment), sheet.Text(r.Identity), sheet.Text(r.Shape),
		sheet.Text(r.Color), sheet.Text(r.Clarity), sheet.Text(r.Owner))
	if l.ByPlace {
		row = append(row, sheet.Text(r.Place))
	}
	row = append(row, sheet.Text(r.Note), sheet.Text(counted), sheet.Int(r.Pieces), sizeCell(r.Length.Min,
		r.Length.Max), sizeCell(r.Width.Min, r.Width.Max), sizeCell(r.Depth.Min, r.Depth.Max),
		sheet.Number(r.Carats.Hundredths(l.Carats).Dec(), 2), sheet.Carats(r.Carats))
	if l.Costs {
		row = append(row, sheet.Money(r.Cost))
	}
	return row
}

// sizeCell is a length as a number, or a range as text.
func sizeCell(low, high num.Millimetre) sheet.Cell {
	switch {
	case low == high:
		return sheet.Millimetres(low)
	case high == 0:
		return sheet.Millimetres(low)
	}
	return sheet.Text(low.String() + "-" + high.String()).Right()
}

// WriteXLSX streams the list as a workbook: next gives the rows until it says
// false. The sums stand in the last row.
func (l *StockList) WriteXLSX(w io.Writer, next func() (*StockRow, bool)) error {
	book := sheet.Workbook{Title: strings.TrimSpace(l.Number + " " + l.Title), Created: string(l.On)}
	var row []sheet.Cell
	total, ended := stockTotal{cost: num.Zero(l.Currency)}, false
	return sheet.Stream(w, book, l.sheet(), func() ([]sheet.Cell, bool) {
		r, ok := next()
		switch {
		case ok:
			total.add(r)
			row = l.cells(row, r)
			return row, true
		case ended:
			return nil, false
		}
		ended = true
		return l.totalCells(total), true
	})
}

// Workbook is a list that fits in memory, with a sheet and a chart for each lot
// in doubt. doubt may be nil.
func (l *StockList) Workbook(rows []StockRow, doubt *IdentityReport) (*sheet.Workbook, error) {
	s := &page{Sheet: l.sheet()}
	add := func(row []sheet.Cell) {
		var cells []cell
		for _, c := range row {
			cells = append(cells, plain(c))
		}
		s.add(cells...)
	}
	total := stockTotal{cost: num.Zero(l.Currency)}
	for i := range rows {
		total.add(&rows[i])
		add(l.cells(nil, &rows[i]))
	}
	add(l.totalCells(total))
	pages := []*page{s}
	if doubt != nil {
		lots, err := doubt.lotPages()
		if err != nil {
			return nil, err
		}
		pages = append(pages, lots...)
	}
	return assemble(l.Head, newTally(l.Currency), pages)
}

// sheet is the list's sheet without its rows.
func (l *StockList) sheet() sheet.Sheet {
	s := sheet.Sheet{Name: "Stock", Title: l.Title, Landscape: true, FreezeCol: 1, Columns: l.columns(),
		Notes: []string{
			strings.Join(fields(string(l.On), l.Dealer, l.Scope), ", ") + ".",
			l.caratWords() + " Sums are of scale readings."}}
	if l.Book != "" {
		s.Notes = append(s.Notes, "Book, head hash "+l.Book+"; facts, version "+cmp.Or(l.Facts, "not used")+".")
	}
	if l.Costs {
		s.Notes = append(s.Notes, cautionValue)
	}
	return s
}

// WriteCSV streams the list as CSV.
func (l *StockList) WriteCSV(w io.Writer, next func() (*StockRow, bool)) error {
	var header []string
	for _, c := range l.columns() {
		header = append(header, c.Header)
	}
	var row []sheet.Cell
	return sheet.WriteCSV(w, header, func() ([]sheet.Cell, bool) {
		r, ok := next()
		if !ok {
			return nil, false
		}
		row = l.cells(row, r)
		return row, true
	})
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
	row := l.cells(nil, &StockRow{Pieces: t.pieces, Carats: t.carats, Cost: t.cost})
	sums := map[string]bool{"Pieces": true, "By scale (ct)": true, l.unit("Cost"): true}
	for i, c := range l.columns() {
		if !sums[c.Header] {
			row[i] = sheet.Empty()
		}
		row[i] = row[i].As(sheet.Total)
	}
	row[0] = sheet.Text(fmt.Sprintf("%d lots", t.lots)).As(sheet.Total)
	return row
}

// Workbook is the valuation as a workbook: a sheet of sums by group and a sheet
// of items.
func (v *Valuation) Workbook() (*sheet.Workbook, error) {
	t := newTally(v.Currency)
	d := v.digits()
	items := &page{Sheet: sheet.Sheet{Name: "Items", Title: "Items at the lower of cost and net realisable value",
		Landscape: true, FreezeCol: 1, Notes: []string{
			"Item by item, as IAS 2 asks: a loss on one is never set against a gain on another. Where no price is " +
				"known the item stands at cost, and says so. Only own stock is valued."},
		Columns: []sheet.Col{{Header: "Lot", Width: 13}, {Header: capital(v.By), Width: 16},
			{Header: "Name", Width: 20}, {Header: "Place", Width: 14}, {Header: "Bought", Width: 12},
			{Header: "Held (days)", Width: 8}, {Header: "Pieces", Width: 8}, {Header: "By scale (ct)", Width: 10},
			{Header: v.unit("Cost"), Width: 12}, {Header: v.unit("Net realisable value"), Width: 13},
			{Header: v.unit("Value"), Width: 12}, {Header: v.unit("Write-down"), Width: 12}, {Header: "Price from",
				Width: 26}}}}
	var groups []string
	members := map[string][]int{} // of each group, rows
	rows := v.sorted()
	for i, r := range rows {
		cost, nrv, value, down := formula.At("cost", i), formula.At("nrv", i), formula.At("value", i),
			formula.At("down", i)
		t.input(cost, r.Cost.Dec())
		known, worth := plain(sheet.Text("not known").Right()), of(cost)
		if r.NRV != nil {
			t.input(nrv, r.NRV.Dec())
			known, worth = lives(nrv, d), formula.Max(formula.Int(0), formula.Min(of(cost), of(nrv)))
		}
		t.formula(value, worth)
		t.formula(down, of(cost).Minus(of(value)))
		if members[r.Group] == nil {
			groups = append(groups, r.Group)
		}
		members[r.Group] = append(members[r.Group], i)
		items.add(styled(r.Lot, sheet.Strong), text(r.Group), text(r.Name), text(r.Place),
			plain(sheet.Date(string(r.Bought))), whole(r.Days), whole(r.Pieces), plain(sheet.Carats(r.Carats)),
			lives(cost, d), known, lives(value, d), lives(down, d), text(cmp.Or(r.Price, "no price known: at cost")))
	}
	sum := &page{Sheet: sheet.Sheet{Name: "Valuation", Title: v.Title, Columns: []sheet.Col{{Width: 26}, {Width: 9},
		{Width: 15}, {Width: 15}, {Width: 15}, {Width: 12}}}}
	const wide = 6
	sum.pairs(wide-1, append(v.origin(), [2]string{"Scope", v.Scope}, [2]string{"Currency", string(v.Currency)}))
	sum.gap()
	sum.add(styled(capital(v.By), sheet.Header), number("Lots"), number(v.unit("Cost")), number(v.unit("Value")),
		number(v.unit("Write-down")), number("Oldest (days)"))
	sums := func(group int, rows []int) []cell {
		var out []cell
		for _, what := range []string{"cost", "value", "down"} {
			key := formula.At("sum of "+what, group)
			t.sum(key, len(rows), func(k int) formula.Key { return formula.At(what, rows[k]) })
			out = append(out, lives(key, d))
		}
		return out
	}
	var all []int
	for i, g := range groups {
		of := members[g]
		all = append(all, of...)
		oldest := int64(0)
		for _, k := range of {
			oldest = max(oldest, rows[k].Days)
		}
		sum.add(append(append([]cell{text(cmp.Or(g, "none")), whole(int64(len(of)))}, sums(i, of)...),
			whole(oldest))...)
	}
	sum.total(1, append([]cell{whole(int64(len(rows)))}, sums(len(groups), all)...)...)
	sum.gap()
	sum.section("Basis", wide)
	sum.pairs(wide-1, v.basis())
	sum.notes(wide, cautionValue)
	return assemble(v.Head, t, []*page{sum, items})
}

// sorted are the rows with each group together, groups in order of first use.
func (v *Valuation) sorted() []ValuationRow {
	var groups []string
	by := map[string][]ValuationRow{}
	for _, r := range v.Rows {
		if _, known := by[r.Group]; !known {
			groups = append(groups, r.Group)
		}
		by[r.Group] = append(by[r.Group], r)
	}
	out := make([]ValuationRow, 0, len(v.Rows))
	for _, g := range groups {
		out = append(out, by[g]...)
	}
	return out
}

// Text is the valuation's sums for a terminal.
func (v *Valuation) Text() string {
	var b strings.Builder
	v.heading(&b)
	fmt.Fprintf(&b, "Scope: %s\n\n", v.Scope)
	rows := [][]string{{v.By, "lots", "cost", "value", "write-down"}}
	var group string
	n, cost, down := int64(0), num.Zero(v.Currency), num.Zero(v.Currency)
	allN, allCost, allDown := int64(0), num.Zero(v.Currency), num.Zero(v.Currency)
	flush := func(name string, n int64, cost, down num.Money) {
		rows = append(rows, []string{name, fmt.Sprint(n), cost.String(), cost.Sub(down).String(), down.String()})
	}
	for i, r := range v.sorted() {
		if i > 0 && r.Group != group {
			flush(group, n, cost, down)
			n, cost, down = 0, num.Zero(v.Currency), num.Zero(v.Currency)
		}
		group = r.Group
		n, cost, down = n+1, cost.Add(r.Cost), down.Add(r.WriteDown())
		allN, allCost, allDown = allN+1, allCost.Add(r.Cost), allDown.Add(r.WriteDown())
	}
	if n > 0 {
		flush(group, n, cost, down)
	}
	flush("all", allN, allCost, allDown)
	table(&b, rows)
	fmt.Fprintf(&b, "\n%s\n", cautionValue)
	return b.String()
}
