package answer

import (
	"fmt"
	"strings"

	"lotpaper/internal/formula"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Way says which way the stones of a receipt went.
type Way string

// The ways.
const (
	TakenBack Way = "taken back" // from the party, on one of its papers
	GivenBack Way = "given back" // to the one whose they are
	TakenIn   Way = "taken in"   // into custody
	Arrived   Way = "arrived"    // at an office, on a transfer
)

// Receipt says what was handed over, for the party: counted and weighed.
type Receipt struct {
	Head
	Way      Way            `json:"way"`
	Party    string         `json:"party"` // or the office
	Paper    string         `json:"paper"` // M3; empty: no paper of theirs
	Batch    int64          `json:"batch"` // of the paper; 0: none
	Lines    []ReceiptStone `json:"lines"`
	Still    []PaperStone   `json:"still"`    // what remains where it was
	Accepted string         `json:"accepted"` // why differences were accepted
	Note     string         `json:"note"`
}

// ReceiptStone is stones of one lot, and what became of them.
type ReceiptStone struct {
	PaperStone
	Outcome string     `json:"outcome"` // accepted, rejected, broken, missing ...
	Owed    *num.Money `json:"owed"`    // by the party; null: nothing
	Agreed  *num.Money `json:"agreed"`  // the price at which they were lent, which falls away; null: none
	Note    string     `json:"note"`
}

// JSON is the model's canonical form: lotpaper/receipt/1.
func (r *Receipt) JSON() ([]byte, error) { return encode("lotpaper/receipt/1", r) }

// heading is the receipt's first line for the party.
func (r *Receipt) heading() string {
	switch r.Way {
	case TakenBack:
		return fmt.Sprintf("From %s, on %s, batch %d", r.Party, r.Paper, r.Batch)
	case GivenBack:
		return "Given back to " + r.Party
	case Arrived:
		return fmt.Sprintf("At %s, on %s, batch %d", r.Party, r.Paper, r.Batch)
	}
	return "Received from " + r.Party + ", whose property the stones remain"
}

// stillWords are the words over what remains where it was.
func (r *Receipt) stillWords() string {
	switch r.Way {
	case TakenBack:
		return "Still out on " + r.Paper
	case Arrived:
		return "Missing so far, still under way on " + r.Paper
	}
	return "Still here of " + r.Party
}

// amount is what stands in the last column of a line.
func (l *ReceiptStone) amount() *num.Money {
	if l.Owed != nil {
		return l.Owed
	}
	return l.Agreed
}

// Workbook is the receipt as one sheet.
func (r *Receipt) Workbook() (*sheet.Workbook, error) {
	last := ""
	for i := range r.Lines {
		switch l := &r.Lines[i]; {
		case l.Owed != nil:
			last = "Owed"
		case l.Agreed != nil:
			last = "Lent at"
		}
	}
	s := &page{Sheet: sheet.Sheet{Name: "Receipt", Title: r.Title, Landscape: true, Columns: []sheet.Col{
		{Header: "Lot", Width: 13}, {Header: "Stone", Width: 28}, {Header: "Shape", Width: 13},
		{Header: "Size (mm)", Width: 21}, {Header: "Pieces", Width: 9}, {Header: "Weight (ct)", Width: 11},
		{Header: "By scale (ct)", Width: 11}, {Header: "Outcome", Width: 13}, {Header: last, Width: 16},
		{Header: "Remarks", Width: 20}}}}
	accepted := r.Accepted
	if accepted != "" {
		accepted = "Differences were accepted: " + accepted
	}
	s.Notes = about(r.Head, r.heading(), accepted, r.Note)
	t := newTally(r.Currency)
	key := func(what string, i int) formula.Key { return formula.At(what, i) }
	row := func(what string, i int, x PaperStone, rest ...cell) {
		t.input(key(what+" pieces", i), num.Int(x.Pieces))
		t.input(key(what+" stated", i), x.Carats.Hundredths(r.Carats).Dec())
		t.input(key(what+" scale", i), x.Carats.Dec())
		s.add(append([]cell{styled(x.Lot, sheet.Strong), text(x.Name), text(x.Shape), text(x.Size),
			lives(key(what+" pieces", i), 0), lives(key(what+" stated", i), 2), lives(key(what+" scale", i), 3)},
			rest...)...)
	}
	sums := func(what string, n int) {
		for _, of := range []string{" pieces", " scale"} {
			t.sum(formula.Key(what+of), n, func(i int) formula.Key { return key(what+of, i) })
		}
		s.total(4, lives(formula.Key(what+" pieces"), 0), plain(sheet.Empty()), lives(formula.Key(what+" scale"), 3))
	}
	for i := range r.Lines {
		l := &r.Lines[i]
		amount := plain(sheet.Empty())
		if m := l.amount(); m != nil {
			amount = plain(sheet.Text(m.Words()).Right())
		}
		row("line", i, l.PaperStone, text(l.Outcome), amount, text(l.Note))
	}
	sums("line", len(r.Lines))
	if len(r.Still) > 0 {
		s.gap()
		s.section(r.stillWords(), len(s.Columns))
		for i, x := range r.Still {
			row("still", i, x, plain(sheet.Empty()), plain(sheet.Empty()), plain(sheet.Empty()))
		}
		sums("still", len(r.Still))
	}
	s.gap()
	s.notes(len(s.Columns), r.caratWords())
	s.gap()
	s.add(styled("Handed over", sheet.Label), text(""), styled("Received", sheet.Label))
	return assemble(r.Head, t, []*page{s})
}

// Returned is goods of others that went back to the one whose they are.
type Returned struct {
	Moved
	Party    string  `json:"party"`
	Owner    string  `json:"owner"`
	Document *Issued `json:"document"`
}

// Screen is what went back to whom, and what moved.
func (r *Returned) Screen() Screen {
	var s Screen
	var lots []string
	for _, p := range r.Postings {
		if !p.Place.IsReal() {
			lots = append(lots, fmt.Sprintf("%d of %s, %s ct", p.Pieces, p.Lot, p.Carats))
		}
	}
	s.line("%s has back: %s", r.Party, strings.Join(lots, "; "))
	s.paper(r.Document)
	return append(s, r.Moved.Screen()...)
}
