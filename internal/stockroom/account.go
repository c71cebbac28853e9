package stockroom

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// item is something that one party owes another: an invoice, a claim, a
// purchase, a charge or a commission. It stands in the book at its own rate until
// it is settled: nothing is revalued.
type item struct {
	number   string // S3, K2, P5, C7
	kind     itemKind
	document string // as its party knows it
	party    string
	on, due  book.Date
	out      bool      // the dealer owes it
	amount   num.Money // in its currency
	book     num.Money // in the book's
	changes  []change  // that stand, oldest first
}

// itemKind says what is owed.
type itemKind string

const (
	itemInvoice    itemKind = "invoice"
	itemClaim      itemKind = "claim"
	itemPurchase   itemKind = "purchase"
	itemCharge     itemKind = "charge"
	itemCommission itemKind = "commission"
)

// change lowers an item: a credit, or a payment; a refund raises it again.
type change struct {
	words    string // credit note, payment, refund
	document string
	on       book.Date
	amount   num.Money
	book     num.Money
}

// open is what is left of an item after a day; an empty day is the last.
func (it *item) open(on book.Date) (amount, inBook num.Money) {
	amount, inBook = it.amount, it.book
	for _, c := range it.changes {
		if on == "" || c.on <= on {
			amount, inBook = amount.Sub(c.amount), inBook.Sub(c.book)
		}
	}
	return amount, inBook
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

// owedToUs are the invoices and claims that stand, in the order of the book;
// those of one party when it is named.
func (a *accounts) owedToUs(mine func(party string) bool) ([]*item, error) {
	var out []*item
	err := rowsOf(a, store.RowFilter{}, func(row store.Row, s book.Sale) error {
		if s.Reversed || !mine(s.Customer) {
			return nil
		}
		it, err := a.invoice(row, s)
		out = append(out, it)
		return err
	})
	if err != nil {
		return nil, err
	}
	err = rowsOf(a, store.RowFilter{}, func(_ store.Row, c book.Claim) error {
		if !mine(c.Party) {
			return nil
		}
		it, err := a.claim(c)
		out = append(out, it)
		return err
	})
	slices.SortStableFunc(out, func(x, y *item) int { return cmp.Compare(x.on, y.on) })
	for _, it := range out {
		it.party = a.of.Of(it.party)
	}
	return out, err
}

// invoice is the item of a sale.
func (a *accounts) invoice(row store.Row, s book.Sale) (*item, error) {
	it := &item{number: s.Number, kind: itemInvoice, document: cmp.Or(s.Invoice, s.Number), party: s.Customer, on: s.On,
		due: cmp.Or(s.Due, s.On), amount: s.Total(), book: s.Receivable()}
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
	it := &item{number: c.Number, kind: itemClaim, document: c.Number, party: c.Party, on: c.On, due: c.On,
		amount: c.Owed(), book: c.Amount}
	return it, a.payments(it)
}

// payments adds what was paid for an item. Money that goes the other way than
// the item is a refund.
func (a *accounts) payments(it *item) error {
	err := rowsOf(a, store.RowFilter{Ref: book.ToPaper(it.number)}, func(_ store.Row, p book.Payment) error {
		if !strings.EqualFold(p.For, it.number) || (it.kind == itemCommission) != p.Commission {
			return nil
		}
		c := change{"payment", p.Number, p.On, p.Settled, p.Carrying}
		if p.Out != it.out {
			c = change{"refund", p.Number, p.On, p.Settled.Neg(), p.Carrying.Neg()}
		}
		it.changes = append(it.changes, c)
		return nil
	})
	slices.SortStableFunc(it.changes, func(x, y change) int { return cmp.Compare(x.on, y.on) })
	return err
}

// named is the item that a number and its party name.
func (a *accounts) named(number, party string) (*item, error) {
	for _, k := range []book.Kind{book.KindSale, book.KindClaim, book.KindParcel, book.KindCharge} {
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
		return a.read(k, row, party)
	}
	return nil, fault.New(fault.NotFound, "invoice-unknown",
		fmt.Sprintf("there is no sale, claim, parcel or charge %q in "+
			"this book", number), "name what is paid: S3, K2, P5, C7").AtRef(number).AtField("invoice")
}

// read is the item of a record.
func (a *accounts) read(k book.Kind, row store.Row, party string) (*item, error) {
	switch k {
	case book.KindSale:
		s, err := store.Get[book.Sale](a.ctx, a.tx, row.Key)
		if err != nil {
			return nil, err
		}
		if c := s.Commission; c != nil && a.of.Same(c.Broker, party) {
			it := &item{number: s.Number, kind: itemCommission, document: s.Number, party: c.Broker,
				on: s.On, due: s.On,
				out: true, amount: c.Amount, book: c.Book}
			return it, a.payments(it)
		}
		return a.invoice(row, s)
	case book.KindClaim:
		c, err := store.Get[book.Claim](a.ctx, a.tx, row.Key)
		if err != nil {
			return nil, err
		}
		return a.claim(c)
	case book.KindParcel:
		p, err := store.Get[book.Parcel](a.ctx, a.tx, row.Key)
		if err != nil {
			return nil, err
		}
		if p.Opening {
			return nil, fault.New(fault.Refused, "payment-opening", p.Code+" is opening stock: what is still owed "+
				"for it stands "+
				"in the accounts of before this book", "note the payment there").AtRef(p.Code)
		}
		amount, _, err := invoiceOfParcel(a.ctx, a.tx, p)
		if err != nil {
			return nil, err
		}
		return a.bought(&item{number: p.Code, kind: itemPurchase, document: p.Code, party: p.Vendor,
			on: p.On, due: p.On,
			out: true, amount: amount, book: p.Price})
	}
	c, err := store.Get[book.Charge](a.ctx, a.tx, row.Key)
	if err != nil {
		return nil, err
	}
	it := &item{number: c.Code, kind: itemCharge, document: c.Code, party: cmp.Or(c.Party, party), on: c.On, due: c.On,
		out: true, amount: c.Amount.Add(c.Tax), book: c.Amount.Add(c.Tax)}
	if c.Foreign != nil {
		it.amount = c.Foreign.Amount.Add(foreignTax(c))
	}
	return a.bought(it)
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
		x := change{"credit note", c.Code, c.On, c.Amount.Neg(), c.Amount.Neg()}
		if c.Foreign != nil {
			x.amount = c.Foreign.Amount.Neg()
		}
		it.changes = append(it.changes, x)
		return nil
	})
	return it, errors.Join(err, a.payments(it))
}
