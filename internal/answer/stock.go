package answer

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// StockList is a list of lots with what they have, where. Lots is empty where
// the rows are streamed into a file: a book may hold a million.
type StockList struct {
	Head  `json:"-"` // of its files: two books with the same stock print the same list
	Scope string     `json:"scope"` // what was asked for, in words: "all lots at safe"
	AsOf  *AsOf      `json:"as_of"` // null: now
	Lots  []StockRow `json:"lots"`
	// LeftOut are lots of which it is not known whether they have what was asked for.
	LeftOut LeftOuts `json:"left_out"`
}

// LeftOut counts lots that a list leaves out because something is not known of
// them.
type LeftOut struct {
	What string `json:"what"` // length, colour, asking price ...
	Lots int    `json:"lots"`
}

// LeftOuts are counts of what is not known.
type LeftOuts []LeftOut

// Add counts a lot of which something is not known.
func (l *LeftOuts) Add(what string) {
	for i := range *l {
		if (*l)[i].What == what {
			(*l)[i].Lots++
			return
		}
	}
	*l = append(*l, LeftOut{what, 1})
}

// StockRow is one lot of a list.
type StockRow struct {
	StockLot
	Identity string `json:"identity"` // what the tests say of it
	// TakenBack is the entry that took its purchase, or what made it, back; empty: it stands.
	TakenBack string `json:"taken_back"`
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
		{"where", "Place", 14, func(r *StockRow) sheet.Cell {
			return sheet.Text(cmp.Or(voidMark(r.TakenBack), r.Where())) // what was taken back lies nowhere
		}},
		{"", "Note", 22, func(r *StockRow) sheet.Cell { return sheet.Text(r.Note) }},
	}
}

// Screen is the list, under the moment that it is of when that is past, and how
// many lots are left out of it.
func (l *StockList) Screen() Screen {
	columns := l.columns()
	if slices.ContainsFunc(l.Lots, func(r StockRow) bool { return r.Prices != nil }) {
		at := slices.IndexFunc(columns, func(c column[StockRow]) bool { return c.name == "pieces" })
		columns = slices.Insert(columns, at, screen("ask", func(r *StockRow) sheet.Cell {
			if r.Prices == nil {
				return sheet.Empty()
			}
			return sheet.Text(priceWords(r.Prices.Ask, r.Prices.Basis)).Right()
		}))
	}
	var s Screen
	s.asOf(l.AsOf)
	s.line("%s", l.decision())
	if len(l.Lots) > 0 {
		s.table(tableOf(columns, l.Lots))
	}
	return append(s, l.Remarks()...)
}

// decision is what the lots have in all, and how many of their pieces lie where.
func (l *StockList) decision() string {
	if len(l.Lots) == 0 {
		return "no" + strings.TrimPrefix(l.Scope, "all")
	}
	total := stockTotal{cost: num.Zero(l.Currency)}
	var safe, out, set int64
	for i := range l.Lots {
		total.add(&l.Lots[i])
		for _, b := range l.Lots[i].Places {
			switch b.Place.Kind() {
			case book.AtOffice:
				safe += b.Pieces
			case book.AtPiece:
				set += b.Pieces
			default:
				out += b.Pieces
			}
		}
	}
	words := fmt.Sprintf("%s: %s, %s ct, cost %s", plural(int(total.lots), "lot", "lots"),
		plural(int(total.pieces), "piece", "pieces"), total.carats, total.cost.Words())
	if total.pieces == 0 {
		return words
	}
	words += fmt.Sprintf("; %d in the safe", safe)
	if out > 0 {
		words += fmt.Sprintf(", %d out", out)
	} else {
		words += ", nothing out"
	}
	if set > 0 {
		words += fmt.Sprintf(", %d set in pieces", set)
	}
	return words
}

// Remarks says how many lots are left out of the list.
func (l *StockList) Remarks() Screen {
	var s Screen
	for _, left := range l.LeftOut {
		s.remark("%s left out: the %s is not known", plural(left.Lots, "lot is", "lots are"), left.What)
	}
	return s
}
