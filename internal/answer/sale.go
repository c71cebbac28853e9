package answer

import (
	"fmt"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Sold is what a sale did.
type Sold struct {
	Moved
	Sale     book.Sale `json:"sale"`
	Opinions []Opinion `json:"opinions"` // of lots that are sold by the dealer's judgement
}

// Screen is the sale in one line, its invoice, and the postings.
func (s *Sold) Screen() Screen {
	sale := s.Sale
	var out Screen
	out.line("%s: %s for %s, %s, cost %s, margin %s", sale.Number, sale.Customer, sale.Price.Words(), invoiced(sale),
		sale.Cost.Words(), sale.Price.Sub(sale.Cost).Words())
	out = append(out, s.Moved.Screen()...)
	for _, o := range s.Opinions {
		out.remark("%s is sold as %s; tests: %s", o.Lot, o.Called, o.tests())
	}
	return out
}

// invoiced says what the customer owes for a sale and when.
func invoiced(s book.Sale) string {
	if s.Invoice == "" {
		return "no invoice"
	}
	return fmt.Sprintf("%s over %s due %s", s.Invoice, s.Total().Words(), s.Due)
}

// Credited is what a credit on a sale did.
type Credited struct {
	Moved
	Sale   book.Sale    `json:"sale"`
	Credit *book.Credit `json:"credit"` // null: the sale had no lines and no invoice
}

// Screen is the credit in one line, and the postings.
func (c *Credited) Screen() Screen {
	var out Screen
	if c.Credit == nil {
		out.line("%s came back whole from %s, cost %s", c.Sale.Number, c.Sale.Customer, c.Sale.Cost.Words())
	} else {
		out.line("%s: %s credited to %s on sale %s, cost back %s", c.Credit.Document, c.Credit.Gross.Words(),
			c.Sale.Customer, c.Sale.Number, c.Credit.Cost.Words())
	}
	return append(out, c.Moved.Screen()...)
}

// SaleList is sales with what they brought and cost, less what came back: one
// by one, or in groups.
type SaleList struct {
	Head    `json:"-"`
	From    book.Date `json:"from"` // null: from the first
	To      book.Date `json:"to"`   // null: to the last
	By      string    `json:"by"`   // sale, period, customer, vendor, parcel, species
	Rows    []SaleRow `json:"rows"` //
	Revenue num.Money `json:"revenue"`
	Cost    num.Money `json:"cost"`
}

// SaleRow is one sale, or one group of the lines of sales.
type SaleRow struct {
	Group    string      `json:"group"` // the sale's number, a month, a customer ...
	On       book.Date   `json:"on"`    // of one sale; else null
	Customer string      `json:"customer"`
	Invoice  string      `json:"invoice"`
	State    string      `json:"state"` // of one sale: sold, part returned, returned, void
	Sales    int         `json:"sales"`
	Pieces   int64       `json:"pieces"`
	Carats   num.Carat   `json:"carats"`
	Revenue  num.Money   `json:"revenue"` // without tax, less credits, book currency
	Cost     num.Money   `json:"cost"`    // of what was sold, less what came back
	Margin   num.Money   `json:"margin"`
	Percent  num.Percent `json:"margin_percent"` // of the revenue; 0 when there is none
}

// Add counts a part of a sale; what came back is negative.
func (r *SaleRow) Add(pieces int64, carats num.Carat, revenue, cost num.Money) {
	r.Pieces, r.Carats = r.Pieces+pieces, r.Carats+carats
	r.Revenue, r.Cost = r.Revenue.Add(revenue), r.Cost.Add(cost)
	r.Margin = r.Revenue.Sub(r.Cost)
	r.Percent = num.PercentOf(r.Margin.Dec(), r.Revenue.Dec(), 2)
}

// columns are the columns of the list.
func (l *SaleList) columns() []column[SaleRow] {
	single := l.By == "sale"
	of := func(name, header string, width float64, value func(*SaleRow) sheet.Cell) []column[SaleRow] {
		if !single {
			return nil
		}
		return []column[SaleRow]{{name, header, width, value}}
	}
	out := []column[SaleRow]{{l.By, capital(l.By), 16, func(r *SaleRow) sheet.Cell { return sheet.Text(r.Group) }}}
	out = append(out, of("date", "Date", 13, func(r *SaleRow) sheet.Cell { return sheet.Date(string(r.On)) })...)
	out = append(out, of("customer", "Customer", 24, func(r *SaleRow) sheet.Cell { return sheet.Text(r.Customer) })...)
	out = append(out, of("invoice", "Invoice", 19, func(r *SaleRow) sheet.Cell { return sheet.Text(r.Invoice) })...)
	out = append(out, of("state", "State", 13, func(r *SaleRow) sheet.Cell { return sheet.Text(r.State) })...)
	if !single {
		out = append(out, column[SaleRow]{"sales", "Sales", 8,
			func(r *SaleRow) sheet.Cell { return sheet.Int(int64(r.Sales)) }})
	}
	return append(out, []column[SaleRow]{
		{"pieces", "Pieces", 8, func(r *SaleRow) sheet.Cell { return sheet.Int(r.Pieces) }},
		{"carats", "By scale (ct)", 10, func(r *SaleRow) sheet.Cell { return sheet.Carats(r.Carats) }},
		{"revenue", l.unit("Revenue without tax"), 13, func(r *SaleRow) sheet.Cell { return sheet.Money(r.Revenue) }},
		{"cost", l.unit("Cost of sales"), 13, func(r *SaleRow) sheet.Cell { return sheet.Money(r.Cost) }},
		{"margin", l.unit("Margin"), 13, func(r *SaleRow) sheet.Cell { return sheet.Money(r.Margin) }},
		{"margin %", "Margin (% of revenue)", 11, func(r *SaleRow) sheet.Cell { return sheet.Percent(r.Percent, 2) }},
	}...)
}

// List is the rows, under the sums on screen.
func (l *SaleList) List() Listing {
	return &list[SaleRow]{head: l.Head, columns: l.columns(), rows: l.Rows, screen: func() Screen {
		var s Screen
		if len(l.Rows) == 0 {
			s.line("nothing was sold%s", l.time())
			return s
		}
		margin := l.Revenue.Sub(l.Cost)
		s.line("revenue %s, cost of sales %s, margin %s, %s %% of the revenue", l.Revenue.Words(), l.Cost.Words(),
			margin.Words(), num.PercentOf(margin.Dec(), l.Revenue.Dec(), 2))
		return append(s, Part{Table: tableOf(l.columns(), l.Rows)})
	}}
}

// time is the time that the list is of, in words; empty: all of it.
func (l *SaleList) time() string {
	words := ""
	if l.From != "" {
		words += " from " + string(l.From)
	}
	if l.To != "" {
		words += " until " + string(l.To)
	}
	return words
}
