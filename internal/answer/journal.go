package answer

import (
	"cmp"
	"slices"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Journal is what a bookkeeper enters of a time, in the book's currency.
type Journal struct {
	Head     `json:"-"`
	From     book.Date        `json:"from"`
	To       book.Date        `json:"to"`
	Lines    []JournalLine    `json:"lines"`
	Accounts []JournalAccount `json:"accounts"`
	Debit    num.Money        `json:"debit"`
	Credit   num.Money        `json:"credit"` // equals Debit
}

// JournalLine is one line: a debit or a credit.
type JournalLine struct {
	On       book.Date  `json:"on"`
	Entry    string     `json:"entry"`
	Reverses string     `json:"reverses"` // the entry that this one takes back
	Account  string     `json:"account"`
	Debit    *num.Money `json:"debit"`   // null: it is a credit
	Credit   *num.Money `json:"credit"`  // null: it is a debit
	Foreign  *num.Money `json:"foreign"` // in the currency of its paper; null: that is the book's
	Rate     string     `json:"rate"`    // book units per unit of it
	Tax      string     `json:"tax_code"`
	Document string     `json:"document"`
	Party    string     `json:"party"`
	Words    string     `json:"words"`
}

// JournalAccount is the sums of one account.
type JournalAccount struct {
	Account string    `json:"account"`
	Debit   num.Money `json:"debit"`
	Credit  num.Money `json:"credit"`
	Balance num.Money `json:"balance"` // debit less credit
}

// Add adds a line: a debit, or a credit when the amount is negative.
func (j *Journal) Add(l JournalLine, amount num.Money) {
	i, known := slices.BinarySearchFunc(j.Accounts, l.Account,
		func(a JournalAccount, name string) int { return cmp.Compare(a.Account, name) })
	if !known {
		zero := num.Zero(amount.Currency())
		j.Accounts = slices.Insert(j.Accounts, i, JournalAccount{l.Account, zero, zero, zero})
	}
	a := &j.Accounts[i]
	a.Balance = a.Balance.Add(amount)
	if amount.Sign() >= 0 {
		l.Debit = &amount
		a.Debit, j.Debit = a.Debit.Add(amount), j.Debit.Add(amount)
	} else {
		credit := amount.Neg()
		l.Credit = &credit
		a.Credit, j.Credit = a.Credit.Add(credit), j.Credit.Add(credit)
	}
	j.Lines = append(j.Lines, l)
}

// side is an amount that may be on the other side.
func side(m *num.Money) sheet.Cell {
	if m == nil {
		return sheet.Empty()
	}
	return sheet.Money(*m)
}

func (j *Journal) columns() []column[JournalLine] {
	return []column[JournalLine]{
		{"date", "Date", 13, func(l *JournalLine) sheet.Cell { return sheet.Date(string(l.On)) }},
		{"entry", "Entry", 9, func(l *JournalLine) sheet.Cell { return sheet.Text(l.Entry) }},
		{"account", "Account", 18, func(l *JournalLine) sheet.Cell { return sheet.Text(l.Account) }},
		{"debit", j.unit("Debit"), 13, func(l *JournalLine) sheet.Cell { return side(l.Debit) }},
		{"credit", j.unit("Credit"), 13, func(l *JournalLine) sheet.Cell { return side(l.Credit) }},
		{"tax", "Tax code", 10, func(l *JournalLine) sheet.Cell { return sheet.Text(l.Tax) }},
		{"document", "Document", 19, func(l *JournalLine) sheet.Cell { return sheet.Text(l.Document) }},
		{"party", "Party", 22, func(l *JournalLine) sheet.Cell { return sheet.Text(l.Party) }},
		onlyFiled("Paper's currency", 9, func(l *JournalLine) sheet.Cell {
			if l.Foreign == nil {
				return sheet.Empty()
			}
			return sheet.Text(string(l.Foreign.Currency()))
		}),
		onlyFiled("In that currency", 13, func(l *JournalLine) sheet.Cell { return side(l.Foreign) }),
		onlyFiled("Rate", 10, func(l *JournalLine) sheet.Cell { return sheet.Text(l.Rate).Right() }),
		onlyFiled("Reverses", 9, func(l *JournalLine) sheet.Cell { return sheet.Text(l.Reverses) }),
		onlyFiled("Words", 34, func(l *JournalLine) sheet.Cell { return sheet.Text(l.Words) }),
	}
}

// List is the lines; a screen ends with the sums of the accounts.
func (j *Journal) List() Listing {
	return &list[JournalLine]{head: j.Head, columns: j.columns(), rows: j.Lines, screen: func() Screen {
		accounts := []column[JournalAccount]{
			screen("account", func(a *JournalAccount) sheet.Cell { return sheet.Text(a.Account) }),
			screen("debit", func(a *JournalAccount) sheet.Cell { return sheet.Money(a.Debit) }),
			screen("credit", func(a *JournalAccount) sheet.Cell { return sheet.Money(a.Credit) }),
			screen("balance", func(a *JournalAccount) sheet.Cell { return sheet.Money(a.Balance) }),
		}
		var s Screen
		if len(j.Lines) == 0 {
			s.line("nothing is to be entered")
			return s
		}
		s.line("%d lines, debit %s, credit %s", len(j.Lines), j.Debit.Words(), j.Credit.Words())
		return append(s, Part{Table: tableOf(accounts, j.Accounts)}, Part{Table: tableOf(j.columns(), j.Lines)})
	}}
}
