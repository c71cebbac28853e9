package answer

import (
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/sheet"
)

// Holds are what is held for whom.
type Holds struct {
	Head  `json:"-"`
	Entry string `json:"entry"` // that wrote them; empty: they were only read
	Holds []Hold `json:"holds"`
}

// Hold is stones of one lot that are held.
type Hold struct {
	Lot    string    `json:"lot"`
	Name   string    `json:"name"`
	Pieces int64     `json:"pieces"`
	Of     int64     `json:"of"`  // pieces of the lot
	For    string    `json:"for"` // a line or a part of one, or customer/NAME
	Until  book.Date `json:"until"`
	State  string    `json:"state"` // held, expired, released
	Note   string    `json:"note"`
}

// HoldOf is a hold of a lot as it stands on a day: no entry ends it, its last day
// does.
func HoldOf(lot *StockLot, h book.Hold, on book.Date) Hold {
	out := Hold{Lot: h.Lot, Name: lot.Called(), Pieces: h.Pieces, Of: lot.Pieces, For: h.For, Until: h.Until,
		State: "expired", Note: h.Note}
	switch {
	case h.Pieces == 0:
		out.State = "released"
	case h.Open(on):
		out.State = "held"
	}
	return out
}

var holdColumns = []column[Hold]{
	{"lot", "Lot", 12, func(h *Hold) sheet.Cell { return sheet.Text(h.Lot) }},
	{"stone", "Name", 20, func(h *Hold) sheet.Cell { return sheet.Text(h.Name) }},
	{"held", "Held pieces", 9, func(h *Hold) sheet.Cell { return sheet.Int(h.Pieces) }},
	{"of", "Of pieces", 9, func(h *Hold) sheet.Cell { return sheet.Int(h.Of) }},
	{"for", "For", 30, func(h *Hold) sheet.Cell { return sheet.Text(h.For) }},
	{"until", "Until", 13, func(h *Hold) sheet.Cell { return sheet.Date(string(h.Until)) }},
	{"state", "State", 10, func(h *Hold) sheet.Cell { return sheet.Text(h.State) }},
	{"note", "Note", 30, func(h *Hold) sheet.Cell { return sheet.Text(h.Note) }},
}

// List is the holds.
func (h *Holds) List() Listing {
	return &list[Hold]{head: h.Head, columns: holdColumns, rows: h.Holds, first: []string{h.decision()}}
}

// decision says how many stones are held, for whom, and which hold ends next.
func (h *Holds) decision() string {
	var pieces int64
	var lots, whom []string
	var next *Hold
	for i := range h.Holds {
		x := &h.Holds[i]
		if x.State != "held" {
			continue
		}
		pieces += x.Pieces
		if !slices.Contains(lots, x.Lot) {
			lots = append(lots, x.Lot)
		}
		if !slices.Contains(whom, heldFor(x.For)) {
			whom = append(whom, heldFor(x.For))
		}
		if x.Until != "" && (next == nil || x.Until < next.Until) {
			next = x
		}
	}
	if pieces == 0 {
		return "nothing is held"
	}
	who := strings.Join(whom, ", ")
	if len(whom) > mostNamed {
		who = fmt.Sprintf("%d customers and lines", len(whom))
	}
	words := fmt.Sprintf("held: %s of %s for %s", plural(int(pieces), "piece", "pieces"),
		plural(len(lots), "lot", "lots"), who)
	if next != nil {
		words += fmt.Sprintf("; next ends that of %s for %s, on %s", next.Lot, heldFor(next.For), next.Until)
	}
	return words
}

// heldFor is whom stones are held for, as a person reads it.
func heldFor(whom string) string {
	if p := book.Place(whom); strings.EqualFold(p.Kind(), book.AtCustomer) {
		return p.Name()
	}
	return whom
}

// Screen is what was written, and the holds.
func (h *Holds) Screen() Screen {
	var s Screen
	for _, x := range h.Holds {
		if x.State == "released" {
			s.line("%s: nothing of %s is held for %s any more", h.Entry, x.Lot, x.For)
		} else {
			words := book.Hold{Pieces: x.Pieces, For: x.For, Until: x.Until}.Words()
			s.line("%s: %s has %d pieces, held %s", h.Entry, x.Lot, x.Of, words)
		}
	}
	return s
}
