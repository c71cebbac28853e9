package answer

import (
	"cmp"
	"fmt"

	"lotpaper/internal/ledger"
	"lotpaper/internal/sheet"
)

// LedgerShow lists entries with their postings, oldest first.
type LedgerShow struct {
	Entries []ledger.Entry `json:"entries"`
}

// postingRow is one posting of an entry; an entry without any has one row of
// its own. The reason stands on the first.
type postingRow struct {
	*ledger.Entry
	ledger.Posting
	none  bool
	words string
}

// change is a cell of a change: with its sign, and empty where nothing moved.
func (r *postingRow) change(words string, sign int) sheet.Cell {
	switch {
	case r.none:
		return sheet.Empty()
	case sign > 0:
		words = "+" + words
	}
	return sheet.Text(words).Right()
}

var postingColumns = []column[postingRow]{
	screen("entry", func(r *postingRow) sheet.Cell { return sheet.Text(r.Code) }),
	screen("date", func(r *postingRow) sheet.Cell { return sheet.Date(string(r.PostedOn)) }),
	screen("kind", func(r *postingRow) sheet.Cell { return sheet.Text(string(r.Kind)) }),
	screen("lot", func(r *postingRow) sheet.Cell { return sheet.Text(r.Lot) }),
	screen("place", func(r *postingRow) sheet.Cell { return sheet.Text(string(r.Place)) }),
	screen("pieces", func(r *postingRow) sheet.Cell { return r.change(fmt.Sprintf("%+d", r.Pieces), 0) }),
	screen("carats", func(r *postingRow) sheet.Cell { return r.change(r.Carats.String(), cmp.Compare(r.Carats, 0)) }),
	screen("cost", func(r *postingRow) sheet.Cell { return r.change(r.Cost.String(), r.Cost.Sign()) }),
	screen("reason", func(r *postingRow) sheet.Cell { return sheet.Text(r.words) }),
	screen("who", func(r *postingRow) sheet.Cell { return sheet.Text(r.Who) }),
}

// Table is the entries for the screen, a row for each posting.
func (l *LedgerShow) Table() *Table {
	var rows []postingRow
	for i := range l.Entries {
		e := &l.Entries[i]
		words := e.Reason
		if e.Reverses != "" {
			words += " (reverses " + e.Reverses + ")"
		}
		if len(e.Postings) == 0 {
			rows = append(rows, postingRow{Entry: e, none: true, words: words})
		}
		for _, p := range e.Postings {
			rows = append(rows, postingRow{Entry: e, Posting: p, words: words})
			words = ""
		}
	}
	return tableOf(postingColumns, rows)
}

// Backup is a copy of the book and the head that seals what it holds.
type Backup struct {
	File    string `json:"file"`
	Entries int64  `json:"entries"`
	Head    string `json:"head"`
}

// Text says where the copy is, how many entries it holds and what seals them.
func (b *Backup) Text() string {
	return fmt.Sprintf("wrote %s\nentries: %d\nhead:    %s\n", b.File, b.Entries, b.Head)
}
