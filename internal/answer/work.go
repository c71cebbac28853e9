package answer

import (
	"cmp"

	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Ticket is a work ticket, with what is still out on it. Stones that went out
// before there were tickets have none: its number is then empty.
type Ticket struct {
	Number   string             `json:"number"` // W9
	Party    string             `json:"party"`
	Work     string             `json:"work"`   // set, make, repair, laboratory
	Into     string             `json:"into"`   // the piece that stones are set into
	Design   string             `json:"design"` // that a piece is made by
	State    string             `json:"state"`  // out, closed, void
	On       book.Date          `json:"on"`
	Due      book.Date          `json:"due"`
	Overdue  int64              `json:"overdue"`  // days
	Lots     []book.SuppliedLot `json:"lots"`     // still out
	Document string             `json:"document"` // the ticket as it was issued
	Note     string             `json:"note"`
}

// StateOf is the state of a paper: void, out while something lies on it, else
// closed.
func StateOf(void bool, lots int) string {
	switch {
	case void:
		return "void"
	case lots > 0:
		return "out"
	}
	return "closed"
}

// Still is what lies on a paper, lot by lot.
func Still(held []ledger.Balance) []book.SuppliedLot {
	out := []book.SuppliedLot{}
	for _, b := range held {
		out = append(out, book.SuppliedLot{Lot: b.Lot, Pieces: b.Pieces, Carats: b.Carats})
	}
	return out
}

// WorkMoved is what a movement on a work ticket did.
type WorkMoved struct {
	Moved
	Ticket   Ticket       `json:"ticket"`
	Pieces   []Piece      `json:"pieces"`   // the finished piece that came of it
	Document DocumentFile `json:"document"` // the ticket, or the receipt; empty: none
}

// Screen is what is out on the ticket now, the piece that came of it, and what
// moved.
func (w *WorkMoved) Screen() Screen {
	var s Screen
	if w.Ticket.Number != "" {
		s.line("%s", stillOut("ticket "+w.Ticket.Number, w.Ticket.Party, w.Ticket.Due, w.Ticket.Lots))
	}
	for i := range w.Pieces {
		s.line("%s", w.Pieces[i].headline())
	}
	if w.Document.Number != "" {
		s.remark("issued %s", w.Document.Number)
	}
	return append(s, w.Moved.Screen()...)
}

// Tickets are work tickets with what is still out on them, overdue ones first.
type Tickets struct {
	Head    `json:"-"`
	AsOf    *AsOf    `json:"as_of"` // null: now
	Tickets []Ticket `json:"tickets"`
}

// ticketRow is one lot of one ticket; a ticket with nothing out has one row
// without.
type ticketRow struct {
	*Ticket
	lot *book.SuppliedLot
}

// lotRows are a row for each lot of a paper; one without lots has one row, of none.
func lotRows[L, R any](lots []L, row func(lot *L) R) []R {
	if len(lots) == 0 {
		return []R{row(nil)}
	}
	out := make([]R, len(lots))
	for i := range lots {
		out[i] = row(&lots[i])
	}
	return out
}

// ofTicketLot is the value of a column of what is out: empty where nothing is.
func ofTicketLot(value func(l *book.SuppliedLot) sheet.Cell) func(*ticketRow) sheet.Cell {
	return func(r *ticketRow) sheet.Cell {
		if r.lot == nil {
			return sheet.Empty()
		}
		return value(r.lot)
	}
}

var ticketColumns = []column[ticketRow]{
	{"ticket", "Ticket", 8, func(r *ticketRow) sheet.Cell { return sheet.Text(r.Number) }},
	{"party", "Party", 24, func(r *ticketRow) sheet.Cell { return sheet.Text(r.Party) }},
	{"work", "Work", 11, func(r *ticketRow) sheet.Cell { return sheet.Text(r.Work) }},
	{"state", "State", 9, func(r *ticketRow) sheet.Cell { return sheet.Text(r.State) }},
	{"since", "Since", 13, func(r *ticketRow) sheet.Cell { return sheet.Date(string(r.On)) }},
	{"due", "Due", 13, func(r *ticketRow) sheet.Cell { return sheet.Date(string(r.Due)) }},
	{"overdue", "Overdue (days)", 9, func(r *ticketRow) sheet.Cell {
		if r.Overdue == 0 {
			return sheet.Empty()
		}
		return sheet.Int(r.Overdue)
	}},
	{"lot", "Lot", 12, ofTicketLot(func(l *book.SuppliedLot) sheet.Cell { return sheet.Text(l.Lot) })},
	{"pieces", "Pieces", 8, ofTicketLot(func(l *book.SuppliedLot) sheet.Cell { return sheet.Int(l.Pieces) })},
	{"carats", "By scale (ct)", 11, ofTicketLot(func(l *book.SuppliedLot) sheet.Cell {
		return sheet.Carats(l.Carats)
	})},
	onlyFiled("Into", 12, func(r *ticketRow) sheet.Cell { return sheet.Text(cmp.Or(r.Into, r.Design)) }),
	onlyFiled("Note", 30, func(r *ticketRow) sheet.Cell { return sheet.Text(r.Note) }),
}

// List is the tickets, a row for each of their lots.
func (t *Tickets) List() Listing {
	out := &list[ticketRow]{head: t.Head, asOf: t.AsOf, columns: ticketColumns}
	var sum outSum
	for i := range t.Tickets {
		if x := &t.Tickets[i]; x.State == "out" {
			sum.add(cmp.Or(x.Number, "old work"), x.Party, x.Overdue, x.Lots)
		}
		out.rows = append(out.rows, lotRows(t.Tickets[i].Lots, func(lot *book.SuppliedLot) ticketRow {
			return ticketRow{&t.Tickets[i], lot}
		})...)
	}
	out.first = []string{cmp.Or(sum.words("work ticket", "work tickets"), "nothing is out on a work ticket")}
	return out
}

// stillOut words what a party still has on a paper.
func stillOut(paper, party string, due book.Date, lots []book.SuppliedLot) string {
	var pieces int64
	var carats num.Carat
	for _, l := range lots {
		pieces += l.Pieces
		carats += l.Carats
	}
	if pieces == 0 {
		return paper + " with " + party + " is closed: nothing is out on it"
	}
	words := paper + ": " + party + " has " + plural(int(pieces), "piece", "pieces") + ", " + carats.String() + " ct"
	if due != "" {
		words += ", due " + string(due)
	}
	return words
}
