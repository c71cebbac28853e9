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

// Rebate is what a vendor gives back of an invoice.
type Rebate struct {
	desk.Write
	Amount num.Money // with recoverable tax, in the invoice's currency; without a currency it is in that
	Rate   num.Rate  // zero: the invoice's own
	Note   string
}

// ChargeCredit asks to book a rebate or a credit note on a charge.
type ChargeCredit struct {
	Rebate
	Charge string
}

// ParcelCredit asks to book a rebate or a credit note on a purchase.
type ParcelCredit struct {
	Rebate
	Parcel string
	Key    book.ShareKey // empty: by cost
}

// ChargeCredit lowers a charge: rebates come off the cost of what is held (IAS
// 2.11) by the charge's own key; the part of what is gone is a variance.
func (room *Room) ChargeCredit(ctx context.Context, r ChargeCredit) (answer.Charged, error) {
	return room.rebate(ctx, r.Rebate, func(tx store.Tx) (rebated, error) {
		c, err := desk.Named[book.Charge](ctx, tx, r.Charge)
		if err != nil {
			return rebated{}, err
		}
		of := rebated{of: c.Code, kind: book.KindCharge, total: c.Amount.Add(c.Tax), tax: c.Tax,
			from:   book.PlaceOf(book.AtCharge, c.Kind),
			credit: book.Charge{Party: c.Party, Parcel: c.Parcel, Lot: c.Lot, Kind: c.Kind, Key: c.Key}}
		if c.Foreign != nil {
			of.tax = foreignTax(c)
			of.total, of.rate = c.Foreign.Amount.Add(of.tax), c.Foreign.Rate
		}
		if c.Credits != "" {
			return of, fault.New(fault.Refused, "credit-of-credit", c.Code+" is a credit itself",
				"name the charge that it "+
					"lowers").AtRef(c.Code)
		}
		return of, nil
	})
}

// ParcelCredit lowers the price of a purchase: rebates come off the cost of what
// is held (IAS 2.11); the part of what is gone is a variance.
func (room *Room) ParcelCredit(ctx context.Context, r ParcelCredit) (answer.Charged, error) {
	return room.rebate(ctx, r.Rebate, func(tx store.Tx) (rebated, error) {
		p, err := desk.ParcelNamed(ctx, tx, r.Parcel)
		if err != nil {
			return rebated{}, err
		}
		if p.Kind != book.Purchase {
			return rebated{}, fault.New(fault.Refused, "credit-purchase", p.Code+" is no purchase",
				"only what was bought has "+
					"an invoice").AtRef(p.Code)
		}
		if r.Key == "" {
			r.Key = book.ByCost
		}
		of := rebated{of: p.Code, kind: book.KindParcel, total: p.Price, from: book.PlaceOf(book.AtVendor, p.Vendor),
			credit: book.Charge{Party: p.Vendor, Parcel: p.Code, Kind: "rebate", Key: r.Key}}
		of.total, of.rate, err = invoiceOfParcel(ctx, tx, p)
		return of, err
	})
}

// rebated is an invoice that a rebate lowers.
type rebated struct {
	of     string
	kind   book.Kind
	total  num.Money // in its own currency, with recoverable tax
	tax    num.Money // recoverable, of total
	rate   num.Rate
	from   book.Place  // the boundary that its cost came in by
	credit book.Charge // what the rebate takes over from it
}

// rebate books what is given back of an invoice as a negative charge.
func (room *Room) rebate(ctx context.Context, r Rebate, find func(store.Tx) (rebated, error)) (answer.Charged, error) {
	var out answer.Charged
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		of, err := find(tx)
		if err != nil {
			return err
		}
		if err := stands(ctx, tx, of.kind, of.of); err != nil {
			return err
		}
		amount, err := of.left(ctx, tx, r.Amount)
		if err != nil {
			return err
		}
		if amount.Sign() <= 0 || !amount.IsWhole() || amount.Cmp(of.total) > 0 {
			return fault.New(fault.Usage, "credit-amount",
				fmt.Sprintf("a credit on %s must lie between 0 and %s, but is %s",
					of.of, of.total.Words(), amount.Words()), "give what the vendor gives back").AtField(
				"amount").AtRef(of.of)
		}
		rate := of.rate
		if r.Rate != (num.Rate{}) {
			rate = r.Rate
		}
		n, err := tx.Next(ctx, string(book.KindCharge))
		if err != nil {
			return err
		}
		c := of.credit
		c.Code, c.Credits, c.On, c.Note = fmt.Sprintf("C%d", n), of.of, s.On, r.Note
		if f := of.split(&c, tx.Meta().Currency, amount.Neg(), rate); f != nil {
			return f
		}
		spots, _, err := chargeSpots(ctx, tx, &c)
		if err != nil {
			return err
		}
		if len(spots) == 0 {
			return fault.New(fault.Refused, "credit-nothing", "nothing of "+of.of+" was ever the dealer's own",
				"book it as income outside this book").AtRef(of.of)
		}
		e := s.Entry(ledger.Charge, "credit on "+of.of)
		e.Postings, c.Variance = chargePostings(c, spots, of.from)
		e.Records = []book.Record{c}
		out.Charge = c
		out.Moved, err = post(ctx, tx, &e)
		return err
	})
	return out, err
}

// split fills in a rebate: the part of it that is recoverable tax is as large as
// that of what it lowers.
func (of rebated) split(c *book.Charge, home num.Currency, amount num.Money, rate num.Rate) *fault.Fault {
	weights := []num.Dec{of.tax.Dec(), of.total.Sub(of.tax).Dec()}
	inTax := amount.Share(weights)[0]
	whole, _, f := inBook(home, amount, rate)
	if f != nil {
		return f
	}
	if _, c.Foreign, f = inBook(home, amount.Sub(inTax), rate); f != nil {
		return f
	}
	if c.Foreign != nil && !inTax.IsZero() {
		c.ForeignTax = inTax
	}
	c.Tax = whole.Share([]num.Dec{inTax.Dec().Neg(), amount.Sub(inTax).Dec().Neg()})[0]
	c.Amount = whole.Sub(c.Tax)
	return nil
}

// left takes earlier rebates off what one may be given on, and returns the amount
// of a new one in the invoice's currency.
func (of *rebated) left(ctx context.Context, tx store.ReadTx, amount num.Money) (num.Money, error) {
	if amount.Currency() == "" {
		amount = num.Micros(amount.Micros(), of.total.Currency())
	}
	if amount.Currency() != of.total.Currency() {
		return amount, fault.New(fault.Usage, "credit-currency",
			fmt.Sprintf("%s was invoiced in %s, so its credit is "+
				"not in %s", of.of, of.total.Currency(), amount.Currency()),
			"give the amount in the invoice's currency").AtField("currency").AtRef(of.of)
	}
	earlier, err := rebatesOf(ctx, tx, of.of)
	for _, c := range earlier {
		net, inTax := c.Amount, c.Tax
		if c.Foreign != nil {
			net, inTax = c.Foreign.Amount, foreignTax(c)
		}
		of.total, of.tax = of.total.Add(net).Add(inTax), of.tax.Add(inTax)
	}
	return amount, err
}

// rebatesOf are the rebates on a charge or a parcel that stand.
func rebatesOf(ctx context.Context, tx store.ReadTx, of string) ([]book.Charge, error) {
	var out []book.Charge
	err := eachStanding(ctx, tx, store.RowFilter{Ref: book.ToPaper(of)}, func(_ store.Row, c book.Charge) error {
		out = append(out, c)
		return nil
	})
	return out, err
}

// eachStanding calls f for each record of a kind that the filter selects and whose
// entry was not reversed.
func eachStanding[T book.Record](ctx context.Context, tx store.ReadTx, filter store.RowFilter,
	f func(store.Row, T) error) error {
	void, err := tx.Reversals(ctx)
	if err != nil {
		return err
	}
	var kind T
	rows, err := tx.Rows(ctx, kind.RecordKind(), filter)
	if err != nil {
		return err
	}
	for _, row := range rows {
		if void[row.Since] != "" {
			continue
		}
		r, err := store.Get[T](ctx, tx, row.Key)
		if err != nil {
			return err
		}
		if err := f(row, r); err != nil {
			return err
		}
	}
	return nil
}

// stands refuses what is void because its entry was reversed.
func stands(ctx context.Context, tx store.ReadTx, kind book.Kind, key string) error {
	by, err := desk.VoidBy(ctx, tx, kind, key)
	if by != "" {
		return fault.New(fault.Refused, "void", fmt.Sprintf("%s is void: %s reversed it", key, by),
			"check the number").AtRef(key)
	}
	return err
}

// invoiceOfParcel is what a vendor invoiced for a parcel, in his currency, and
// its rate. Parcels of schema 4 and older did not keep it: their lots did.
func invoiceOfParcel(ctx context.Context, tx store.ReadTx, p book.Parcel) (num.Money, num.Rate, error) {
	switch {
	case !p.Invoice.IsZero():
		return p.Invoice, p.Rate, nil
	case p.Currency == tx.Meta().Currency || p.Currency == "":
		return p.Price, num.Rate{}, nil
	}
	sum := num.Zero(p.Currency)
	lots, err := store.Of[book.Lot](ctx, tx, book.ToParcel(p.Code))
	for _, l := range lots {
		if l.Owner.IsOwn() && l.Foreign != nil && l.Foreign.Amount.Currency() == p.Currency {
			sum = sum.Add(l.Foreign.Amount)
		}
	}
	return sum, p.Rate, err
}
