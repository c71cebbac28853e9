package stockroom

import (
	"cmp"
	"context"
	"errors"
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

// item is something that one party owes another: an invoice, a claim, a
// purchase, a charge, a commission, or what was paid on account. It stands in the
// book at its own rate until it is settled: nothing is revalued.
type item struct {
	number   string // S3, K2, P5, C7, PAY4; a lot or a piece that was bought alone
	kind     book.ItemKind
	document string // as its party knows it
	party    string
	on, due  book.Date
	out      bool      // the dealer owes it
	amount   num.Money // in its currency
	book     num.Money // in the book's
	rate     num.Rate  // zero: book currency
	changes  []change  // that stand, oldest first
}

// change lowers an item: a credit, or a payment; a refund raises it again.
type change struct {
	words    string // credit note, payment, refund, set off, written off, recovered
	document string
	on       book.Date
	amount   num.Money
	book     num.Money
}

// The changes that are the dealer's own affair: what is written off is owed still.
const (
	writtenOff = "written off"
	recovered  = "recovered"
)

// open is what is left of an item after a day; an empty day is the last. What was
// written off is not in it.
func (it *item) open(on book.Date) (amount, inBook num.Money) {
	amount, inBook = it.amount, it.book
	for _, c := range it.changes {
		if (on == "" || c.on <= on) && c.words != recovered {
			amount, inBook = amount.Sub(c.amount), inBook.Sub(c.book)
		}
	}
	return amount, inBook
}

// lost is what was written off of an item and has not been recovered.
func (it *item) lost(on book.Date) num.Money {
	sum := num.Zero(it.amount.Currency())
	for _, c := range it.changes {
		switch {
		case on != "" && c.on > on:
		case c.words == writtenOff:
			sum = sum.Add(c.amount)
		case c.words == recovered:
			sum = sum.Sub(c.amount)
		}
	}
	return sum
}

// payable reports whether an item stands among what the dealer owes: what he paid
// too much stands there too, below zero.
func (it *item) payable() bool { return it.out != (it.kind == book.OwedAdvance) }

// signed is an amount of an item on its side of the book: what was paid on account
// lowers it.
func (it *item) signed(m num.Money) num.Money {
	if it.kind == book.OwedAdvance {
		return m.Neg()
	}
	return m
}

// accounts reads what is owed.
type accounts struct {
	ctx  context.Context
	tx   store.ReadTx
	of   *desk.Parties
	void map[string]bool // codes of the entries that were reversed up to the day
}

// readAccounts starts reading what is owed as a day leaves it; an empty day is
// the last.
func readAccounts(ctx context.Context, tx store.ReadTx, on book.Date) (*accounts, error) {
	reversals, err := tx.Reversals(ctx)
	if err != nil {
		return nil, err
	}
	parties, err := desk.ReadParties(ctx, tx)
	if err != nil {
		return nil, err
	}
	a := &accounts{ctx, tx, parties, map[string]bool{}}
	for code, by := range reversals {
		if on == "" {
			a.void[code] = true
			continue
		}
		e, err := tx.Entry(ctx, by)
		if err != nil {
			return nil, err
		}
		a.void[code] = e.PostedOn <= on
	}
	return a, nil
}

// rowsOf calls f for each record of a kind that the filter selects and that
// stands.
func rowsOf[T book.Record](a *accounts, filter store.RowFilter, f func(store.Row, T) error) error {
	var kind T
	rows, err := a.tx.Rows(a.ctx, kind.RecordKind(), filter)
	if err != nil {
		return err
	}
	for _, row := range rows {
		if a.void[row.Since] {
			continue
		}
		r, err := store.Get[T](a.ctx, a.tx, row.Key)
		if err != nil {
			return err
		}
		if err := f(row, r); err != nil {
			return err
		}
	}
	return nil
}

// owed are the items that stand, of the one side or the other, in the order of
// their days; those of one party when it is named.
func (a *accounts) owed(payable bool, mine func(party string) bool) ([]*item, error) {
	var out []*item
	add := func(it *item, err error) error {
		if err == nil && it != nil && it.payable() == payable && mine(it.party) {
			it.party = a.of.Of(it.party)
			out = append(out, it)
		}
		return err
	}
	read := a.receivables
	if payable {
		read = a.payables
	}
	err := read(add)
	if err == nil {
		err = rowsOf(a, store.RowFilter{}, func(_ store.Row, p book.Payment) error {
			return add(a.advance(p))
		})
	}
	slices.SortStableFunc(out, func(x, y *item) int { return cmp.Compare(x.on, y.on) })
	return out, err
}

// receivables calls f for each invoice and claim.
func (a *accounts) receivables(f func(*item, error) error) error {
	err := rowsOf(a, store.RowFilter{}, func(row store.Row, s book.Sale) error {
		if s.Reversed {
			return nil
		}
		return f(a.invoice(row, s))
	})
	if err != nil {
		return err
	}
	return rowsOf(a, store.RowFilter{}, func(_ store.Row, c book.Claim) error { return f(a.claim(c)) })
}

// payables calls f for each purchase, charge and commission.
func (a *accounts) payables(f func(*item, error) error) error {
	err := rowsOf(a, store.RowFilter{}, func(row store.Row, p book.Parcel) error {
		if p.Kind == book.Purchase && !p.Opening {
			if err := f(a.purchase(p)); err != nil {
				return err
			}
		}
		return a.boughtOf(row, p, f)
	})
	if err == nil {
		err = desk.StockFilter{Kind: book.PieceLot, All: true}.Each(a.ctx, a.tx, func(s answer.StockLot) error {
			return f(a.boughtLot(s.Lot))
		})
	}
	if err == nil {
		err = rowsOf(a, store.RowFilter{}, func(_ store.Row, c book.Charge) error {
			if c.Credits != "" || c.Party == "" {
				return nil
			}
			return f(a.charge(c, c.Party))
		})
	}
	if err == nil {
		err = rowsOf(a, store.RowFilter{}, func(_ store.Row, s book.Sale) error {
			if s.Commission == nil {
				return nil
			}
			return f(a.commission(s))
		})
	}
	return err
}

// boughtOf calls f for each lot of a parcel that was bought alone. A lot that came
// with the parcel and was never written again was not.
func (a *accounts) boughtOf(parcel store.Row, p book.Parcel, f func(*item, error) error) error {
	return store.EachRow(a.ctx, a.tx, store.RowFilter{Ref: book.ToParcel(p.Code)},
		func(row store.Row, l book.Lot) error {
			if row.First < parcel.First && row.Entry == row.Since {
				return nil
			}
			return f(a.boughtLot(l))
		})
}

// boughtAlone reports whether an entry bought a lot by itself, such as one that was
// lent, and not with its parcel: that was before the parcel's record was written, or
// the entry wrote it again.
func boughtAlone(ctx context.Context, tx store.ReadTx, l book.Lot, e ledger.Entry) (bool, error) {
	if l.Parcel == "" {
		return true, nil
	}
	versions, err := tx.History(ctx, book.KindParcel, l.Parcel)
	if err != nil {
		return false, err
	}
	first, err := tx.Entry(ctx, versions[0].Entry)
	if err != nil || e.Sequence <= first.Sequence {
		return false, err
	}
	return !slices.ContainsFunc(versions, func(v store.Row) bool { return v.Entry == e.Code }), nil
}

// invoice is the item of a sale.
func (a *accounts) invoice(row store.Row, s book.Sale) (*item, error) {
	it := &item{number: s.Number, kind: book.OwedInvoice, document: cmp.Or(s.Invoice, s.Number), party: s.Customer,
		on: s.On, due: cmp.Or(s.Due, s.On), amount: s.Total(), book: s.Receivable()}
	if s.Foreign != nil {
		it.rate = s.Foreign.Rate
	}
	if s.Returned { // a sale without lines, which came back whole
		e, err := a.tx.Entry(a.ctx, row.Entry)
		if err != nil {
			return nil, err
		}
		it.changes = append(it.changes, change{"return", s.Number, e.PostedOn, it.amount, it.book})
	}
	err := rowsOf(a, store.RowFilter{Prefix: s.Number + "/"}, func(_ store.Row, c book.Credit) error {
		it.changes = append(it.changes, change{"credit note", c.Document, c.On, c.Gross, c.Sold.Add(c.TaxBook)})
		return nil
	})
	return it, errors.Join(err, a.payments(it))
}

// claim is the item of a claim.
func (a *accounts) claim(c book.Claim) (*item, error) {
	it := &item{number: c.Number, kind: book.OwedClaim, document: c.Number, party: c.Party, on: c.On, due: c.On,
		amount: c.Owed(), book: c.Amount}
	if c.Foreign != nil {
		it.rate = c.Foreign.Rate
	}
	return it, a.payments(it)
}

// purchase is the item of a parcel.
func (a *accounts) purchase(p book.Parcel) (*item, error) {
	amount, rate, err := invoiceOfParcel(a.ctx, a.tx, p)
	if err != nil {
		return nil, err
	}
	return a.bought(&item{number: p.Code, kind: book.OwedPurchase, document: p.Code, party: p.Vendor, on: p.On,
		due: a.dueOf(p.Vendor, p.On), out: true, amount: amount, book: p.Price, rate: rate})
}

// boughtLot is the item of a lot that was bought alone, such as one that was on memo
// in, or of a finished piece; nil: it was not bought so.
func (a *accounts) boughtLot(l book.Lot) (*item, error) {
	if !l.Owner.IsOwn() || l.Agreed.IsZero() {
		return nil, nil
	}
	entries, err := a.tx.Entries(a.ctx, store.EntryFilter{Lot: l.Code})
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		if a.void[e.Code] || e.Reverses != "" {
			continue
		}
		for _, p := range e.Postings {
			if p.Place.Kind() != book.AtVendor || p.Cost.Sign() >= 0 || !strings.EqualFold(p.Lot, l.Code) {
				continue
			}
			if alone, err := boughtAlone(a.ctx, a.tx, l, e); err != nil || !alone {
				return nil, err
			}
			it := &item{number: l.Code, kind: book.OwedPurchase, document: l.Code, party: p.Place.Name(),
				on: e.PostedOn, due: a.dueOf(p.Place.Name(), e.PostedOn), out: true, amount: p.Cost.Neg(),
				book: p.Cost.Neg()}
			if l.Foreign != nil {
				it.amount, it.rate = l.Foreign.Amount, l.Foreign.Rate
			}
			return it, a.payments(it)
		}
	}
	return nil, nil
}

// dueOf is when what a party bills on a day is due, as was agreed with it.
func (a *accounts) dueOf(party string, on book.Date) book.Date {
	if terms := a.of.Record(party).Terms; terms != nil {
		return on.AddDays(*terms)
	}
	return on
}

// charge is the item of a charge of a party.
func (a *accounts) charge(c book.Charge, party string) (*item, error) {
	it := &item{number: c.Code, kind: book.OwedCharge, document: c.Code, party: party, on: c.On,
		due: a.dueOf(party, cmp.Or(c.Invoiced, c.On)), out: true, amount: c.Amount.Add(c.Tax),
		book: c.Amount.Add(c.Tax)}
	if c.Foreign != nil {
		it.amount, it.rate = c.Foreign.Amount.Add(foreignTax(c)), c.Foreign.Rate
	}
	return a.bought(it)
}

// commission is the item of a broker's commission.
func (a *accounts) commission(s book.Sale) (*item, error) {
	c := s.Commission
	it := &item{number: s.Number, kind: book.OwedCommission, document: s.Number, party: c.Broker, on: s.On,
		due: a.dueOf(c.Broker, s.On), out: true, amount: c.Amount, book: c.Book}
	if s.Foreign != nil {
		it.rate = s.Foreign.Rate
	}
	return it, a.payments(it)
}

// advance is the item of what a payment left on account; nil: it left nothing.
func (a *accounts) advance(p book.Payment) (*item, error) {
	for _, x := range p.Parts {
		if x.For == p.Number {
			it := &item{number: p.Number, kind: book.OwedAdvance, document: p.Number, party: p.Party, on: p.On,
				due: p.On, out: !p.Out, amount: x.Settled, book: x.Carrying, rate: x.Rate}
			return it, a.payments(it)
		}
	}
	return nil, nil
}

// payments adds what was paid for an item. Money that goes the other way than
// the item is a refund.
func (a *accounts) payments(it *item) error {
	err := rowsOf(a, store.RowFilter{Ref: book.ToPaper(it.number)}, func(_ store.Row, p book.Payment) error {
		for _, x := range p.Parts {
			if !strings.EqualFold(x.For, it.number) || (it.kind == book.OwedCommission) !=
				(x.Kind == book.OwedCommission) {
				continue
			}
			c := change{"payment", p.Number, p.On, x.Settled, x.Carrying}
			switch {
			case p.WriteOff:
				c.words = writtenOff
			case x.Recovered:
				c.words = recovered
			case x.Out != it.out:
				c = change{"refund", p.Number, p.On, x.Settled.Neg(), x.Carrying.Neg()}
			case p.Amount.IsZero() || p.Out != x.Out:
				c.words = "set off"
			}
			it.changes = append(it.changes, c)
		}
		return nil
	})
	slices.SortStableFunc(it.changes, func(x, y change) int { return cmp.Compare(x.on, y.on) })
	return err
}

// named is the item that a number and its party name.
func (a *accounts) named(number, party string) (*item, error) {
	for _, k := range []book.Kind{book.KindSale, book.KindClaim, book.KindParcel, book.KindCharge, book.KindPayment,
		book.KindLot} {
		row, err := a.tx.Row(a.ctx, k, number)
		if errors.Is(err, store.ErrNotFound) {
			continue
		}
		if err != nil {
			return nil, err
		}
		if a.void[row.Since] {
			return nil, fault.New(fault.Refused, "void", number+" is void: its entry was reversed", "check the number").
				AtRef(number)
		}
		it, err := a.read(k, row, party)
		if err == nil && it == nil {
			break
		}
		return it, err
	}
	return nil, fault.New(fault.NotFound, "invoice-unknown",
		fmt.Sprintf("nothing is owed under the number %q in this book", number),
		"name what is paid: a sale S3, a claim K2, a parcel P5, a charge C7, a piece J4, a payment on account PAY6").
		AtRef(number).AtField("invoice")
}

// read is the item of a record; nil: it has none.
func (a *accounts) read(k book.Kind, row store.Row, party string) (*item, error) {
	switch k {
	case book.KindSale:
		s, err := store.Get[book.Sale](a.ctx, a.tx, row.Key)
		if err != nil {
			return nil, err
		}
		if c := s.Commission; c != nil && a.of.Same(c.Broker, party) {
			return a.commission(s)
		}
		return a.invoice(row, s)
	case book.KindClaim:
		return itemOf(a, row, a.claim)
	case book.KindParcel:
		return itemOf(a, row, func(p book.Parcel) (*item, error) {
			if p.Opening {
				return nil, fault.New(fault.Refused, "payment-opening", p.Code+" is opening stock: what is still owed "+
					"for it stands in the accounts of before this book", "note the payment there").AtRef(p.Code)
			}
			if p.Kind != book.Purchase {
				return nil, fault.New(fault.Refused, "payment-not-bought", p.Code+
					" was not bought: nothing is owed for it", "name what was bought of it").AtRef(p.Code)
			}
			return a.purchase(p)
		})
	case book.KindPayment:
		return itemOf(a, row, a.advance)
	case book.KindLot:
		return itemOf(a, row, a.boughtLot)
	}
	return itemOf(a, row, func(c book.Charge) (*item, error) { return a.charge(c, cmp.Or(c.Party, party)) })
}

// itemOf is what f makes of a row's record.
func itemOf[T book.Record](a *accounts, row store.Row, f func(T) (*item, error)) (*item, error) {
	r, err := store.Get[T](a.ctx, a.tx, row.Key)
	if err != nil {
		return nil, err
	}
	return f(r)
}

// foreignTax is the recoverable tax of a charge in the charge's currency: the
// book keeps it converted.
func foreignTax(c book.Charge) num.Money {
	if c.Tax.IsZero() || c.ForeignTax.IsZero() {
		return num.Zero(c.Foreign.Amount.Currency())
	}
	return c.ForeignTax
}

// bought adds the rebates and payments of what the dealer owes.
func (a *accounts) bought(it *item) (*item, error) {
	err := rowsOf(a, store.RowFilter{Ref: book.ToPaper(it.number)}, func(_ store.Row, c book.Charge) error {
		inBook := c.Amount.Add(c.Tax).Neg()
		x := change{"credit note", c.Code, c.On, inBook, inBook}
		if c.Foreign != nil {
			x.amount = c.Foreign.Amount.Add(foreignTax(c)).Neg()
		}
		it.changes = append(it.changes, x)
		return nil
	})
	return it, errors.Join(err, a.payments(it))
}
