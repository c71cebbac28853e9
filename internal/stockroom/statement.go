package stockroom

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// LedgerReceivables asks what is owed to the dealer on a day.
type LedgerReceivables struct {
	On book.Date // empty: today
}

// LedgerReceivables returns what each party owes, by currency and age. In the
// book it stands at the rates of its invoices.
func (room *Room) LedgerReceivables(ctx context.Context, r LedgerReceivables) (answer.Receivables, error) {
	out := answer.Receivables{Parties: []answer.Receivable{}}
	err := room.desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.Head, err = room.desk.ListHead(ctx, tx, "Receivables"); err != nil {
			return err
		}
		out.On = room.desk.Today(tx, r.On)
		out.Book = num.Zero(tx.Meta().Currency)
		a, err := readAccounts(ctx, tx, out.On)
		if err != nil {
			return err
		}
		items, err := a.owedToUs(func(string) bool { return true })
		if err != nil {
			return err
		}
		out.Parties = []answer.Receivable{}
		for _, it := range items {
			if it.on > out.On {
				continue
			}
			open, standing := it.open(out.On)
			if open.IsZero() && standing.IsZero() {
				continue
			}
			row := receivableOf(&out, it, standing.Currency())
			row.Age.Add(ageOf(it, out.On), open)
			row.Items++
			row.Book = row.Book.Add(standing)
			out.Book = out.Book.Add(standing)
		}
		slices.SortStableFunc(out.Parties, func(a, b answer.Receivable) int {
			return cmp.Or(cmp.Compare(strings.ToLower(a.Party), strings.ToLower(b.Party)),
				cmp.Compare(a.Currency, b.Currency))
		})
		return nil
	})
	return out, err
}

// receivableOf is the row of an item's party and currency.
func receivableOf(out *answer.Receivables, it *item, home num.Currency) *answer.Receivable {
	c := it.amount.Currency()
	for i := range out.Parties {
		if x := &out.Parties[i]; strings.EqualFold(x.Party, it.party) && x.Currency == c {
			return x
		}
	}
	out.Parties = append(out.Parties, answer.Receivable{Party: it.party, Currency: c, Age: answer.NewAgeing(c),
		Book: num.Zero(home)})
	return &out.Parties[len(out.Parties)-1]
}

// ageOf is how many days an item is over its due day; negative: it is not due.
func ageOf(it *item, on book.Date) int64 { return on.DaysSince(it.due) }

// PartyStatement asks for the statement of a customer's account.
type PartyStatement struct {
	desk.Write
	Party string
	From  book.Date // empty: from the first; what was open before it is one line
}

// PartyStatement issues a statement: invoices, credit notes, payments and what is
// open, as the business date leaves it. It holds no cost of what was sold.
func (room *Room) PartyStatement(ctx context.Context, r PartyStatement) (answer.StatementIssued, error) {
	var out answer.StatementIssued
	if f := book.CheckName("a party", r.Party); f != nil {
		return out, f
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		a, err := readAccounts(ctx, tx, s.On)
		if err != nil {
			return err
		}
		items, err := a.owedToUs(func(party string) bool { return a.of.Same(party, r.Party) })
		if err != nil {
			return err
		}
		if len(items) == 0 {
			return nothingOwed(r.Party)
		}
		v := statementOf(items, a.of.Record(r.Party), r.From, s.On)
		e := s.Entry(ledger.Record, "statement of "+v.Party)
		m, err := newMover(ctx, tx, s, Movement{Write: r.Write}, &e)
		if err != nil {
			return err
		}
		doc, err := m.issue(ctx, s, desk.Draft{Kind: "STATEMENT", Title: "Statement of account", Model: v})
		if err != nil {
			return err
		}
		if err := tx.Post(ctx, &e); err != nil {
			return err
		}
		out = answer.StatementIssued{Entry: e.Code, Statement: v, Document: answer.FileOf(doc)}
		return nil
	})
	return out, err
}

// nothingOwed says that a party has no account.
func nothingOwed(party string) error {
	return fault.New(fault.NotFound, "statement-nothing", "nothing was ever sold to \""+party+"\", nor claimed from it",
		"check the name").AtRef(party).Do("sale", "list")
}

// statementOf is the statement of one party's items, in parts by currency.
func statementOf(items []*item, to book.Party, from, on book.Date) *answer.Statement {
	v := &answer.Statement{Party: to.Name, Addressee: answer.AddresseeOf(to), From: from,
		Parts: []answer.StatementPart{}}
	for _, it := range items {
		if it.on > on {
			continue
		}
		p := v.Part(it.amount.Currency())
		words := "invoice"
		if it.kind == itemClaim {
			words = "claim for stones not returned"
		}
		p.Lines = append(p.Lines, answer.StatementLine{On: it.on, Document: it.document, Words: words, Due: it.due,
			Charged: it.amount, Credited: num.Zero(it.amount.Currency())})
		for _, c := range it.changes {
			if c.on > on {
				continue
			}
			line := answer.StatementLine{On: c.on, Document: c.document, Words: c.words + " for " + it.document,
				Charged: num.Zero(c.amount.Currency()), Credited: c.amount}
			if c.amount.Sign() < 0 {
				line.Charged, line.Credited = c.amount.Neg(), num.Zero(c.amount.Currency())
			}
			p.Lines = append(p.Lines, line)
		}
		if open, _ := it.open(on); !open.IsZero() {
			p.Age.Add(ageOf(it, on), open)
		}
	}
	for i := range v.Parts {
		v.Parts[i].Balance(from)
	}
	return v
}
