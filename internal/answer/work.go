package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
)

// Ticket is a work ticket, with what is still out on it. Stones that went out
// before there were tickets have none: its number is then empty.
type Ticket struct {
	Number string             `json:"number"` // W9
	Party  string             `json:"party"`
	State  string             `json:"state"` // out, closed, void
	On     book.Date          `json:"on"`
	Due    book.Date          `json:"due"`
	Lots   []book.SuppliedLot `json:"lots"` // still out
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
	Ticket Ticket `json:"ticket"`
}

// Screen is what is out on the ticket now, and what moved.
func (w *WorkMoved) Screen() Screen {
	var s Screen
	if w.Ticket.Number != "" {
		s.line("%s", stillOut("ticket "+w.Ticket.Number, w.Ticket.Party, w.Ticket.Due, w.Ticket.Lots))
	}
	return append(s, w.Moved.Screen()...)
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
	words := paper + ": " + party + " has " + num.Int(pieces).String() + " pieces, " + carats.String() + " ct"
	if due != "" {
		words += ", due " + string(due)
	}
	return words
}
