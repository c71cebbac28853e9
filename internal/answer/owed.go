package answer

import (
	"cmp"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Owed is what parties owe the dealer on a day, or what he owes them.
type Owed struct {
	Head    `json:"-"`
	On      book.Date `json:"on"`
	Payable bool      `json:"payable"` // the dealer owes it
	Parties []OwedBy  `json:"parties"` // those overdue longest first
	Overdue num.Money `json:"overdue"` // of Book
	Book    num.Money `json:"book"`    // of all, as it stands in the book
}

// OwedBy is what one party owes, or is owed, in one currency.
type OwedBy struct {
	Party      string       `json:"party"`
	Currency   num.Currency `json:"currency"`
	Items      int          `json:"items"`        // papers that are open
	Oldest     string       `json:"oldest"`       // the paper that is due first; empty: nothing is owed
	Days       int64        `json:"days_overdue"` // of the oldest; negative: until it is due
	Age        Ageing       `json:"age"`
	Book       num.Money    `json:"book"`        // at the rates of the invoices, book currency
	WrittenOff num.Money    `json:"written_off"` // owed still, but not in the book
}

// OwedItem is one paper that is open.
type OwedItem struct {
	Party, Document string
	Days            int64
	Open, Book      num.Money // Open in its currency; below zero: it is to the party's credit
	WrittenOff      num.Money
}

// Add counts an item in the row of its party and currency.
func (o *Owed) Add(it OwedItem) {
	c := it.Open.Currency()
	i := slices.IndexFunc(o.Parties, func(x OwedBy) bool {
		return strings.EqualFold(x.Party, it.Party) && x.Currency == c
	})
	if i < 0 {
		i = len(o.Parties)
		o.Parties = append(o.Parties, OwedBy{Party: it.Party, Currency: c, Age: NewAgeing(c),
			Book: num.Zero(o.Book.Currency()), WrittenOff: num.Zero(c)})
	}
	row := &o.Parties[i]
	row.WrittenOff = row.WrittenOff.Add(it.WrittenOff)
	if it.Open.IsZero() && it.Book.IsZero() {
		return
	}
	row.Items++
	row.Age.Add(it.Days, it.Open)
	row.Book, o.Book = row.Book.Add(it.Book), o.Book.Add(it.Book)
	if it.Open.Sign() > 0 && (row.Oldest == "" || it.Days > row.Days) {
		row.Oldest, row.Days = it.Document, it.Days
	}
	if it.Days > 0 {
		o.Overdue = o.Overdue.Add(it.Book)
	}
}

// Sort puts those who are overdue longest first, then what is due next.
func (o *Owed) Sort() {
	slices.SortStableFunc(o.Parties, func(a, b OwedBy) int {
		owes := func(x OwedBy) int {
			if x.Oldest == "" {
				return 1
			}
			return 0
		}
		return cmp.Or(cmp.Compare(owes(a), owes(b)), cmp.Compare(b.Days, a.Days),
			cmp.Compare(strings.ToLower(a.Party), strings.ToLower(b.Party)), cmp.Compare(a.Currency, b.Currency))
	})
}

// List is a row for each party and currency.
func (o *Owed) List() Listing {
	age := func(i int) func(*OwedBy) sheet.Cell {
		return func(x *OwedBy) sheet.Cell { return sheet.Money(x.Age.parts()[i]) }
	}
	columns := []column[OwedBy]{
		{"party", "Party", 24, func(x *OwedBy) sheet.Cell { return sheet.Text(x.Party) }},
		{"currency", "Currency", 9, func(x *OwedBy) sheet.Cell { return sheet.Text(string(x.Currency)) }},
		{"open", "Open", 12, func(x *OwedBy) sheet.Cell { return sheet.Money(x.Age.Total) }},
	}
	for i, w := range ageWords {
		columns = append(columns, column[OwedBy]{w, w, 12, age(i)})
	}
	columns = append(columns, column[OwedBy]{"in the book", o.unit("In the book"), 12,
		func(x *OwedBy) sheet.Cell { return sheet.Money(x.Book) }},
		column[OwedBy]{"oldest", "Oldest", 19, func(x *OwedBy) sheet.Cell { return sheet.Text(x.Oldest) }},
		column[OwedBy]{"days over", "Days over due", 9, func(x *OwedBy) sheet.Cell {
			if x.Days <= 0 {
				return sheet.Empty()
			}
			return sheet.Int(x.Days)
		}})
	if slices.ContainsFunc(o.Parties, func(x OwedBy) bool { return !x.WrittenOff.IsZero() }) {
		columns = append(columns, column[OwedBy]{"written off", "Written off, owed still", 12,
			func(x *OwedBy) sheet.Cell { return sheet.Money(x.WrittenOff) }})
	}
	return &list[OwedBy]{head: o.Head, columns: columns, rows: o.Parties, screen: func() Screen {
		var s Screen
		s.line("%s on %s", o.decision(), o.On)
		return append(s, Part{Table: tableOf(columns, o.Parties)})
	}}
}

// decision says what is overdue, and with whom to begin.
func (o *Owed) decision() string {
	if len(o.Parties) == 0 {
		return "nothing is open"
	}
	first := o.Parties[0]
	if first.Days <= 0 || first.Oldest == "" {
		return "nothing is overdue, open " + o.Book.Words()
	}
	out := o.Overdue.Words() + " of " + o.Book.Words() + " are overdue"
	if o.Payable {
		return out + ", " + first.Oldest + " of " + first.Party + " the longest"
	}
	return out + ", the longest by " + first.Party + " with " + first.Oldest
}
