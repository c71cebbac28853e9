package answer

import "lotpaper/internal/sheet"

// StockList is a list of lots with what they have, where. Lots is empty where
// the rows are streamed into a file: a book may hold a million.
type StockList struct {
	Head  `json:"-"` // of its files: two books with the same stock print the same list
	Scope string     `json:"scope"` // what was asked for, in words: "all lots at safe"
	AsOf  *AsOf      `json:"as_of"` // null: now
	Lots  []StockRow `json:"lots"`
}

// StockRow is one lot of a list.
type StockRow struct {
	StockLot
	Identity string `json:"identity"` // what the tests say of it
}

// StockInDoubt is a list of lots with those whose tests do not settle what they
// are.
type StockInDoubt struct {
	StockList
	Doubt Identity `json:"doubt"`
}

// columns are the columns of the list. Widths are fixed, since rows are
// streamed and cannot be measured first.
func (l *StockList) columns() []column[StockRow] {
	return []column[StockRow]{
		{"lot", "Lot", 12, func(r *StockRow) sheet.Cell { return sheet.Text(r.Code) }},
		{"", "Parcel", 8, func(r *StockRow) sheet.Cell { return sheet.Text(r.Parcel) }},
		{"label", "Vendor's lot", 10, func(r *StockRow) sheet.Cell { return sheet.Text(r.Label) }},
		{"owner", "Owner", 15, func(r *StockRow) sheet.Cell { return sheet.Text(string(r.Owner)) }},
		{"stone", "Name", 17, func(r *StockRow) sheet.Cell { return sheet.Text(r.Called()) }},
		{"", "Species", 18, func(r *StockRow) sheet.Cell { return sheet.Text(r.Species) }},
		{"", "Nature", 10, func(r *StockRow) sheet.Cell { return sheet.Text(r.Facets.Nature.Value) }},
		{"treatment", "Treatment", 18, func(r *StockRow) sheet.Cell { return sheet.Text(r.treatment()) }},
		{"", "Identity", 11.5, func(r *StockRow) sheet.Cell { return sheet.Text(r.Identity) }},
		{"shape", "Shape", 14, func(r *StockRow) sheet.Cell { return sheet.Text(r.Shape) }},
		{"length", "Length (mm)", 10, func(r *StockRow) sheet.Cell { return sizeCell(r.Length) }},
		{"width", "Width (mm)", 10, func(r *StockRow) sheet.Cell { return sizeCell(r.Width) }},
		{"", "Depth (mm)", 10, func(r *StockRow) sheet.Cell { return sizeCell(r.Depth) }},
		{"color", "Color", 17, func(r *StockRow) sheet.Cell { return sheet.Text(r.Color) }},
		{"clarity", "Clarity", 14, func(r *StockRow) sheet.Cell { return sheet.Text(r.Clarity) }},
		{"", "Count", 9.5, func(r *StockRow) sheet.Cell { return sheet.Text(r.counted()) }},
		{"pieces", "Pieces", 8, func(r *StockRow) sheet.Cell { return sheet.Int(r.Pieces) }},
		{"", "Weight (ct)", 10, func(r *StockRow) sheet.Cell {
			return sheet.Number(r.Carats.Hundredths(l.Head.Carats).Dec(), 2)
		}},
		{"carats", "By scale (ct)", 10, func(r *StockRow) sheet.Cell { return sheet.Carats(r.Carats) }},
		{"cost", l.unit("Cost"), 11, func(r *StockRow) sheet.Cell { return sheet.Money(r.Cost) }},
		{"where", "Place", 14, func(r *StockRow) sheet.Cell { return sheet.Text(r.where()) }},
		{"", "Note", 22, func(r *StockRow) sheet.Cell { return sheet.Text(r.Note) }},
	}
}

// Screen is the list, under the moment that it is of when that is past.
func (l *StockList) Screen() Screen {
	var s Screen
	s.asOf(l.AsOf)
	return append(s, Part{Table: tableOf(l.columns(), l.Lots)})
}
