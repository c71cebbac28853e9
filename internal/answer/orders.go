package answer

import (
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/sheet"
)

// CutterSkill is what the book believes of a cutter.
type CutterSkill struct {
	Cutter string `json:"cutter"`
	Stones int64  `json:"stones"` // cut, of the book's own record
	Broken int64  `json:"broken"`
	// Shares; null: there is neither a record nor an estimate.
	Breakage *float64 `json:"breakage"`
	Yield    *float64 `json:"yield"`
	Words    string   `json:"words"`
}

// Orders are orders with what the book believes of their cutters.
type Orders struct {
	Orders  []book.Order  `json:"orders"`
	Cutters []CutterSkill `json:"cutters"`
}

// orderRow is one line of one order.
type orderRow struct {
	book.Order
	line book.OrderLine
}

var orderColumns = []column[orderRow]{
	screen("order", func(r *orderRow) sheet.Cell { return sheet.Text(r.Number) }),
	screen("cutter", func(r *orderRow) sheet.Cell { return sheet.Text(r.Cutter) }),
	screen("state", func(r *orderRow) sheet.Cell { return sheet.Text(r.State) }),
	screen("due", func(r *orderRow) sheet.Cell { return sheet.Date(string(r.Due)) }),
	screen("for", func(r *orderRow) sheet.Cell { return sheet.Text(r.line.Design + "/" + r.line.Position) }),
	screen("material", func(r *orderRow) sheet.Cell { return sheet.Text(strings.Join(r.line.Species, " or ")) }),
	screen("shape", func(r *orderRow) sheet.Cell { return sheet.Text(r.line.Shape) }),
	screen("size mm", func(r *orderRow) sheet.Cell {
		return sheet.Text(r.line.Length.String() + " x " + r.line.Width.String())
	}),
	screen("count", func(r *orderRow) sheet.Cell { return sheet.Int(r.line.Count) }),
	screen("spare", func(r *orderRow) sheet.Cell { return sheet.Int(r.line.Spare) }),
	screen("weight each", func(r *orderRow) sheet.Cell { return sheet.Carats(r.line.Weight) }),
	screen("at most each", func(r *orderRow) sheet.Cell { return sheet.Money(r.line.PriceMax) }),
	screen("document", func(r *orderRow) sheet.Cell { return sheet.Text(r.Document) }),
}

// Table is the orders for the screen, a row for each of their lines.
func (o *Orders) Table() *Table {
	var rows []orderRow
	for _, order := range o.Orders {
		for _, line := range order.Lines {
			rows = append(rows, orderRow{order, line})
		}
	}
	return tableOf(orderColumns, rows)
}
