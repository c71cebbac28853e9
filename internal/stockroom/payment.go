package stockroom

import (
	"cmp"
	"context"
	"fmt"
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

// PaymentAdd asks to note money that a party paid or was paid.
type PaymentAdd struct {
	desk.Write
	Party     string
	For       []string  // sales, claims, parcels, charges ...: S3, K2, P5, C7; none: all that is open, oldest first
	Use       []string  // what the party has to its credit, set against them: PAY4, or an invoice paid too much
	Way       string    // in or out; empty: as what is paid says
	Amount    num.Money // without a currency it is in what is owed; zero: what is used alone
	Rate      num.Rate  // book units per unit; zero: the book's rate of the day
	Settles   num.Money // of what is owed, in its currency, when it was paid in another; zero: Amount
	Fee       num.Money // that the bank kept of it, or took for it; in the money's currency
	OnAccount bool      // what is over stays to the party's credit
	Note      string
}

// PaymentAdd notes a payment. What is owed stands at the rate of its invoice, the
// money has its own: the difference is a gain or a loss of the day (IAS 21.28).
// Who owes pays; money that goes the other way is a refund of what was paid too
// much, such as after a credit note.
func (room *Room) PaymentAdd(ctx context.Context, r PaymentAdd) (answer.Paid, error) {
	var out answer.Paid
	if f := r.check(); f != nil {
		return out, f
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		a, err := readAccounts(ctx, tx, "")
		if err != nil {
			return err
		}
		if r.Party, err = desk.PartyOf(ctx, tx, "a party", r.Party); err != nil {
			return err
		}
		p, err := r.payer(tx, a, s)
		if err != nil {
			return err
		}
		if err := p.money(r); err != nil {
			return err
		}
		if err := p.settle(ctx, r); err != nil {
			return err
		}
		out, err = p.post(ctx, tx, s)
		return err
	})
	return out, err
}

// check refuses what no payment can be.
func (r *PaymentAdd) check() *fault.Fault {
	bad := func(code, field, what, mend string) *fault.Fault {
		return fault.New(fault.Usage, code, what, mend).AtField(field)
	}
	switch {
	case r.Way != "" && r.Way != "in" && r.Way != "out":
		return bad("payment-way", "way", "money comes in or goes out, but the way is \""+r.Way+"\"", "write in or out")
	case r.Amount.Sign() < 0 || r.Amount.IsZero() && len(r.Use) == 0:
		return bad("payment-amount", "amount", "a payment is more than 0", "give the money that moved")
	case r.Fee.Sign() < 0 || r.Fee.Sign() > 0 && r.Amount.IsZero():
		return bad("payment-fee", "fee", "a fee of the bank is above 0 and is taken of money that moved", "check it")
	case r.OnAccount && !r.Settles.IsZero():
		return bad("payment-settles", "settles", "what is over stays in the money's own currency",
			"note what settles the invoice and what is over as two payments")
	}
	return nil
}

// payer is a payment while it is written.
type payer struct {
	book.Payment
	*accounts
	items []*item   // that are paid, in order
	uses  []*item   // that are set against them
	paid  num.Money // of the items by money, in their currency
}

// payer finds what is paid, and which way.
func (r *PaymentAdd) payer(tx store.Tx, a *accounts, s desk.Stamp) (*payer, error) {
	n, err := tx.Next(a.ctx, string(book.KindPayment))
	if err != nil {
		return nil, err
	}
	p := &payer{accounts: a, Payment: book.Payment{Number: fmt.Sprintf("PAY%d", n), Party: r.Party, On: s.On,
		Parts: []book.PaymentPart{}, Note: r.Note}}
	if len(r.For) == 0 {
		err = p.oldest(r)
	} else {
		p.items, err = p.all(r.For)
	}
	if err == nil {
		p.uses, err = p.all(r.Use)
	}
	if err != nil {
		return p, err
	}
	p.Out = r.Way == "out"
	currency := cmp.Or(r.Amount.Currency(), a.tx.Meta().Currency)
	if len(p.items) > 0 {
		p.Out, currency = p.items[0].flow(), p.items[0].amount.Currency()
	}
	for i, it := range append(slices.Clip(p.items), p.uses...) {
		if uses := i >= len(p.items); it.flow() == p.Out == uses {
			return p, fault.New(fault.Refused, "payment-way", fmt.Sprintf("%s is owed the other way: money for "+
				"it goes %s", it.number, way(it.flow())), "what is to a party's credit is used for what it owes, and "+
				"nothing else").
				AtRef(it.number)
		}
		if it.amount.Currency() != currency {
			return p, fault.New(fault.Usage, "payment-currencies", fmt.Sprintf("%s is in %s, not in %s", it.number,
				it.amount.Currency(), currency), "note a payment for each currency").AtRef(it.number)
		}
	}
	if r.Way != "" && len(p.items) > 0 && r.Way != way(p.Out) {
		return p, fault.New(fault.Refused, "payment-way", fmt.Sprintf("money for %s goes %s", p.items[0].number,
			way(p.Out)), "leave the way out").AtField("way").AtRef(p.items[0].number)
	}
	return p, nil
}

// way says which way money goes.
func way(out bool) string {
	if out {
		return "out"
	}
	return "in"
}

// flow reports whether money for an item goes out. Who was paid too much pays back.
func (it *item) flow() bool {
	open, _ := it.open("")
	return it.out != (open.Sign() < 0)
}

// all are the items that numbers name, each once and with the party.
func (p *payer) all(numbers []string) ([]*item, error) {
	var out []*item
	for _, number := range numbers {
		it, err := p.named(number, p.Party)
		if err != nil {
			return nil, err
		}
		if !p.of.Same(it.party, p.Party) {
			return nil, fault.New(fault.Refused, "payment-party", fmt.Sprintf("%s is with %s, not with %s", it.number,
				it.party, p.Party), "name the party of the invoice").AtField("party").AtRef(it.number)
		}
		if slices.ContainsFunc(out, func(x *item) bool { return x.number == it.number }) {
			return nil, fault.New(fault.Usage, "payment-twice", it.number+" is named twice", "name it once").
				AtRef(it.number)
		}
		out = append(out, it)
	}
	return out, nil
}

// oldest finds what is open with the party, by due day. With something open both
// ways the payment must say which one it goes.
func (p *payer) oldest(r *PaymentAdd) error {
	for _, payable := range []bool{false, true} {
		items, err := p.owed(payable, func(party string) bool { return p.of.Same(party, p.Party) })
		if err != nil {
			return err
		}
		for _, it := range items {
			open, _ := it.open("")
			if open.Sign() <= 0 || it.kind == book.OwedAdvance || r.Way != "" && r.Way != way(it.out) ||
				r.Amount.Currency() != "" && it.amount.Currency() != r.Amount.Currency() {
				continue
			}
			p.items = append(p.items, it)
		}
	}
	slices.SortStableFunc(p.items, func(x, y *item) int { return cmp.Compare(x.due, y.due) })
	for _, it := range p.items {
		switch first := p.items[0]; {
		case it.out != first.out:
			return fault.New(fault.Usage, "payment-way", fmt.Sprintf("%s owes %s, and is owed %s", p.Party,
				first.number, it.number), "say whether the money came in or went out").AtField("way")
		case it.amount.Currency() != first.amount.Currency():
			return fault.New(fault.Usage, "payment-currencies", fmt.Sprintf("%s and %s are in two currencies",
				first.number, it.number), "say the currency of the money").AtField("currency")
		}
	}
	if len(p.items) == 0 && (!r.OnAccount || len(r.Use) > 0) {
		return fault.New(fault.Refused, "payment-nothing", "nothing is open with "+p.Party,
			"see what is owed; what is paid in advance is kept on account").AtField("on_account").
			Do("ledger", "receivables")
	}
	return nil
}

// money fills in what moved, and what it settles in the items' currency.
func (p *payer) money(r PaymentAdd) error {
	home := p.tx.Meta().Currency
	owed := cmp.Or(r.Amount.Currency(), home)
	if len(p.items) > 0 {
		owed = p.items[0].amount.Currency()
	}
	p.Amount = num.Micros(r.Amount.Micros(), cmp.Or(r.Amount.Currency(), owed))
	p.Fee = num.Micros(r.Fee.Micros(), p.Amount.Currency())
	p.paid = p.Amount
	if !r.Settles.IsZero() {
		p.paid = num.Micros(r.Settles.Micros(), owed)
	} else if p.Amount.Currency() != owed {
		return fault.New(fault.Usage, "payment-settles", fmt.Sprintf("%s is in %s and was paid in %s",
			p.items[0].document, owed, p.Amount.Currency()), "say how much of it that settles").AtField("settles")
	}
	for _, x := range []struct {
		field string
		m     num.Money
	}{{"amount", p.Amount}, {"settles", p.paid}, {"fee", p.Fee}} {
		if !x.m.IsWhole() || x.m.Sign() < 0 {
			return fault.New(fault.Usage, "money-too-fine", fmt.Sprintf("an amount of %s has at most %d decimals, but "+
				"is %s", x.m.Currency(), x.m.Currency().Digits(), x.m),
				"round it to the currency's minor unit").AtField(x.field)
		}
	}
	if !p.Out && p.Fee.Cmp(p.Amount) > 0 {
		return fault.New(fault.Usage, "payment-fee", fmt.Sprintf("the bank cannot keep %s of %s", p.Fee.Words(),
			p.Amount.Words()), "the amount is what the party paid, the fee what the bank kept of it").AtField("fee")
	}
	return nil
}

// convert fills in what the money is worth in the book.
func (p *payer) convert(ctx context.Context, given num.Rate) error {
	home := p.tx.Meta().Currency
	p.Book, p.FeeBook = num.Zero(home), num.Zero(home)
	switch {
	case p.Amount.IsZero():
	case p.Amount.Currency() == home:
		p.Book, p.FeeBook = p.Amount, p.Fee
	default:
		rate, err := rateOn(ctx, p.tx, p.On, p.Amount.Currency(), given)
		if err != nil {
			return err
		}
		p.Rate = rate
		p.Book, p.FeeBook = p.Amount.Convert(rate, home, num.HalfUp), p.Fee.Convert(rate, home, num.HalfUp)
	}
	return nil
}

// settle fills in what the payment settles: what is used first, then the money.
// What settles the rest of an item takes the rest of what it stood at, so that
// nothing is left over.
func (p *payer) settle(ctx context.Context, r PaymentAdd) error {
	zero := num.Zero(p.paid.Currency())
	due, credit := openOf(zero, p.items), openOf(zero, p.uses)
	over := moneyMax(p.paid.Sub(due), zero)
	lowers := p.paid.Sub(over)
	used := moneyMin(credit, due.Sub(lowers))
	lost := zero
	if len(r.For) == 1 {
		lost = moneyMin(over, p.items[0].lost(""))
		over = over.Sub(lost)
	}
	if over.Sign() > 0 && !r.OnAccount || lowers.Add(used).Add(lost).Add(over).Sign() <= 0 {
		return p.tooMuch(due)
	}
	if err := p.convert(ctx, r.Rate); err != nil {
		return err
	}
	p.pay(p.items, lowers.Add(used), p.Out)
	p.pay(p.uses, used, !p.Out)
	shares := p.Book.Share([]num.Dec{lowers.Dec(), lost.Dec(), over.Dec()})
	if lost.Sign() > 0 {
		it := p.items[0]
		p.Parts = append(p.Parts, book.PaymentPart{For: it.number, Kind: it.kind, Out: p.Out, Recovered: true,
			Settled: lost, Rate: p.Rate, Carrying: shares[1]})
	}
	if over.Sign() > 0 {
		p.Parts = append(p.Parts, book.PaymentPart{For: p.Number, Kind: book.OwedAdvance, Out: p.Out, Settled: over,
			Rate: p.Rate, Carrying: shares[2]})
	}
	p.Difference = signedBy(p.Out, p.Book)
	for _, x := range p.Parts {
		p.Difference = p.Difference.Sub(signedBy(x.Out, x.Carrying))
	}
	return nil
}

// pay settles items in their order, as far as an amount goes.
func (p *payer) pay(items []*item, amount num.Money, out bool) {
	for _, it := range items {
		open, standing := it.open("")
		if open.Sign() < 0 {
			open, standing = open.Neg(), standing.Neg()
		}
		part := moneyMin(open, amount)
		if part.Sign() <= 0 {
			continue
		}
		amount = amount.Sub(part)
		p.Parts = append(p.Parts, book.PaymentPart{For: it.number, Kind: it.kind, Out: out, Settled: part,
			Rate: it.rate, Carrying: standing.Share([]num.Dec{part.Dec(), open.Sub(part).Dec()})[0]})
	}
}

// tooMuch refuses what is more than is open.
func (p *payer) tooMuch(due num.Money) error {
	what := make([]string, len(p.items))
	for i, it := range p.items {
		what[i] = it.document
	}
	return fault.New(fault.Refused, "payment-amount", fmt.Sprintf("a payment for %s must lie between 0 and the %s "+
		"that are open, but is %s", strings.Join(what, ", "), due.Words(), p.paid.Words()),
		"check the amount and what it is for; or keep what is over on account").AtField("amount").
		AtRef(p.items[0].number)
}

// post writes the payment, and says what is left of what it was for.
func (p *payer) post(ctx context.Context, tx store.Tx, s desk.Stamp) (answer.Paid, error) {
	out := answer.Paid{Payment: p.Payment, Items: []answer.PaidItem{}, Warnings: fault.List{}}
	var words []string
	for _, x := range p.Parts {
		row := answer.PaidItem{Number: x.For, Document: x.For, Settled: x.Settled, Left: num.Zero(x.Settled.Currency())}
		for _, it := range append(slices.Clip(p.items), p.uses...) {
			if it.number != x.For {
				continue
			}
			row.Document = it.document
			row.Left, _ = it.open("")
			switch {
			case x.Recovered:
			case x.Out == it.out:
				row.Left = row.Left.Sub(x.Settled)
			default:
				row.Left = row.Left.Add(x.Settled)
			}
		}
		if x.For == p.Number {
			row.Left = x.Settled
		} else {
			words = append(words, row.Document)
		}
		out.Items = append(out.Items, row)
	}
	reason := "paid for "
	switch {
	case p.WriteOff:
		reason = "written off: " + s.Reason + ": "
	case len(words) == 0:
		reason, words = "paid on account by ", []string{p.Party}
		if p.Out {
			reason = "paid on account to "
		}
	}
	e := s.Entry(ledger.Record, reason+strings.Join(words, ", "))
	e.Records = []book.Record{p.Payment}
	err := tx.Post(ctx, &e)
	out.Entry = e.Code
	return out, err
}

// openOf is what is open of items together, without its sign.
func openOf(sum num.Money, items []*item) num.Money {
	for _, it := range items {
		open, _ := it.open("")
		if open.Sign() < 0 {
			open = open.Neg()
		}
		sum = sum.Add(open)
	}
	return sum
}

// signedBy is money that comes in, or below zero goes out.
func signedBy(out bool, m num.Money) num.Money {
	if out {
		return m.Neg()
	}
	return m
}

func moneyMin(a, b num.Money) num.Money {
	if a.Cmp(b) < 0 {
		return a
	}
	return b
}

func moneyMax(a, b num.Money) num.Money {
	if a.Cmp(b) > 0 {
		return a
	}
	return b
}

// PaymentWriteOff asks to write off what a party will not pay any more.
type PaymentWriteOff struct {
	desk.Write
	For    string    // the sale or the claim
	Amount num.Money // without a currency it is in what is owed; zero: all that is open
}

// writeOffCaution stands beside each debt that is written off.
const writeOffCaution = "a write-off is no waiver: the party owes it still, and its statement says so; whether the " +
	"tax on it may be claimed back is a matter of local rules"

// PaymentWriteOff takes a debt out of the book of which nothing can reasonably be
// expected any more (IFRS 9 5.4.4). What comes of it later is noted as a payment
// for it, and is a gain of its day.
func (room *Room) PaymentWriteOff(ctx context.Context, r PaymentWriteOff) (answer.Paid, error) {
	var out answer.Paid
	if r.Reason == "" {
		return out, fault.New(fault.Usage, "reason-missing", "a debt is written off for a reason", "say why").
			AtField("reason")
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		a, err := readAccounts(ctx, tx, "")
		if err != nil {
			return err
		}
		it, err := a.named(r.For, "")
		if err != nil {
			return err
		}
		open, _ := it.open("")
		if it.kind != book.OwedInvoice && it.kind != book.OwedClaim || open.Sign() <= 0 {
			return fault.New(fault.Refused, "write-off-nothing", "nothing is owed to you by "+it.document,
				"name an invoice or a claim that is open").AtRef(it.number).Do("ledger", "receivables")
		}
		amount := open
		if !r.Amount.IsZero() {
			amount = num.Micros(r.Amount.Micros(), cmp.Or(r.Amount.Currency(), open.Currency()))
		}
		if amount.Currency() != open.Currency() || amount.Sign() <= 0 || !amount.IsWhole() || amount.Cmp(open) > 0 {
			return fault.New(fault.Usage, "write-off-amount", fmt.Sprintf("what is written off of %s must lie between "+
				"0 and the %s that are open, but is %s", it.document, open.Words(), amount.Words()),
				"check the amount").AtField("amount").AtRef(it.number)
		}
		n, err := tx.Next(ctx, string(book.KindPayment))
		if err != nil {
			return err
		}
		zero := num.Zero(tx.Meta().Currency)
		p := payer{accounts: a, items: []*item{it}, Payment: book.Payment{Number: fmt.Sprintf("PAY%d", n),
			Party: a.of.Of(it.party), On: s.On, WriteOff: true, Amount: num.Zero(open.Currency()), Book: zero,
			Difference: zero, Note: r.Reason}}
		p.pay(p.items, amount, false)
		if out, err = p.post(ctx, tx, s); err != nil {
			return err
		}
		out.Warnings = fault.List{fault.New(fault.Refused, "write-off", writeOffCaution,
			"ask your bookkeeper").AtRef(it.number).AsWarning()}
		return nil
	})
	return out, err
}

// claims records what a party owes for stones that it broke or lost, as far as
// the entry has posted it. A finished piece and the stones in it are one claim.
func (m *mover) claims(ctx context.Context, paper, party string) error {
	postings := m.entry.Postings[m.claimed:]
	as := claimedAs(postings)
	for i, p := range postings {
		if as[i] == "" {
			continue
		}
		c, err := m.claimOf(ctx, as[i])
		if err != nil {
			return err
		}
		c.Party, c.Paper, c.On, c.Note = party, paper, m.on, m.entry.Reason
		c.Amount = c.Amount.Add(p.Cost)
		m.record(c)
	}
	m.claimed = len(m.entry.Postings)
	return nil
}

// claimedAs is, beside each posting that claims a cost, the lot that it is claimed
// as: a stone that is lost with the finished piece that it is in, as the piece.
func claimedAs(postings []ledger.Posting) []string {
	out := make([]string, len(postings))
	inside := map[string]string{}
	for i, p := range postings {
		switch {
		case p.Place.Kind() == book.AtPiece && p.Pieces < 0:
			inside[p.Lot] = p.Place.Name()
		case p.Place == chargedClaim && !p.Cost.IsZero():
			out[i] = cmp.Or(inside[p.Lot], p.Lot)
			delete(inside, p.Lot)
		}
	}
	return out
}
