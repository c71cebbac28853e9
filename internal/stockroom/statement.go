package stockroom

import (
	"context"

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

// LedgerPayables asks what the dealer owes on a day.
type LedgerPayables struct {
	On book.Date // empty: today
}

// LedgerReceivables returns what each party owes, by currency and age. In the
// book it stands at the rates of its invoices; what was paid on account lowers it.
func (room *Room) LedgerReceivables(ctx context.Context, r LedgerReceivables) (answer.Owed, error) {
	return room.owed(ctx, "Receivables", false, r.On)
}

// LedgerPayables returns what each party is owed: for purchases, charges and
// commissions, by currency and age. Terms that were agreed with a party make
// what it bills due.
func (room *Room) LedgerPayables(ctx context.Context, r LedgerPayables) (answer.Owed, error) {
	return room.owed(ctx, "Payables", true, r.On)
}

func (room *Room) owed(ctx context.Context, title string, payable bool, on book.Date) (answer.Owed, error) {
	var out answer.Owed
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		zero := num.Zero(tx.Meta().Currency)
		out = answer.Owed{On: room.desk.Today(tx, on), Payable: payable, Book: zero, Overdue: zero,
			Parties: []answer.OwedBy{}}
		var err error
		if out.Head, err = room.desk.ListHead(ctx, tx, title); err != nil {
			return err
		}
		a, err := readAccounts(ctx, tx, out.On)
		if err != nil {
			return err
		}
		items, err := a.owed(payable, func(string) bool { return true })
		if err != nil {
			return err
		}
		for _, it := range items {
			if it.on > out.On {
				continue
			}
			open, standing := it.open(out.On)
			lost := it.lost(out.On)
			if open.IsZero() && standing.IsZero() && lost.IsZero() {
				continue
			}
			out.Add(answer.OwedItem{Party: it.party, Document: it.document, Days: ageOf(it, out.On),
				Open: it.signed(open), Book: it.signed(standing), WrittenOff: lost})
		}
		out.Sort()
		return nil
	})
	return out, err
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
		items, err := a.owed(false, func(party string) bool { return a.of.Same(party, r.Party) })
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

// PartyAccount asks what the dealer owes a party, paper by paper, and what he paid.
type PartyAccount struct {
	Party    string
	From, On book.Date // empty: from the first; today
}

// PartyAccount returns the account of a vendor, a cutter or whoever else bills the
// dealer: purchases, charges and commissions, what was credited and paid, and what is
// open, as a day leaves it.
func (room *Room) PartyAccount(ctx context.Context, r PartyAccount) (answer.Account, error) {
	var out answer.Account
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		on := room.desk.Today(tx, r.On)
		if on < r.From {
			return fault.New(fault.Usage, "account-dates", "the last day must not lie before the first",
				"check the dates").AtField("on")
		}
		a, err := readAccounts(ctx, tx, on)
		if err != nil {
			return err
		}
		items, err := a.owed(true, func(party string) bool { return a.of.Same(party, r.Party) })
		if err != nil {
			return err
		}
		if len(items) == 0 {
			return fault.New(fault.NotFound, "account-nothing", "nothing was ever bought of \""+r.Party+
				"\", nor billed by it", "check the name").AtRef(r.Party).Do("party", "list")
		}
		v := statementOf(items, a.of.Record(r.Party), r.From, on)
		out = answer.Account{Party: v.Party, From: r.From, On: on, Parts: v.Parts}
		out.Head, err = room.desk.ListHead(ctx, tx, "Account of "+v.Party)
		return err
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
		zero := num.Zero(it.amount.Currency())
		line := answer.StatementLine{On: it.on, Document: it.document, Words: statementWords[it.kind], Due: it.due,
			Charged: it.amount, Credited: zero}
		if it.kind == book.OwedAdvance {
			line.Charged, line.Credited, line.Due = zero, it.amount, ""
		}
		p.Lines = append(p.Lines, line)
		for _, c := range it.changes {
			if c.on > on || c.words == writtenOff {
				continue
			}
			words := c.words
			if words == recovered {
				words = "payment"
			}
			amount := it.signed(c.amount)
			line := answer.StatementLine{On: c.on, Document: c.document, Words: words + " for " + it.document,
				Charged: zero, Credited: amount}
			if amount.Sign() < 0 {
				line.Charged, line.Credited = amount.Neg(), zero
			}
			p.Lines = append(p.Lines, line)
		}
		open, _ := it.open(on)
		if open = it.signed(open).Add(it.lost(on)); !open.IsZero() {
			p.Age.Add(ageOf(it, on), open)
		}
		p.WrittenOff = p.WrittenOff.Add(it.lost(on))
	}
	for i := range v.Parts {
		v.Parts[i].Balance(from)
	}
	return v
}

// statementWords are what a statement calls what is charged.
var statementWords = map[book.ItemKind]string{book.OwedInvoice: "invoice",
	book.OwedClaim: "claim for stones not returned", book.OwedAdvance: "paid on account",
	book.OwedPurchase: "purchase", book.OwedCharge: "charge", book.OwedCommission: "commission"}
