package stockroom

import (
	"context"
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// PaymentAdd asks to note money that a party paid or was paid.
type PaymentAdd struct {
	desk.Write
	Party   string
	For     string    // the sale, claim, parcel or charge: S3, K2, P5, C7
	Amount  num.Money // without a currency it is in what is owed
	Rate    num.Rate  // book units per unit; zero: the book's rate of the day
	Settles num.Money // of what is owed, in its currency, when it was paid in another; zero: Amount
	Note    string
}

// PaymentAdd notes a payment. What is owed stands at the rate of its invoice, the
// money has its own: the difference is a gain or a loss of the day (IAS 21.28).
// Who owes pays; money that goes the other way is a refund of what was paid too
// much, such as after a credit note.
func (room *Room) PaymentAdd(ctx context.Context, r PaymentAdd) (answer.Paid, error) {
	var out answer.Paid
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		a, err := readAccounts(ctx, tx, "")
		if err != nil {
			return err
		}
		if r.Party, err = desk.PartyOf(ctx, tx, "a party", r.Party); err != nil {
			return err
		}
		it, err := a.named(r.For, r.Party)
		if err != nil {
			return err
		}
		if !a.of.Same(it.party, r.Party) {
			return fault.New(fault.Refused, "payment-party", fmt.Sprintf("%s is with %s, not with %s",
				it.number, it.party,
				r.Party), "name the party of the invoice").AtField("party").AtRef(it.number)
		}
		n, err := tx.Next(ctx, string(book.KindPayment))
		if err != nil {
			return err
		}
		p := book.Payment{Number: fmt.Sprintf("PAY%d", n), Party: r.Party, On: s.On, For: it.number,
			Commission: it.kind == itemCommission, Note: r.Note}
		if err := r.settle(ctx, tx, it, &p); err != nil {
			return err
		}
		e := s.Entry(ledger.Record, "paid for "+it.document)
		e.Records = []book.Record{p}
		if err := tx.Post(ctx, &e); err != nil {
			return err
		}
		left, _ := it.open("")
		if p.Out == it.out {
			left = left.Sub(p.Settled)
		} else {
			left = left.Add(p.Settled)
		}
		out = answer.Paid{Entry: e.Code, Payment: p, Document: it.document, Left: left}
		return nil
	})
	return out, err
}

// settle fills in the amounts of a payment. What settles the rest of an item
// takes the rest of what it stood at, so that nothing is left over.
func (r *PaymentAdd) settle(ctx context.Context, tx store.ReadTx, it *item, p *book.Payment) error {
	home := tx.Meta().Currency
	open, standing := it.open("")
	p.Out = it.out
	if open.Sign() < 0 {
		p.Out, open, standing = !it.out, open.Neg(), standing.Neg()
	}
	p.Amount = r.Amount
	if p.Amount.Currency() == "" {
		p.Amount = num.Micros(r.Amount.Micros(), open.Currency())
	}
	p.Settled = p.Amount
	if !r.Settles.IsZero() {
		p.Settled = num.Micros(r.Settles.Micros(), open.Currency())
	} else if p.Amount.Currency() != open.Currency() {
		return fault.New(fault.Usage, "payment-settles", fmt.Sprintf("%s is in %s and was paid in %s", it.document,
			open.Currency(), p.Amount.Currency()), "say how much of it that settles").AtField("settles")
	}
	if p.Amount.Sign() <= 0 || !p.Amount.IsWhole() || p.Settled.Sign() <= 0 || !p.Settled.IsWhole() ||
		p.Settled.Cmp(open) > 0 {
		return fault.New(fault.Refused, "payment-amount",
			fmt.Sprintf("a payment for %s must lie between 0 and the %s that "+
				"are open, but is %s", it.document, open.Words(), p.Settled.Words()),
			"check the amount and what it is for").
			AtField("amount").AtRef(it.number)
	}
	rate, err := rateOn(ctx, tx, p.On, p.Amount.Currency(), r.Rate)
	if err != nil {
		return err
	}
	p.Book = p.Amount
	if p.Amount.Currency() != home {
		p.Rate, p.Book = rate, p.Amount.Convert(rate, home, num.HalfUp)
	}
	p.Carrying = standing.Share([]num.Dec{p.Settled.Dec(), open.Sub(p.Settled).Dec()})[0]
	p.Difference = p.Book.Sub(p.Carrying)
	if p.Out {
		p.Difference = p.Difference.Neg()
	}
	return nil
}

// claims records what a party owes for stones that it broke or lost, as far as
// the entry has posted it.
func (m *mover) claims(ctx context.Context, paper, party string) error {
	n, err := m.tx.Next(ctx, string(book.KindClaim))
	for _, r := range m.entry.Records {
		if r.RecordKind() == book.KindClaim {
			n++
		}
	}
	for _, p := range m.entry.Postings[m.claimed:] {
		if p.Place == chargedClaim && !p.Cost.IsZero() {
			m.record(book.Claim{Number: fmt.Sprintf("K%d", n), Party: party, Paper: paper, Lot: p.Lot, On: m.on,
				Amount: p.Cost, Note: m.entry.Reason})
			n++
		}
	}
	m.claimed = len(m.entry.Postings)
	return err
}
