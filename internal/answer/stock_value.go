package answer

import (
	"cmp"
	"errors"
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
// the lower of the two, item by item (IAS 2), grouped by parcel, species, place or
// the party that has it. Lots of others are counted and carry no value.
type StockValue struct {
	Head
	Scope     string     `json:"scope"`
	AsOf      *AsOf      `json:"as_of"` // null: now
	By        string     `json:"by"`    // parcel, species, place, party
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
	Group     string     `json:"group"` // the parcel, species, place or party
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
		{"", "Bought", 13, func(r *ValueRow) sheet.Cell { return sheet.Date(string(r.Bought)) }},
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
	var s Screen
	s.asOf(v.AsOf)
	s.table(tableOf(v.columns(), v.Rows))
	s.line("cost %s, write-down %s, value %s on %s; %d lots without a price, %d lots of others left out",
		v.Cost.Words(), v.WriteDown.Words(), v.Value.Words(), v.On, v.Unpriced, v.Others)
	s.remark("This is no appraisal for insurance or tax.")
	return s
}

// Sums is the valuation's sums for a screen.
func (v *StockValue) Sums() Screen { return screenOf(v.Text()) }

// WriteCSV writes the items, each group together.
func (v *StockValue) WriteCSV(w io.Writer) error {
	rows, _ := v.grouped()
	return writeCSV(w, v.columns(), each(rows))
}

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
	rows, groups := v.grouped()
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
	var wrong error
	sums := func(group int, g valueGroup) []cell {
		var out []cell
		for _, x := range []struct {
			what string
			want num.Money
		}{{"cost", g.cost}, {"value", g.value()}, {"down", g.down}} {
			key := formula.At("sum of "+x.what, group)
			t.sum(key, g.lots, func(k int) formula.Key { return formula.At(x.what, g.first+k) })
			wrong = errors.Join(wrong, t.gives(key, x.want))
			out = append(out, lives(key, d))
		}
		return append([]cell{whole(int64(g.lots))}, out...)
	}
	for i, g := range groups {
		sum.add(append(append([]cell{text(cmp.Or(g.name, "none"))}, sums(i, g)...), whole(g.oldest))...)
	}
	sum.total(1, sums(len(groups), v.all())...)
	if wrong = errors.Join(wrong, t.gives(formula.At("sum of value", len(groups)), v.Value)); wrong != nil {
		return nil, fmt.Errorf("valuation: %w", wrong)
	}
	sum.gap()
	sum.section("Basis", wide)
	sum.pairs(wide-1, v.basis())
	sum.notes(wide, cautionValue)
	return assemble(v.Head, t, []*page{sum, items})
}

// valueGroup is the sums of rows that lie together.
type valueGroup struct {
	name       string
	first      int // row
	lots       int
	cost, down num.Money
	oldest     int64 // days
}

func (g valueGroup) value() num.Money { return g.cost.Sub(g.down) }

// all is the valuation as one group.
func (v *StockValue) all() valueGroup {
	return valueGroup{name: "all", lots: len(v.Rows), cost: v.Cost, down: v.WriteDown}
}

// grouped are the rows with each group together, and the groups in order of
// first use.
func (v *StockValue) grouped() ([]ValueRow, []valueGroup) {
	var groups []valueGroup
	at, by := map[string]int{}, map[string][]ValueRow{}
	for _, r := range v.Rows {
		i, known := at[r.Group]
		if !known {
			i, at[r.Group] = len(groups), len(groups)
			groups = append(groups, valueGroup{name: r.Group, cost: num.Zero(v.Currency), down: num.Zero(v.Currency)})
		}
		g := &groups[i]
		g.lots, g.oldest = g.lots+1, max(g.oldest, r.Days)
		g.cost, g.down = g.cost.Add(r.Cost), g.down.Add(r.WriteDown)
		by[r.Group] = append(by[r.Group], r)
	}
	rows := make([]ValueRow, 0, len(v.Rows))
	for i := range groups {
		groups[i].first = len(rows)
		rows = append(rows, by[groups[i].name]...)
	}
	return rows, groups
}

// Text is the valuation's sums for a terminal.
func (v *StockValue) Text() string {
	var b strings.Builder
	v.heading(&b)
	fmt.Fprintf(&b, "Scope: %s\n\n", v.Scope)
	rows := [][]string{{v.By, "lots", "cost", "value", "write-down"}}
	_, groups := v.grouped()
	for _, g := range append(groups, v.all()) {
		rows = append(rows, []string{g.name, fmt.Sprint(g.lots), g.cost.String(), g.value().String(),
			g.down.String()})
	}
	table(&b, rows)
	fmt.Fprintf(&b, "\n%s\n", cautionValue)
	return b.String()
}
