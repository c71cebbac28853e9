package answer

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// MemoIn is what is on memo in, here or out with others, by lender: what is
// overdue first.
type MemoIn struct {
	Head `json:"-"`
	AsOf *AsOf       `json:"as_of"` // null: now
	On   book.Date   `json:"on"`
	Lots []MemoInLot `json:"lots"`
}

// MemoInLot is one lent lot.
type MemoInLot struct {
	Lender    string           `json:"lender"`
	Lot       string           `json:"lot"`
	Parcel    string           `json:"parcel"`
	Name      string           `json:"name"`
	Places    []ledger.Balance `json:"places"`
	Pieces    int64            `json:"pieces"`
	Carats    num.Carat        `json:"carats"`
	Since     book.Date        `json:"since"`
	Due       book.Date        `json:"due"`
	Days      int64            `json:"days_here"`
	Overdue   int64            `json:"days_overdue"`
	Agreed    *num.Money       `json:"agreed"`     // for all of it, in the lender's currency; null: no price was agreed
	BookValue *num.Money       `json:"book_value"` // the same in the book's currency, at the rate of the day
}

// Sort puts each lender's lots together: the most overdue lender first, then by
// name, and of each what is due first.
func (m *MemoIn) Sort() {
	late := map[string]int64{}
	for _, l := range m.Lots {
		late[l.Lender] = max(late[l.Lender], l.Overdue)
	}
	slices.SortStableFunc(m.Lots, func(a, b MemoInLot) int {
		return cmp.Or(cmp.Compare(late[b.Lender], late[a.Lender]), strings.Compare(a.Lender, b.Lender),
			cmp.Compare(b.Overdue, a.Overdue), dueFirst(a.Due, b.Due))
	})
}

// dueFirst compares days, no day last.
func dueFirst(a, b book.Date) int {
	const never = "9999-12-31"
	return strings.Compare(cmp.Or(string(a), never), cmp.Or(string(b), never))
}

func (m *MemoIn) columns() []column[MemoInLot] {
	money := func(of func(*MemoInLot) *num.Money) func(*MemoInLot) sheet.Cell {
		return func(l *MemoInLot) sheet.Cell {
			if of(l) == nil {
				return sheet.Text("none").Right()
			}
			return sheet.Money(*of(l))
		}
	}
	return []column[MemoInLot]{
		{"lender", "Lender", 24, func(l *MemoInLot) sheet.Cell { return sheet.Text(l.Lender) }},
		{"due", "Due", 13, func(l *MemoInLot) sheet.Cell { return sheet.Date(string(l.Due)) }},
		{"late", "Overdue (days)", 9, func(l *MemoInLot) sheet.Cell {
			if l.Overdue == 0 {
				return sheet.Empty()
			}
			return sheet.Int(l.Overdue)
		}},
		onlyFiled("Since", 13, func(l *MemoInLot) sheet.Cell { return sheet.Date(string(l.Since)) }),
		onlyFiled("Here (days)", 8, func(l *MemoInLot) sheet.Cell { return sheet.Int(l.Days) }),
		{"lot", "Lot", 12, func(l *MemoInLot) sheet.Cell { return sheet.Text(l.Lot) }},
		onlyFiled("Parcel", 8, func(l *MemoInLot) sheet.Cell { return sheet.Text(l.Parcel) }),
		{"stone", "Name", 20, func(l *MemoInLot) sheet.Cell { return sheet.Text(l.Name) }},
		{"pieces", "Pieces", 8, func(l *MemoInLot) sheet.Cell { return sheet.Int(l.Pieces) }},
		{"carats", "By scale (ct)", 11, func(l *MemoInLot) sheet.Cell { return sheet.Carats(l.Carats) }},
		{"agreed", "Agreed price", 12, money(func(l *MemoInLot) *num.Money { return l.Agreed })},
		{"in", "Agreed in", 8, func(l *MemoInLot) sheet.Cell {
			if l.Agreed == nil {
				return sheet.Empty()
			}
			return sheet.Text(string(l.Agreed.Currency()))
		}},
		{"today", m.unit("At the day's rate"), 12, money(func(l *MemoInLot) *num.Money { return l.BookValue })},
		{"where", "Place", 16, func(l *MemoInLot) sheet.Cell {
			s := StockLot{Places: l.Places}
			return sheet.Text(s.Where())
		}},
	}
}

// List is the lots; on screen with what is owed to each lender.
func (m *MemoIn) List() Listing {
	out := &list[MemoInLot]{head: m.Head, asOf: m.AsOf, columns: m.columns(), rows: m.Lots}
	out.screen = func() Screen {
		var s Screen
		s.asOf(m.AsOf)
		for i := 0; i < len(m.Lots); {
			n := i
			for n < len(m.Lots) && m.Lots[n].Lender == m.Lots[i].Lender {
				n++
			}
			s.line("%s", m.lenderWords(m.Lots[i:n]))
			i = n
		}
		if len(m.Lots) == 0 {
			s.line("nothing is here on memo")
			return s
		}
		return append(s, Part{Table: tableOf(out.columns, out.rows)})
	}
	return out
}

// lenderWords is what lies here of one lender.
func (m *MemoIn) lenderWords(lots []MemoInLot) string {
	var pieces, late int64
	var carats num.Carat
	var sum num.Money
	priced := false
	for _, l := range lots {
		pieces += l.Pieces
		carats += l.Carats
		late = max(late, l.Overdue)
		if l.BookValue != nil {
			sum, priced = sum.Add(*l.BookValue), true
		}
	}
	words := fmt.Sprintf("%s: %d pieces, %s ct", lots[0].Lender, pieces, carats)
	if priced {
		day := "today"
		if m.AsOf != nil {
			day = "that day"
		}
		words += ", agreed at " + sum.Words() + " by " + day + "'s rate"
	}
	if late > 0 {
		words += fmt.Sprintf(", overdue by %d days", late)
	}
	return words
}
