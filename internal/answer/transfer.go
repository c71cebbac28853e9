package answer

import (
	"fmt"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Transfer is stones on their way to another office, with what is still under way.
type Transfer struct {
	Number  string             `json:"number"` // T1
	To      book.Place         `json:"to"`
	State   string             `json:"state"` // out, closed, void
	On      book.Date          `json:"on"`
	Due     book.Date          `json:"due"`
	Overdue int64              `json:"overdue"` // days
	Lots    []book.SuppliedLot `json:"lots"`    // still under way
	Note    string             `json:"note"`
}

// TransferMoved is what a movement between offices did.
type TransferMoved struct {
	Moved
	Transfer Transfer      `json:"transfer"`
	Document *DocumentFile `json:"document"` // the paper that goes with the stones; null: none was issued
}

// Screen is what is still under way, and what moved.
func (t *TransferMoved) Screen() Screen {
	var s Screen
	x := t.Transfer
	var pieces int64
	var carats num.Carat
	for _, l := range x.Lots {
		pieces += l.Pieces
		carats += l.Carats
	}
	words := fmt.Sprintf("transfer %s to %s: %s, %s ct under way", x.Number, x.To.Words(),
		plural(int(pieces), "piece", "pieces"), carats)
	if x.Due != "" {
		words += ", due " + string(x.Due)
	}
	if pieces == 0 {
		words = fmt.Sprintf("transfer %s to %s is closed: nothing is under way", x.Number, x.To.Words())
	}
	if t.Document != nil {
		words += " (" + t.Document.Number + ")"
	}
	s.line("%s", words)
	return append(s, t.Moved.Screen()...)
}

// Transfers are transfers with what is still under way on them.
type Transfers struct {
	Head      `json:"-"`
	AsOf      *AsOf      `json:"as_of"` // null: now
	Transfers []Transfer `json:"transfers"`
}

// transferRow is one lot of one transfer; one with nothing under way has one row
// without.
type transferRow struct {
	*Transfer
	lot *book.SuppliedLot
}

var transferColumns = []column[transferRow]{
	{"transfer", "Transfer", 9, func(r *transferRow) sheet.Cell { return sheet.Text(r.Number) }},
	{"to", "To", 16, func(r *transferRow) sheet.Cell { return sheet.Text(string(r.To)) }},
	{"state", "State", 9, func(r *transferRow) sheet.Cell { return sheet.Text(r.State) }},
	{"since", "Since", 13, func(r *transferRow) sheet.Cell { return sheet.Date(string(r.On)) }},
	{"due", "Due", 13, func(r *transferRow) sheet.Cell { return sheet.Date(string(r.Due)) }},
	{"overdue", "Overdue (days)", 9, func(r *transferRow) sheet.Cell { return someOf(r.Overdue) }},
	{"lot", "Lot", 12, func(r *transferRow) sheet.Cell {
		if r.lot == nil {
			return sheet.Text("")
		}
		return sheet.Text(r.lot.Lot)
	}},
	{"pieces", "Pieces", 8, func(r *transferRow) sheet.Cell {
		if r.lot == nil {
			return sheet.Empty()
		}
		return sheet.Int(r.lot.Pieces)
	}},
	{"carats", "By scale (ct)", 11, func(r *transferRow) sheet.Cell {
		if r.lot == nil {
			return sheet.Empty()
		}
		return sheet.Carats(r.lot.Carats)
	}},
	onlyFiled("Note", 30, func(r *transferRow) sheet.Cell { return sheet.Text(r.Note) }),
}

// List is the transfers, a row for each of their lots.
func (t *Transfers) List() Listing {
	out := &list[transferRow]{head: t.Head, asOf: t.AsOf, columns: transferColumns, first: []string{t.decision()}}
	for i := range t.Transfers {
		out.rows = append(out.rows, lotRows(t.Transfers[i].Lots, func(lot *book.SuppliedLot) transferRow {
			return transferRow{&t.Transfers[i], lot}
		})...)
	}
	return out
}

// decision says what is under way, and which transfer is overdue the longest.
func (t *Transfers) decision() string {
	var pieces, days int64
	var carats num.Carat
	var papers, late int
	worst := ""
	for i := range t.Transfers {
		x := &t.Transfers[i]
		if x.State != "out" {
			continue
		}
		papers++
		for _, l := range x.Lots {
			pieces, carats = pieces+l.Pieces, carats+l.Carats
		}
		if x.Overdue > 0 {
			late++
		}
		if x.Overdue > days {
			days, worst = x.Overdue, x.Number+" to "+x.To.Words()
		}
	}
	if papers == 0 {
		return "nothing is under way between offices"
	}
	return fmt.Sprintf("under way on %s: %s, %s ct; %s", plural(papers, "transfer", "transfers"),
		plural(int(pieces), "piece", "pieces"), carats, overdueWords(late, worst, days))
}

// TransferNote is the paper that goes with stones to another office:
// lotpaper/transfer-note/1. It holds no cost, because it travels.
type TransferNote struct {
	Head
	Transfer string        `json:"transfer"`
	To       book.Place    `json:"to"`
	Due      book.Date     `json:"due"`
	Note     string        `json:"note"`
	Lots     []TransferLot `json:"lots"`
}

// TransferLot is one lot of a transfer.
type TransferLot struct {
	Lot    string     `json:"lot"`
	Name   string     `json:"name"`
	From   book.Place `json:"from"`
	Shape  string     `json:"shape"`
	Size   string     `json:"size"`
	Pieces int64      `json:"pieces"`
	Carats num.Carat  `json:"carats"`
}

// JSON is the model's canonical form.
func (t *TransferNote) JSON() ([]byte, error) { return encode("lotpaper/transfer-note/1", t) }

// Workbook is one sheet: what was packed, and yellow cells for what arrived.
func (t *TransferNote) Workbook() (*sheet.Workbook, error) {
	s := &page{Sheet: sheet.Sheet{Name: "Transfer", Title: t.Title, Landscape: true,
		Footer: t.Number + ": transfer " + t.Transfer,
		Columns: []sheet.Col{{Header: "Lot", Width: 14}, {Header: "Name", Width: 24}, {Header: "From", Width: 16},
			{Header: "Shape", Width: 14}, {Header: "Size (mm)", Width: 22}, {Header: "Pieces", Width: 9},
			{Header: "By scale (ct)", Width: 11}, {Header: "Arrived", Width: 10}, {Header: "Weighed (ct)", Width: 11}}}}
	for _, l := range append(t.origin(), [2]string{"Transfer", t.Transfer}, [2]string{"To", t.To.Words()},
		[2]string{"Due", string(t.Due)}, [2]string{"Note", t.Note}) {
		if l[1] != "" {
			s.Notes = append(s.Notes, l[0]+": "+l[1])
		}
	}
	s.Notes = append(s.Notes,
		"Count and weigh each lot when it arrives: stones get switched. What is missing stays on "+
			"this paper until it is closed.", "Packed by: ______________________   Received by: "+
			"______________________   "+
			"Date: ________________")
	for _, l := range t.basis() {
		s.Notes = append(s.Notes, l[0]+": "+l[1])
	}
	var pieces int64
	var carats num.Carat
	for _, l := range t.Lots {
		s.add(styled(l.Lot, sheet.Strong), text(l.Name), text(l.From.Words()), text(l.Shape), text(l.Size),
			whole(l.Pieces), plain(sheet.Carats(l.Carats)), plain(sheet.Empty().As(sheet.Input)),
			plain(sheet.Empty().As(sheet.Input)))
		pieces += l.Pieces
		carats += l.Carats
	}
	s.total(5, whole(pieces), plain(sheet.Carats(carats)))
	return assemble(t.Head, newTally(t.Currency), []*page{s})
}
