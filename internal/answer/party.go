package answer

import (
	"fmt"
	"strconv"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Party is a party by the name that it has today: what the book says of it and
// what of the stock it has now.
type Party struct {
	book.Party           // its roles are those of its record and those of its papers
	Former     []string  `json:"former"` // names that stand for it
	Pieces     int64     `json:"pieces"`
	Carats     num.Carat `json:"carats"`
	Cost       num.Money `json:"cost"`
}

// roles are what the party does, in words.
func (p *Party) roles() string {
	words := make([]string, len(p.Roles))
	for i, r := range p.Roles {
		words[i] = string(r)
	}
	return strings.Join(words, ", ")
}

// PartyTerms are the terms of a party in words.
func PartyTerms(days *int64) string {
	switch {
	case days == nil:
		return ""
	case *days == 0:
		return "at once"
	}
	return strconv.FormatInt(*days, 10) + " days"
}

// Parties are the parties of a book.
type Parties struct {
	Head    `json:"-"`
	Parties []Party `json:"parties"`
}

func (p *Parties) columns() []column[Party] {
	return []column[Party]{
		{"party", "Party", 28, func(r *Party) sheet.Cell { return sheet.Text(r.Name) }},
		{"roles", "Roles", 22, func(r *Party) sheet.Cell { return sheet.Text(r.roles()) }},
		{"terms", "Terms", 10, func(r *Party) sheet.Cell { return sheet.Text(PartyTerms(r.Terms)) }},
		{"currency", "Currency", 9, func(r *Party) sheet.Cell { return sheet.Text(string(r.Currency)) }},
		{"tier", "Tier", 9, func(r *Party) sheet.Cell { return sheet.Text(r.Tier) }},
		onlyFiled("Language", 9, func(r *Party) sheet.Cell { return sheet.Text(r.Language) }),
		onlyFiled("Email", 26, func(r *Party) sheet.Cell { return sheet.Text(r.Email) }),
		onlyFiled("Address", 34, func(r *Party) sheet.Cell { return sheet.Text(r.Address) }),
		onlyFiled("Tax number", 18, func(r *Party) sheet.Cell { return sheet.Text(r.TaxNumber) }),
		onlyFiled("Balance (ct)", 10, func(r *Party) sheet.Cell { return knownCarats(r.Balance) }),
		{"pieces out", "Pieces out", 9, func(r *Party) sheet.Cell { return sheet.Int(r.Pieces) }},
		{"carats", "By scale (ct)", 11, func(r *Party) sheet.Cell { return sheet.Carats(r.Carats) }},
		{"cost", p.unit("Cost"), 12, func(r *Party) sheet.Cell { return sheet.Money(r.Cost) }},
		{"once called", "Once called", 26, func(r *Party) sheet.Cell {
			return sheet.Text(strings.Join(r.Former, "; "))
		}},
		onlyFiled("Note", 30, func(r *Party) sheet.Cell { return sheet.Text(r.Note) }),
	}
}

// knownCarats is a weight, empty when it is not known.
func knownCarats(c num.Carat) sheet.Cell {
	if c == 0 {
		return sheet.Empty()
	}
	return sheet.Carats(c)
}

// List is the parties.
func (p *Parties) List() Listing {
	return &list[Party]{head: p.Head, columns: p.columns(), rows: p.Parties}
}

// PartyPaper is a paper, a parcel or an offer that names a party.
type PartyPaper struct {
	Number string     `json:"number"`
	Kind   string     `json:"kind"` // purchase, memo-in, memo, order, sale, work, report ...
	Name   string     `json:"name"` // as it stands there
	On     book.Date  `json:"on"`
	Due    book.Date  `json:"due"`
	State  string     `json:"state"`
	Amount *num.Money `json:"amount"` // null: it has none
}

// PartyShow is one party: what the book says of it, its papers and what it has.
type PartyShow struct {
	Party
	Papers []PartyPaper `json:"papers"`
	Lots   []StockLot   `json:"lots"` // that it has now, with their balances there
}

var partyPaperColumns = []column[PartyPaper]{
	screen("paper", func(r *PartyPaper) sheet.Cell { return sheet.Text(r.Number) }),
	screen("kind", func(r *PartyPaper) sheet.Cell { return sheet.Text(r.Kind) }),
	screen("date", func(r *PartyPaper) sheet.Cell { return sheet.Date(string(r.On)) }),
	screen("due", func(r *PartyPaper) sheet.Cell { return sheet.Date(string(r.Due)) }),
	screen("state", func(r *PartyPaper) sheet.Cell { return sheet.Text(r.State) }),
	screen("amount", func(r *PartyPaper) sheet.Cell {
		if r.Amount == nil {
			return sheet.Empty()
		}
		return sheet.Money(*r.Amount)
	}),
	screen("as written", func(r *PartyPaper) sheet.Cell { return sheet.Text(r.Name) }),
}

// Screen says what the party has, then its particulars, its papers and the lots
// that it has.
func (p *PartyShow) Screen() Screen {
	var s Screen
	switch {
	case p.Pieces == 0:
		s.line("%s has nothing of the stock", p.Name)
	default:
		s.line("%s has %d pieces, %s ct, cost %s", p.Name, p.Pieces, p.Carats, p.Cost.Words())
	}
	t := &Table{Header: []string{"field", "value"}}
	for _, f := range PartyFields {
		if value := f.Words(p.Party.Party); value != "" {
			t.Rows = append(t.Rows, []string{f.Label, strings.ReplaceAll(value, "\n", ", ")})
		}
	}
	if len(p.Former) > 0 {
		t.Rows = append(t.Rows, []string{"once called", strings.Join(p.Former, "; ")})
	}
	if len(t.Rows) > 0 {
		s.table(t)
	}
	if len(p.Papers) > 0 {
		s.table(tableOf(partyPaperColumns, p.Papers))
	}
	if len(p.Lots) > 0 {
		s.table(tableOf([]column[StockLot]{
			screen("lot", func(l *StockLot) sheet.Cell { return sheet.Text(l.Code) }),
			screen("stone", func(l *StockLot) sheet.Cell { return sheet.Text(l.Called()) }),
			screen("pieces", func(l *StockLot) sheet.Cell { return sheet.Int(l.Pieces) }),
			screen("carats", func(l *StockLot) sheet.Cell { return sheet.Carats(l.Carats) }),
			screen("cost", func(l *StockLot) sheet.Cell { return sheet.Money(l.Cost) }),
			screen("where", func(l *StockLot) sheet.Cell { return sheet.Text(l.Where()) }),
		}, p.Lots))
	}
	return s
}

// PartyField is one particular of a party.
type PartyField struct {
	Name  string // of the field in a request
	Label string
	Words func(book.Party) string             // empty: not said
	Copy  func(to *book.Party, of book.Party) // takes the particular over
}

// PartyFields are the particulars of a party, in the order in which they are shown.
var PartyFields = []PartyField{
	{"role", "roles", func(p book.Party) string { return (&Party{Party: p}).roles() },
		func(to *book.Party, of book.Party) { to.Roles = of.Roles }},
	{"address", "address", func(p book.Party) string { return p.Address },
		func(to *book.Party, of book.Party) { to.Address = of.Address }},
	{"tax_number", "tax number", func(p book.Party) string { return p.TaxNumber },
		func(to *book.Party, of book.Party) { to.TaxNumber = of.TaxNumber }},
	{"email", "email", func(p book.Party) string { return p.Email },
		func(to *book.Party, of book.Party) { to.Email = of.Email }},
	{"terms", "terms", func(p book.Party) string { return PartyTerms(p.Terms) },
		func(to *book.Party, of book.Party) { to.Terms = of.Terms }},
	{"currency", "currency", func(p book.Party) string { return string(p.Currency) },
		func(to *book.Party, of book.Party) { to.Currency = of.Currency }},
	{"tier", "tier", func(p book.Party) string { return p.Tier },
		func(to *book.Party, of book.Party) { to.Tier = of.Tier }},
	{"language", "language", func(p book.Party) string { return p.Language },
		func(to *book.Party, of book.Party) { to.Language = of.Language }},
	{"balance", "balance", func(p book.Party) string {
		if p.Balance == 0 {
			return ""
		}
		return p.Balance.String() + " ct"
	}, func(to *book.Party, of book.Party) { to.Balance = of.Balance }},
	{"note", "note", func(p book.Party) string { return p.Note },
		func(to *book.Party, of book.Party) { to.Note = of.Note }},
}

// Change is one field of a record that was changed.
type Change struct {
	Field  string `json:"field"`
	Before string `json:"before"` // empty: it was not said
	Now    string `json:"now"`
}

// changesTable is a table of what was changed.
func changesTable(list []Change) *Table {
	return tableOf([]column[Change]{
		screen("field", func(c *Change) sheet.Cell { return sheet.Text(c.Field) }),
		screen("before", func(c *Change) sheet.Cell { return sheet.Text(strings.ReplaceAll(c.Before, "\n", ", ")) }),
		screen("now", func(c *Change) sheet.Cell { return sheet.Text(strings.ReplaceAll(c.Now, "\n", ", ")) }),
	}, list)
}

// PartySet is a party whose particulars were set.
type PartySet struct {
	Entry   string   `json:"entry"`
	Party   string   `json:"party"`
	New     bool     `json:"new"` // the book did not know the name
	Changes []Change `json:"changes"`
}

// Screen says what was set.
func (p *PartySet) Screen() Screen {
	var s Screen
	if p.New {
		s.line("%s: %s is a new party", p.Entry, p.Party)
	} else {
		s.line("%s: %s", p.Entry, p.Party)
	}
	s.table(changesTable(p.Changes))
	return s
}

// PartyMerged is a party that has another name now, or two that are one.
type PartyMerged struct {
	Entry string `json:"entry"`
	From  string `json:"from"`
	Into  string `json:"into"`
	Kept  int    `json:"kept"` // records that keep the old name
}

// Screen says which name stands for which.
func (p *PartyMerged) Screen() Screen {
	var s Screen
	s.line("%s: %s is %s from now on", p.Entry, p.From, p.Into)
	if p.Kept > 0 {
		s.line("%s the name %s", plural(p.Kept, "record keeps", "records keep"), p.From)
	}
	return s
}

// plural is a count with its noun and verb.
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
