package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/sheet"
)

// MemoMoved is what a movement on a memo did.
type MemoMoved struct {
	Moved
	Memo book.Memo `json:"memo"`
}

// Memos are memos with what is still out on them.
type Memos struct {
	Memos []book.Memo `json:"memos"`
}

// memoRow is one lot of one memo; a memo with nothing out has one row without.
type memoRow struct {
	book.Memo
	lot *book.SuppliedLot
}

// of is a cell of the lot, empty without one.
func (r *memoRow) of(value func(*book.SuppliedLot) sheet.Cell) sheet.Cell {
	if r.lot == nil {
		return sheet.Empty()
	}
	return value(r.lot)
}

var memoColumns = []column[memoRow]{
	screen("memo", func(r *memoRow) sheet.Cell { return sheet.Text(r.Number) }),
	screen("party", func(r *memoRow) sheet.Cell { return sheet.Text(r.Party) }),
	screen("state", func(r *memoRow) sheet.Cell { return sheet.Text(r.State) }),
	screen("since", func(r *memoRow) sheet.Cell { return sheet.Date(string(r.On)) }),
	screen("due", func(r *memoRow) sheet.Cell { return sheet.Date(string(r.Due)) }),
	screen("lot", func(r *memoRow) sheet.Cell {
		return r.of(func(l *book.SuppliedLot) sheet.Cell { return sheet.Text(l.Lot) })
	}),
	screen("pieces", func(r *memoRow) sheet.Cell {
		return r.of(func(l *book.SuppliedLot) sheet.Cell { return sheet.Int(l.Pieces) })
	}),
	screen("carats", func(r *memoRow) sheet.Cell {
		return r.of(func(l *book.SuppliedLot) sheet.Cell { return sheet.Carats(l.Carats) })
	}),
}

// Table is the memos for the screen, a row for each of their lots.
func (m *Memos) Table() *Table {
	var rows []memoRow
	for _, memo := range m.Memos {
		if len(memo.Lots) == 0 {
			rows = append(rows, memoRow{Memo: memo})
		}
		for i := range memo.Lots {
			rows = append(rows, memoRow{memo, &memo.Lots[i]})
		}
	}
	return tableOf(memoColumns, rows)
}
