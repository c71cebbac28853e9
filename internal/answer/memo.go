package answer

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Memo is goods out on approval, with what is still out.
type Memo struct {
	Number    string     `json:"number"` // M3
	Party     string     `json:"party"`
	State     string     `json:"state"` // out, closed, void
	On        book.Date  `json:"on"`
	Due       book.Date  `json:"due"`
	Days      int64      `json:"days_out"`
	Overdue   int64      `json:"days_overdue"`
	Lots      []MemoLot  `json:"lots"`       // still out
	Value     *num.Money `json:"value"`      // of what is still out; null: no price was named
	BookValue *num.Money `json:"book_value"` // the same in the book's currency, at the rate of the day
	Unpriced  int        `json:"unpriced"`   // lots without a price
	Terms     string     `json:"terms"`
	Note      string     `json:"note"`
}

// MemoLot is what is still out of one lot, and what it would bring.
type MemoLot struct {
	book.SuppliedLot
	Price *book.AskedPrice `json:"price"` // null: none was named
	Value *num.Money       `json:"value"`
}

// supplied are the lots that are still out.
func (m *Memo) supplied() []book.SuppliedLot {
	out := make([]book.SuppliedLot, len(m.Lots))
	for i, l := range m.Lots {
		out[i] = l.SuppliedLot
	}
	return out
}

// MemoMoved is what a movement on a memo did.
type MemoMoved struct {
	Moved
	Memo     Memo         `json:"memo"`
	Document *Issued      `json:"document"` // the note or receipt that goes with it; null: none
	Claims   []book.Claim `json:"claims"`   // what the party owes for what is missing
}

// Screen is what is out on the memo now, its paper, and what moved.
func (m *MemoMoved) Screen() Screen {
	var s Screen
	words := stillOut("memo "+m.Memo.Number, m.Memo.Party, m.Memo.Due, m.Memo.supplied())
	if m.Memo.Value != nil {
		words += ", worth " + m.Memo.Value.Words()
	}
	s.line("%s", words)
	for _, c := range m.Claims {
		s.line("%s: %s owes %s for %s", c.Number, c.Party, c.Owed().Words(), c.Lot)
	}
	s.paper(m.Document)
	return append(s, m.Moved.Screen()...)
}

// paper adds the document that goes with a movement.
func (s *Screen) paper(d *Issued) {
	if d != nil {
		s.line("%s: %s", d.Number, d.Title)
	}
}

// Memos are memos with what is still out on them: overdue ones first.
type Memos struct {
	Head    `json:"-"`
	AsOf    *AsOf       `json:"as_of"` // null: now
	Memos   []Memo      `json:"memos"`
	Parties []MemoParty `json:"parties"` // what is out with each
	Total   MemoParty   `json:"total"`
}

// MemoParty is what one party has on memo, in the book's currency.
type MemoParty struct {
	Party    string     `json:"party"`
	Memos    int        `json:"memos"`
	Overdue  int        `json:"overdue"` // of these memos
	Pieces   int64      `json:"pieces"`
	Carats   num.Carat  `json:"carats"`
	Value    *num.Money `json:"value"`    // null: no price was named
	Unpriced int        `json:"unpriced"` // lots without a price
}

func (p *MemoParty) add(m *Memo, zero num.Money) {
	p.Memos++
	if m.Overdue > 0 {
		p.Overdue++
	}
	for _, l := range m.Lots {
		p.Pieces += l.Pieces
		p.Carats += l.Carats
	}
	p.Unpriced += m.Unpriced
	if m.BookValue != nil {
		sum := zero.Add(*m.BookValue)
		if p.Value != nil {
			sum = p.Value.Add(*m.BookValue)
		}
		p.Value = &sum
	}
}

// words is what the party has in one line.
func (p *MemoParty) words() string {
	words := fmt.Sprintf("%d memos, %d pieces, %s ct", p.Memos, p.Pieces, p.Carats)
	if p.Memos == 1 {
		words = strings.Replace(words, "memos", "memo", 1)
	}
	if p.Value != nil {
		words += ", " + p.Value.Words() + " at memo prices"
	}
	if p.Unpriced > 0 {
		words += fmt.Sprintf(", %d without a price", p.Unpriced)
	}
	if p.Overdue > 0 {
		words += fmt.Sprintf(", %d overdue", p.Overdue)
	}
	return words
}

// Sum puts the overdue memos first, and adds up what is out by party; zero is of
// the book's currency.
func (m *Memos) Sum(zero num.Money) {
	slices.SortStableFunc(m.Memos, func(a, b Memo) int { return cmp.Compare(b.Overdue, a.Overdue) })
	m.Parties = []MemoParty{}
	for i := range m.Memos {
		memo := &m.Memos[i]
		if memo.State != "out" {
			continue
		}
		at := slices.IndexFunc(m.Parties, func(p MemoParty) bool { return strings.EqualFold(p.Party, memo.Party) })
		if at < 0 {
			at = len(m.Parties)
			m.Parties = append(m.Parties, MemoParty{Party: memo.Party})
		}
		m.Parties[at].add(memo, zero)
		m.Total.add(memo, zero)
	}
	slices.SortFunc(m.Parties, func(a, b MemoParty) int { return strings.Compare(a.Party, b.Party) })
}

// memoRow is one lot of one memo; a memo with nothing out has one row without.
type memoRow struct {
	*Memo
	lot *MemoLot
}

// ofLot is a cell of the row's lot; empty where nothing is out.
func ofLot(cell func(*MemoLot) sheet.Cell) func(*memoRow) sheet.Cell {
	return func(r *memoRow) sheet.Cell {
		if r.lot == nil {
			return sheet.Empty()
		}
		return cell(r.lot)
	}
}

var memoColumns = []column[memoRow]{
	{"memo", "Memo", 8, func(r *memoRow) sheet.Cell { return sheet.Text(r.Number) }},
	{"party", "Party", 24, func(r *memoRow) sheet.Cell { return sheet.Text(r.Party) }},
	{"state", "State", 9, func(r *memoRow) sheet.Cell { return sheet.Text(r.Memo.state()) }},
	{"since", "Since", 13, func(r *memoRow) sheet.Cell { return sheet.Date(string(r.On)) }},
	{"due", "Due", 13, func(r *memoRow) sheet.Cell { return sheet.Date(string(r.Due)) }},
	{"days", "Out (days)", 8, func(r *memoRow) sheet.Cell { return sheet.Int(r.Days) }},
	{"late", "Overdue (days)", 9, func(r *memoRow) sheet.Cell {
		if r.Overdue == 0 {
			return sheet.Empty()
		}
		return sheet.Int(r.Overdue)
	}},
	{"lot", "Lot", 12, ofLot(func(l *MemoLot) sheet.Cell { return sheet.Text(l.Lot) })},
	{"pieces", "Pieces", 8, ofLot(func(l *MemoLot) sheet.Cell { return sheet.Int(l.Pieces) })},
	{"carats", "By scale (ct)", 11, ofLot(func(l *MemoLot) sheet.Cell { return sheet.Carats(l.Carats) })},
	{"price", "Price", 24, ofLot(func(l *MemoLot) sheet.Cell {
		if l.Price == nil {
			return sheet.Empty()
		}
		return sheet.Text(l.Price.Words())
	})},
	{"value", "Value", 12, ofLot(func(l *MemoLot) sheet.Cell {
		if l.Value == nil {
			return sheet.Empty()
		}
		return sheet.Money(*l.Value)
	})},
	onlyFiled("Value in", 8, ofLot(func(l *MemoLot) sheet.Cell {
		if l.Value == nil {
			return sheet.Empty()
		}
		return sheet.Text(string(l.Value.Currency()))
	})),
	onlyFiled("Terms", 30, func(r *memoRow) sheet.Cell { return sheet.Text(r.Terms) }),
	onlyFiled("Note", 30, func(r *memoRow) sheet.Cell { return sheet.Text(r.Note) }),
}

// state is out, overdue, closed or void.
func (m *Memo) state() string {
	if m.Overdue > 0 {
		return "overdue"
	}
	return m.State
}

// List is the memos, a row for each of their lots, and what each party has.
func (m *Memos) List() Listing {
	out := &list[memoRow]{head: m.Head, asOf: m.AsOf, columns: memoColumns}
	for i := range m.Memos {
		memo := &m.Memos[i]
		out.rows = append(out.rows, lotRows(memo.Lots, func(lot *MemoLot) memoRow { return memoRow{memo, lot} })...)
	}
	for i := range m.Parties {
		out.notes = append(out.notes, m.Parties[i].Party+": "+m.Parties[i].words()+".")
	}
	out.screen = func() Screen {
		var s Screen
		s.asOf(m.AsOf)
		s.line("%s", m.decision())
		for i := range m.Parties {
			if len(m.Parties) > 1 {
				s.line("%s: %s", m.Parties[i].Party, m.Parties[i].words())
			}
		}
		if len(out.rows) == 0 {
			return s
		}
		return append(s, Part{Table: tableOf(memoColumns, out.rows)})
	}
	return out
}

// decision says what is out on memo, and which memo is overdue the longest: it
// stands first.
func (m *Memos) decision() string {
	if m.Total.Memos == 0 {
		return "nothing is out on memo"
	}
	words := "out: " + m.Total.words()
	if len(m.Parties) == 1 {
		words = "out with " + m.Parties[0].Party + ": " + m.Total.words()
	}
	if m.Total.Overdue == 0 {
		return words
	}
	first := m.Memos[0] // overdue the longest
	which := "the longest " + first.Number
	if m.Total.Overdue == 1 {
		which = first.Number
	}
	if len(m.Parties) > 1 {
		which += " with " + first.Party
	}
	return fmt.Sprintf("%s, %s by %s", words, which, plural(int(first.Overdue), "day", "days"))
}
