package answer

import (
	"fmt"

	"lotpaper/internal/ledger"
	"lotpaper/internal/sheet"
)

// LedgerShow lists entries with their postings, oldest first.
type LedgerShow struct {
	Head    `json:"-"`
	Entries []ledger.Entry `json:"entries"`
}

// postingRow is one posting of an entry; an entry without any has one row of
// its own. On screen the reason stands on the first.
type postingRow struct {
	*ledger.Entry
	*ledger.Posting // nil: the entry moved nothing
	first           bool
}

// why is the entry's reason, and which entry it reverses.
func (r *postingRow) why() string {
	if r.Reverses == "" {
		return r.Reason
	}
	return r.Reason + " (reverses " + r.Reverses + ")"
}

// ofPosting is the value of a column that shows a posting, empty without one.
func ofPosting(value func(*ledger.Posting) sheet.Cell) func(*postingRow) sheet.Cell {
	return func(r *postingRow) sheet.Cell {
		if r.Posting == nil {
			return sheet.Empty()
		}
		return value(r.Posting)
	}
}

func (l *LedgerShow) columns() []column[postingRow] {
	return []column[postingRow]{
		{"entry", "Entry", 9, func(r *postingRow) sheet.Cell { return sheet.Text(r.Code) }},
		{"date", "Date", 13, func(r *postingRow) sheet.Cell { return sheet.Date(string(r.PostedOn)) }},
		{"kind", "Kind", 10, func(r *postingRow) sheet.Cell { return sheet.Text(string(r.Kind)) }},
		{"lot", "Lot", 12, ofPosting(func(p *ledger.Posting) sheet.Cell { return sheet.Text(p.Lot) })},
		{"place", "Place", 20, ofPosting(func(p *ledger.Posting) sheet.Cell { return sheet.Text(string(p.Place)) })},
		screen("pieces", ofPosting(signedPieces)),
		screen("carats", ofPosting(signedCarats)),
		screen("cost", ofPosting(signedCost)),
		onlyFiled("Pieces", 8, ofPosting(func(p *ledger.Posting) sheet.Cell { return sheet.Int(p.Pieces) })),
		onlyFiled("By scale (ct)", 11, ofPosting(func(p *ledger.Posting) sheet.Cell { return sheet.Carats(p.Carats) })),
		onlyFiled(l.unit("Cost"), 11, ofPosting(func(p *ledger.Posting) sheet.Cell { return sheet.Money(p.Cost) })),
		screen("reason", func(r *postingRow) sheet.Cell {
			if !r.first {
				return sheet.Empty()
			}
			return sheet.Text(r.why())
		}),
		onlyFiled("Reason", 40, func(r *postingRow) sheet.Cell { return sheet.Text(r.why()) }),
		{"who", "Who", 14, func(r *postingRow) sheet.Cell { return sheet.Text(r.Who) }},
	}
}

// List is the entries, a row for each posting.
func (l *LedgerShow) List() Listing {
	out := &list[postingRow]{head: l.Head, columns: l.columns()}
	for i := range l.Entries {
		e := &l.Entries[i]
		if len(e.Postings) == 0 {
			out.rows = append(out.rows, postingRow{Entry: e, first: true})
		}
		for j := range e.Postings {
			out.rows = append(out.rows, postingRow{e, &e.Postings[j], j == 0})
		}
	}
	return out
}

// Backup is a copy of the book and the head that seals what it holds.
type Backup struct {
	File    string `json:"file"`
	Entries int64  `json:"entries"`
	Head    string `json:"head"`
}

// Screen says where the copy is, how many entries it holds and what seals them.
func (b *Backup) Screen() Screen {
	return screenOf(fmt.Sprintf("wrote %s\n%s", b.File, b.Seal()))
}

// Seal says how many entries the copy holds and what seals them.
func (b *Backup) Seal() string { return fmt.Sprintf("entries: %d\nhead:    %s\n", b.Entries, b.Head) }
