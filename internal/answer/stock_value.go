package answer

import (
	"cmp"
	"fmt"
	"io"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// StockValue is the dealer's own stock at cost, at net realisable value and at
// the lower of the two, item by item (IAS 2), grouped by parcel, species or
// place. Lots of others are counted and carry no value.
type StockValue struct {
	Head
	Scope     string     `json:"scope"`
	By        string     `json:"by"` // parcel, species, place
	Rows      []ValueRow `json:"rows"`
	Cost      num.Money  `json:"cost"`
	WriteDown num.Money  `json:"write_down"`
	Value     num.Money  `json:"value"`    // lower of cost and net realisable value
	Unpriced  int        `json:"unpriced"` // rows without a price: held at cost
	Others    int        `json:"others"`   // lots of others, out of the valuation
}

// ValueRow is one lot, or what lies of it in one place. A lot without a price
// in the price list has no net realisable value.
type ValueRow struct {
	Group     string     `json:"group"` // the parcel, species or place
	Lot       string     `json:"lot"`
	Parcel    string     `json:"parcel"`
	Name      string     `json:"name"`
	Place     string     `json:"place"`
	Pieces    int64      `json:"pieces"`
	Carats    num.Carat  `json:"carats"`
	Cost      num.Money  `json:"cost"`
	NRV       *num.Money `json:"nrv"`        // null: the price list does not know it
	WriteDown num.Money  `json:"write_down"` // item by item, never by class
	Price     string     `json:"price"`      // where the price is from
	Bought    book.Date  `json:"bought"`
	Days      int64      `json:"days"` // since the parcel's date
}

// columns are the columns of the items.
func (v *StockValue) columns() []column[ValueRow] {
	by := capital(v.By)
	if v.By == "parcel" {
		by = "" // the parcel stands in its own column
	}
	return []column[ValueRow]{
		{"lot", "Lot", 13, func(r *ValueRow) sheet.Cell { return sheet.Text(r.Lot).As(sheet.Strong).Wrap() }},
		{"", by, 16, func(r *ValueRow) sheet.Cell { return sheet.Text(r.Group).Wrap() }},
		{"parcel", "Parcel", 10, func(r *ValueRow) sheet.Cell { return sheet.Text(r.Parcel).Wrap() }},
		{"stone", "Name", 20, func(r *ValueRow) sheet.Cell { return sheet.Text(r.Name).Wrap() }},
		{"", "Place", 14, func(r *ValueRow) sheet.Cell { return sheet.Text(r.Place).Wrap() }},
		{"", "Bought", 12, func(r *ValueRow) sheet.Cell { return sheet.Date(string(r.Bought)) }},
		{"pieces", "Pieces", 8, func(r *ValueRow) sheet.Cell { return sheet.Int(r.Pieces) }},
		{"carats", "By scale (ct)", 10, func(r *ValueRow) sheet.Cell { return sheet.Carats(r.Carats) }},
		{"cost", v.unit("Cost"), 12, func(r *ValueRow) sheet.Cell { return sheet.Money(r.Cost) }},
		{"NRV", v.unit("Net realisable value"), 13, (*ValueRow).nrv},
		{"", v.unit("Value"), 12, func(r *ValueRow) sheet.Cell { return sheet.Money(r.Cost.Sub(r.WriteDown)) }},
		{"write-down", v.unit("Write-down"), 12, func(r *ValueRow) sheet.Cell { return sheet.Money(r.WriteDown) }},
		{"days", "Held (days)", 8, func(r *ValueRow) sheet.Cell { return sheet.Int(r.Days) }},
		{"", "Price from", 26, func(r *ValueRow) sheet.Cell {
			return sheet.Text(cmp.Or(r.Price, "no price known: at cost")).Wrap()
		}},
	}
}

// nrv is the net realisable value as a cell.
func (r *ValueRow) nrv() sheet.Cell {
	if r.NRV == nil {
		return sheet.Text("no price").Right()
	}
	return sheet.Money(*r.NRV)
}

// List is the items.
func (v *StockValue) List() Listing { return v }

// Screen is the items and their sums.
func (v *StockValue) Screen() Screen {
	s := Screen{{Table: tableOf(v.columns(), v.Rows)}}
	s.line("cost %s, write-down %s, value %s on %s; %d lots without a price, %d lots of others left out",
		v.Cost.Words(), v.WriteDown.Words(), v.Value.Words(), v.On, v.Unpriced, v.Others)
	s.remark("This is no appraisal for insurance or tax.")
	return s
}

// Sums is the valuation's sums for a screen.
func (v *StockValue) Sums() Screen { return screenOf(v.Text()) }

// WriteCSV writes the items, each group together.
func (v *StockValue) WriteCSV(w io.Writer) error { return writeCSV(w, v.columns(), each(v.sorted())) }

// Workbook is the valuation as a workbook: a sheet of sums by group and a sheet
// of items.
func (v *StockValue) Workbook() (*sheet.Workbook, error) {
	t := newTally(v.Currency)
	d := v.digits()
	columns := filed(v.columns())
	figures := map[string]string{v.unit("Cost"): "cost", v.unit("Net realisable value"): "nrv",
		v.unit("Value"):      "value",
		v.unit("Write-down"): "down"} // columns whose cells are live figures
	items := &page{Sheet: sheet.Sheet{Name: "Items", Title: "Items at the lower of cost and net realisable value",
		Landscape: true, FreezeCol: 1, Columns: sheetColumns(columns), Notes: []string{
			"Item by item, as IAS 2 asks: a loss on one is never set against a gain on another. Where no price is " +
				"known the item stands at cost, and says so. Only own stock is valued."}}}
	var groups []string
	members := map[string][]int{} // of each group, rows
	rows := v.sorted()
	for i, r := range rows {
		cost, nrv, value, down := formula.At("cost", i), formula.At("nrv", i), formula.At("value", i),
			formula.At("down", i)
		t.input(cost, r.Cost.Dec())
		worth := of(cost)
		if r.NRV != nil {
			t.input(nrv, r.NRV.Dec())
			worth = costing.Worth(of(cost), of(nrv))
		}
		t.formula(value, worth)
		t.formula(down, costing.WriteDown(of(cost), of(value)))
		if err := t.gives(down, r.WriteDown); err != nil {
			return nil, fmt.Errorf("valuation of %s: %w", r.Lot, err)
		}
		if members[r.Group] == nil {
			groups = append(groups, r.Group)
		}
		members[r.Group] = append(members[r.Group], i)
		row := make([]cell, len(columns))
		for j, c := range columns {
			row[j] = plain(c.value(&r))
			if key := figures[c.header]; key != "" && (key != "nrv" || r.NRV != nil) {
				row[j] = lives(formula.At(key, i), d)
			}
		}
		items.add(row...)
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
	for what, want := range map[string]num.Money{"cost": v.Cost, "value": v.Value, "down": v.WriteDown} {
		if err := t.gives(formula.At("sum of "+what, len(groups)), want); err != nil {
			return nil, fmt.Errorf("valuation: %w", err)
		}
	}
	sum.gap()
	sum.section("Basis", wide)
	sum.pairs(wide-1, v.basis())
	sum.notes(wide, cautionValue)
	return assemble(v.Head, t, []*page{sum, items})
}

// sorted are the rows with each group together, groups in order of first use.
func (v *StockValue) sorted() []ValueRow {
	var groups []string
	by := map[string][]ValueRow{}
	for _, r := range v.Rows {
		if _, known := by[r.Group]; !known {
			groups = append(groups, r.Group)
		}
		by[r.Group] = append(by[r.Group], r)
	}
	out := make([]ValueRow, 0, len(v.Rows))
	for _, g := range groups {
		out = append(out, by[g]...)
	}
	return out
}

// Text is the valuation's sums for a terminal.
func (v *StockValue) Text() string {
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
		n, cost, down = n+1, cost.Add(r.Cost), down.Add(r.WriteDown)
		allN, allCost, allDown = allN+1, allCost.Add(r.Cost), allDown.Add(r.WriteDown)
	}
	if n > 0 {
		flush(group, n, cost, down)
	}
	flush("all", allN, allCost, allDown)
	table(&b, rows)
	fmt.Fprintf(&b, "\n%s\n", cautionValue)
	return b.String()
}
