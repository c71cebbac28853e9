package answer

import (
	"cmp"
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
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

// OrderIssued is an order and the paper that was issued of it.
type OrderIssued struct {
	Order    book.Order    `json:"order"`
	Document book.Document `json:"document"`
}

// OrderSent is what the sending of an order did.
type OrderSent struct {
	Moved
	OrderIssued
}

// OrderReceived is what a cutter made of one lot.
type OrderReceived struct {
	Moved
	Order book.Order `json:"order"`
}

// OrderReturned is what a cutter's sheet brought back.
type OrderReturned struct {
	Order    book.Order      `json:"order"`
	Received []OrderReceived `json:"received"` // one a lot that was sent
	Warnings fault.List      `json:"warnings"`
}

// Moved is all that the sheet brought back as one movement.
func (r *OrderReturned) Moved() Moved {
	var all Moved
	for _, o := range r.Received {
		all.Entry = cmp.Or(all.Entry, o.Entry)
		all.Postings = append(all.Postings, o.Postings...)
	}
	return all
}

// Sentence says what is believed of the cutter.
func (s CutterSkill) Sentence() string {
	words := s.Cutter + ": "
	if s.Breakage != nil {
		words += fmt.Sprintf("breaks %.1f %% of the stones, ", 100**s.Breakage)
	}
	if s.Yield != nil {
		words += fmt.Sprintf("yields %.0f %% of the weight, ", 100**s.Yield)
	}
	return words + s.Words
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
