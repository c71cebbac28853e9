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
	Head    `json:"-"`
	Orders  []book.Order  `json:"orders"`
	Cutters []CutterSkill `json:"cutters"`
}

// OrderIssued is an order and the paper that was issued of it.
type OrderIssued struct {
	Order    book.Order   `json:"order"`
	Document DocumentFile `json:"document"`
}

// OrderSent is what the sending of an order did.
type OrderSent struct {
	Moved
	OrderIssued
}

// Screen is the number of the paper, and the postings.
func (o *OrderSent) Screen() Screen { return o.after("issued " + o.Document.Number) }

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

// Screen is all postings of what the sheet brought back.
func (r *OrderReturned) Screen() Screen {
	var all Moved
	for _, o := range r.Received {
		all.Entry = cmp.Or(all.Entry, o.Entry)
		all.Postings = append(all.Postings, o.Postings...)
	}
	return all.Screen()
}

// sentence says what is believed of the cutter.
func (s CutterSkill) sentence() string {
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

// placeOf is the position of a design that a line is for; empty when it is
// asked for by hand.
func placeOf(l book.OrderLine) string { return strings.Join(fields(l.Design, l.Position), "/") }

func (o *Orders) columns() []column[orderRow] {
	return []column[orderRow]{
		{"order", "Order", 8, func(r *orderRow) sheet.Cell { return sheet.Text(r.Number) }},
		{"cutter", "Cutter", 20, func(r *orderRow) sheet.Cell { return sheet.Text(r.Cutter) }},
		{"state", "State", 10, func(r *orderRow) sheet.Cell { return sheet.Text(r.State) }},
		{"due", "Due", 13, func(r *orderRow) sheet.Cell { return sheet.Date(string(r.Due)) }},
		{"for", "For", 26, func(r *orderRow) sheet.Cell {
			return sheet.Text(placeOf(r.line))
		}},
		{"material", "Material", 24, func(r *orderRow) sheet.Cell {
			return sheet.Text(strings.Join(r.line.Species, " or "))
		}},
		onlyFiled("Treatment", 16, func(r *orderRow) sheet.Cell { return sheet.Text(r.line.Treatment) }),
		{"shape", "Shape", 14, func(r *orderRow) sheet.Cell { return sheet.Text(r.line.Shape) }},
		screen("size mm", func(r *orderRow) sheet.Cell {
			return sheet.Text(r.line.Length.String() + " x " + r.line.Width.String())
		}),
		onlyFiled("Length (mm)", 10, func(r *orderRow) sheet.Cell { return sheet.Millimetres(r.line.Length) }),
		onlyFiled("Width (mm)", 10, func(r *orderRow) sheet.Cell { return sheet.Millimetres(r.line.Width) }),
		{"count", "Count", 8, func(r *orderRow) sheet.Cell { return sheet.Int(r.line.Count) }},
		{"spare", "Spare", 8, func(r *orderRow) sheet.Cell { return sheet.Int(r.line.Spare) }},
		{"weight each", "Weight each (ct)", 11, func(r *orderRow) sheet.Cell { return sheet.Carats(r.line.Weight) }},
		{"at most each", o.unit("At most each"), 12, func(r *orderRow) sheet.Cell {
			if r.line.PriceMax.IsZero() { // not stated
				return sheet.Empty()
			}
			return sheet.Money(r.line.PriceMax)
		}},
		{"document", "Document", 18, func(r *orderRow) sheet.Cell { return sheet.Text(r.Document) }},
	}
}

// List is the orders, a row for each of their lines.
func (o *Orders) List() Listing {
	out := &list[orderRow]{head: o.Head, columns: o.columns()}
	for _, order := range o.Orders {
		for _, line := range order.Lines {
			out.rows = append(out.rows, orderRow{order, line})
		}
	}
	return out
}

// Screen is the orders, why each of their stones is wanted, and what is believed
// of their cutters.
func (o *Orders) Screen() Screen {
	s := o.List().Screen()
	for _, order := range o.Orders {
		for _, l := range order.Lines {
			s.line("%s", strings.Join(fields(placeOf(l), Wrap(l.Why, 96, "    ")), " "))
			if l.Risk != "" {
				s.line("    risk: %s", Wrap(l.Risk, 90, "    "))
			}
		}
	}
	for _, c := range o.Cutters {
		s.line("cutter %s", Wrap(c.sentence(), 96, "    "))
	}
	return s
}
