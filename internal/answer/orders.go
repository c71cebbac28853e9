package answer

import (
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// CutterSkill is what the book believes of a cutter.
type CutterSkill struct {
	Cutter   string `json:"cutter"`
	Stones   int64  `json:"stones"` // cut, of the book's own record
	Broken   int64  `json:"broken"`
	Rejected int64  `json:"rejected"` // cut, and not as wanted
	Lost     int64  `json:"lost"`     // never came back
	Days     int64  `json:"days"`     // from sending to coming back, on average; 0: not known
	// Shares; null: there is neither a record nor an estimate.
	Breakage *float64     `json:"breakage"`
	Yield    *float64     `json:"yield"`
	By       []CutterWork `json:"by"` // the record by material and shape
	Words    string       `json:"words"`
}

// CutterWork is a cutter's record with one material and shape.
type CutterWork struct {
	Material  string    `json:"material"`
	Shape     string    `json:"shape"`
	Stones    int64     `json:"stones"`
	Broken    int64     `json:"broken"`
	Rejected  int64     `json:"rejected"`
	Lost      int64     `json:"lost"`
	CaratsIn  num.Carat `json:"carats_in"`
	CaratsOut num.Carat `json:"carats_out"`
}

// Order is an order with what is still out on it and what came. Its state is
// derived: received when nothing of it lies out and all that it asks for came, void
// when its entry was reversed.
type Order struct {
	book.Order
	State   string             `json:"state"` // draft, sent, received, closed, cancelled, void
	Overdue int64              `json:"overdue_days"`
	Out     []book.SuppliedLot `json:"out"` // still with the cutter
	Came    []ItemCame         `json:"came"`
	Bids    []book.Bid         `json:"bids"`
	Batches []book.Batch       `json:"batches"` // that stand
}

// ItemCame is how many stones of an item came back as wanted, or were bought.
type ItemCame struct {
	Item   string `json:"item"`
	Pieces int64  `json:"pieces"`
}

// Drafted is an order of which nothing is out.
func Drafted(o book.Order) Order {
	return Order{Order: o, State: o.State, Out: []book.SuppliedLot{}, Came: []ItemCame{}, Bids: []book.Bid{},
		Batches: []book.Batch{}}
}

// sentence says what is open of an order; empty when nothing is.
func (o *Order) sentence() string {
	switch {
	case o.State == "draft" && len(o.Bids) > 0:
		return fmt.Sprintf("%s is a draft with %s: it is not sent yet", o.Number, plural(len(o.Bids), "bid", "bids"))
	case o.State == "draft":
		return o.Number + " is a draft: it is not sent yet"
	}
	if o.State != "sent" {
		return ""
	}
	words := stillOut(o.Number, o.Cutter, o.Due, o.Out)
	if len(o.Out) == 0 {
		words = o.Number + ": " + o.Cutter + " is to supply what is ordered"
		if o.Due != "" {
			words += ", due " + string(o.Due)
		}
	}
	if o.Overdue > 0 {
		words += fmt.Sprintf(", %d days overdue", o.Overdue)
	}
	return words
}

// Rank orders the states: what is out, what is to be sent, what is done.
func (o *Order) Rank() int {
	switch o.State {
	case "sent":
		return 0
	case "draft":
		return 1
	}
	return 2
}

// Orders are orders with what the book believes of their cutters.
type Orders struct {
	Head    `json:"-"`
	Orders  []Order       `json:"orders"`
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

// Screen is where the order went and what went with it, the number of its paper, and
// the postings.
func (o *OrderSent) Screen() Screen {
	var s Screen
	var pieces int64
	var carats num.Carat
	for _, l := range o.Order.Supplied {
		pieces += l.Pieces
		carats += l.Carats
	}
	words := fmt.Sprintf("%s is sent to %s with %d pieces, %s ct", o.Order.Number, o.Order.Cutter, pieces, carats)
	if pieces == 0 {
		words = fmt.Sprintf("%s is sent to %s, who is to supply the stones", o.Order.Number, o.Order.Cutter)
	}
	if o.Order.Due != "" {
		words += ", due " + string(o.Order.Due)
	}
	s.line("%s", words)
	s.remark("issued %s", o.Document.Number)
	if pieces > 0 {
		s = append(s, o.Moved.Screen()...)
	}
	return s
}

// OrderReceived is a batch of what came back of an order.
type OrderReceived struct {
	Moved
	Order    Order         `json:"order"`
	Batch    book.Batch    `json:"batch"`
	Document DocumentFile  `json:"document"` // the receipt
	Bought   *book.Parcel  `json:"bought"`   // what the cutter supplied; null: nothing
	Charges  []book.Charge `json:"charges"`  // the cutter's
}

// Screen is what came and what is still out, and the postings.
func (r *OrderReceived) Screen() Screen {
	var s Screen
	words := r.Order.Number + " with " + r.Order.Cutter + " is " + r.Order.State
	if r.Batch.Number > 0 {
		words = r.Batch.RecordKey() + ": " + strings.Join(outcomes(r.Batch.Lines), ", ")
		switch {
		case len(r.Order.Out) > 0:
			words += "; " + r.Order.sentence()
		case r.Order.State == "sent":
			words += "; " + r.Order.Number + " is not complete"
		default:
			words += "; " + r.Order.Number + " is " + r.Order.State
		}
	}
	s.line("%s", Wrap(words, 110, "    "))
	if r.Bought != nil {
		s.line("bought as %s for %s", r.Bought.Code, r.Bought.Price.Words())
	}
	for _, c := range r.Charges {
		s.line("charge %s of %s on %s", c.Code, c.Amount.Words(), c.Lot)
	}
	s = append(s, r.Moved.Screen()...)
	if r.Document.Number != "" {
		s.remark("issued %s", r.Document.Number)
	}
	return s
}

// outcomes are how many stones had each outcome, in words.
func outcomes(lines []book.BatchLine) []string {
	var order []book.Outcome
	pieces, carats := map[book.Outcome]int64{}, map[book.Outcome]num.Carat{}
	for _, l := range lines {
		if !slices.Contains(order, l.Outcome) {
			order = append(order, l.Outcome)
		}
		pieces[l.Outcome] += l.Pieces
		carats[l.Outcome] += l.Carats
	}
	var out []string
	for _, o := range order {
		if o == book.Chips {
			out = append(out, carats[o].String()+" ct of "+outcomeWords[o])
			continue
		}
		out = append(out, fmt.Sprintf("%d %s", pieces[o], outcomeWords[o]))
	}
	return out
}

// outcomeWords are the outcomes as a receipt says them.
var outcomeWords = map[book.Outcome]string{book.Accepted: "as wanted", book.Rejected: "not as wanted",
	book.Unworked: "back as sent", book.Broken: "broken", book.Missing: "missing", book.Chips: "powder and chips",
	book.Rough: "left over to cut", book.Bought: "bought"}

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

// sentence says what was cut of a material into a shape.
func (w CutterWork) sentence() string {
	words := fmt.Sprintf("%s: %d stones, %d broke", strings.Join(fields(w.Material, w.Shape), " "), w.Stones, w.Broken)
	if w.Rejected > 0 {
		words += fmt.Sprintf(", %d not as wanted", w.Rejected)
	}
	if w.Lost > 0 {
		words += fmt.Sprintf(", %d never came back", w.Lost)
	}
	if w.CaratsIn > 0 {
		words += fmt.Sprintf(", %s ct of %s ct", w.CaratsOut, w.CaratsIn)
	}
	return words
}

// orderRow is one line of one order; an order in words has one row without.
type orderRow struct {
	*Order
	item string
	line book.OrderLine
}

// came is how many stones of the row came.
func (r *orderRow) came() int64 {
	for _, c := range r.Came {
		if c.Item == r.item {
			return c.Pieces
		}
	}
	return 0
}

// still is what is still out for the row: what was sent for its item, or for any.
func (r *orderRow) still() int64 {
	var n int64
	for _, l := range r.Out {
		for _, s := range r.Supplied {
			if strings.EqualFold(s.Lot, l.Lot) && (s.Item == r.item || s.Item == "" && r.item <= "A") {
				n += l.Pieces
				break
			}
		}
	}
	return n
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
		onlyFiled("Overdue (days)", 9, func(r *orderRow) sheet.Cell { return someOf(r.Overdue) }),
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
		onlyFiled("Came", 8, func(r *orderRow) sheet.Cell { return someOf(r.came()) }),
		onlyFiled("Still out", 8, func(r *orderRow) sheet.Cell { return someOf(r.still()) }),
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

// someOf is a number above 0.
func someOf(n int64) sheet.Cell {
	if n == 0 {
		return sheet.Empty()
	}
	return sheet.Int(n)
}

// List is the orders, a row for each of their lines.
func (o *Orders) List() Listing {
	out := &list[orderRow]{head: o.Head, columns: o.columns(), first: o.decision()}
	for i := range o.Orders {
		for k, line := range o.Orders[i].Lines {
			out.rows = append(out.rows, orderRow{&o.Orders[i], book.ItemName(k), line})
		}
		if len(o.Orders[i].Lines) == 0 {
			out.rows = append(out.rows, orderRow{Order: &o.Orders[i]})
		}
	}
	return out
}

// Overview is which orders are out and overdue, and the orders.
func (o *Orders) Overview() Screen { return o.List().Screen() }

// decision says which orders are out, overdue ones first, and which are to be sent.
func (o *Orders) decision() []string {
	if len(o.Orders) == 0 {
		return []string{"no orders: nothing is out with a cutter"}
	}
	var out []string
	sent := false
	for i := range o.Orders {
		sent = sent || o.Orders[i].State == "sent"
		if words := o.Orders[i].sentence(); words != "" {
			out = append(out, words)
		}
	}
	if !sent && len(o.Orders) > 1 {
		out = append([]string{"nothing is out with a cutter"}, out...)
	}
	return out
}

// Screen is which orders are out and overdue, the orders, why each of their stones is
// wanted, and what is believed of their cutters.
func (o *Orders) Screen() Screen {
	s := o.Overview()
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
		for _, w := range c.By {
			s.line("    %s", w.sentence())
		}
	}
	return s
}
