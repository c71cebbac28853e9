package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/sheet"
)

// Memo is goods out on approval, with what is still out.
type Memo struct {
	Number string             `json:"number"` // M3
	Party  string             `json:"party"`
	State  string             `json:"state"` // out, closed, void
	On     book.Date          `json:"on"`
	Due    book.Date          `json:"due"`
	Lots   []book.SuppliedLot `json:"lots"` // still out
	Note   string             `json:"note"`
}

// MemoMoved is what a movement on a memo did.
type MemoMoved struct {
	Moved
	Memo Memo `json:"memo"`
}

// Screen is what is out on the memo now, and what moved.
func (m *MemoMoved) Screen() Screen {
	var s Screen
	s.line("%s", stillOut("memo "+m.Memo.Number, m.Memo.Party, m.Memo.Due, m.Memo.Lots))
	return append(s, m.Moved.Screen()...)
}

// Memos are memos with what is still out on them.
type Memos struct {
	Head  `json:"-"`
	AsOf  *AsOf  `json:"as_of"` // null: now
	Memos []Memo `json:"memos"`
}

// memoRow is one lot of one memo; a memo with nothing out has one row without.
type memoRow struct {
	Memo
	lot book.SuppliedLot
}

var memoColumns = []column[memoRow]{
	{"memo", "Memo", 8, func(r *memoRow) sheet.Cell { return sheet.Text(r.Number) }},
	{"party", "Party", 24, func(r *memoRow) sheet.Cell { return sheet.Text(r.Party) }},
	{"state", "State", 9, func(r *memoRow) sheet.Cell { return sheet.Text(r.State) }},
	{"since", "Since", 13, func(r *memoRow) sheet.Cell { return sheet.Date(string(r.On)) }},
	{"due", "Due", 13, func(r *memoRow) sheet.Cell { return sheet.Date(string(r.Due)) }},
	{"lot", "Lot", 12, func(r *memoRow) sheet.Cell { return sheet.Text(r.lot.Lot) }},
	{"pieces", "Pieces", 8, func(r *memoRow) sheet.Cell {
		if r.lot.Lot == "" {
			return sheet.Empty()
		}
		return sheet.Int(r.lot.Pieces)
	}},
	{"carats", "By scale (ct)", 11, func(r *memoRow) sheet.Cell {
		if r.lot.Lot == "" {
			return sheet.Empty()
		}
		return sheet.Carats(r.lot.Carats)
	}},
	onlyFiled("Note", 30, func(r *memoRow) sheet.Cell { return sheet.Text(r.Note) }),
}

// List is the memos, a row for each of their lots.
func (m *Memos) List() Listing {
	out := &list[memoRow]{head: m.Head, asOf: m.AsOf, columns: memoColumns}
	for _, memo := range m.Memos {
		if len(memo.Lots) == 0 {
			out.rows = append(out.rows, memoRow{Memo: memo})
		}
		for _, lot := range memo.Lots {
			out.rows = append(out.rows, memoRow{memo, lot})
		}
	}
	return out
}
