package stockroom_test

import (
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
)

// moneyActs are sales and what follows them, and what is owed and paid.
func (d *dealer) moneyActs() []act {
	return []act{
		{"sell", 1, d.sell},
		{"memo sell", 1, d.memoSell},
		{"sale return", 2, d.saleReturn},
		{"sale credit", 1, d.saleCredit},
		{"charge", 1, d.charge},
		{"rebate", 1, d.rebate},
		{"pay", 2, d.pay},
	}
}

// keyed is how a charge is shared: what a part weighs by the key.
func keyed(by book.ShareKey) func(sum) int64 {
	return func(s sum) int64 {
		switch by {
		case book.ByCarats:
			return s.carats
		case book.ByPieces:
			return s.pieces
		}
		return s.cents
	}
}

// charge books a late freight on a parcel; its recoverable tax is no cost.
func (d *dealer) charge() error {
	parcel := d.naive.parcel[d.lot()]
	amount := d.amount(100, 9999)
	tax := num.FromMinor(d.draw("tax", 0, 1)*d.draw("tax cents", 1, 999), amount.Currency())
	cents, taxed := d.naive.convert(amount), d.naive.convert(tax)
	by := pick(d, "key", []book.ShareKey{book.ByCarats, book.ByPieces, book.ByCost})
	party := pick(d, "billed by", []string{"", "Carrier"})
	done, err := d.house.Stockroom.ChargeAdd(d.ctx, stockroom.ChargeAdd{Write: d.write, Parcel: parcel,
		Kind: "freight", Key: by, Amount: amount, Tax: tax, Party: party})
	if err != nil {
		return err
	}
	d.naive.change(done.Entry, func() {
		d.naive.charge(parcel, "charge/freight", cents, keyed(by))
		d.naive.write(done.Entry, "tax receivable", taxed)
		d.naive.write(done.Entry, "payables", -taxed)
	})
	d.naive.owe(&item{number: done.Charge.Code, party: party, entry: done.Entry, account: "payables",
		currency: string(amount.Currency()), rate: d.naive.rates[string(amount.Currency())], out: true,
		amount: amount.Add(tax).Minor(num.HalfUp), book: cents + taxed})
	d.charges[done.Charge.Code] = charged{parcel, by, amount.Minor(num.HalfUp), tax.Minor(num.HalfUp)}
	d.entries = append(d.entries, done.Entry)
	return nil
}

// charged is a charge that a rebate may lower.
type charged struct {
	parcel   string
	by       book.ShareKey
	net, tax int64 // in minor units of its currency
}

// rebate books what is given back of a charge, or of a purchase: it comes off what is
// held by the key of the charge, and the part of what is gone is a variance.
func (d *dealer) rebate() error {
	it := d.owing(func(it *item) bool { return it.out })
	if it == nil {
		return nil
	}
	amount := d.draw("amount", 1, 1+it.amount/5)
	r := stockroom.Rebate{Write: d.write, Amount: num.Micros(amount*perUnit(it.currency), "")}
	if strings.HasPrefix(it.number, "C") {
		of := d.charges[it.number]
		done, err := d.house.Stockroom.ChargeCredit(d.ctx, stockroom.ChargeCredit{Rebate: r, Charge: it.number})
		if err != nil {
			return err
		}
		d.rebated(done.Entry, it, of, "charge/freight", amount)
		return nil
	}
	by := pick(d, "key", []book.ShareKey{book.ByCarats, book.ByPieces, book.ByCost})
	done, err := d.house.Stockroom.ParcelCredit(d.ctx, stockroom.ParcelCredit{Rebate: r, Parcel: it.number, Key: by})
	if err != nil {
		return err
	}
	d.rebated(done.Entry, it, charged{it.number, by, it.amount, 0}, "vendor/"+it.party, amount)
	return nil
}

// rebated books a rebate in the naive ledger: what is left of the charge and of its
// tax says how it is split.
func (d *dealer) rebated(entry string, it *item, of charged, from string, amount int64) {
	for _, c := range it.changes {
		if !c.payment && !d.naive.void[c.entry] {
			of.net, of.tax = of.net-c.amount+c.tax, of.tax-c.tax
		}
	}
	inTax, cents := largest(amount, []int64{of.tax, of.net})[0], atRate(amount, it.rate)
	tax := largest(cents, []int64{inTax, amount - inTax})[0]
	d.naive.change(entry, func() {
		d.naive.charge(of.parcel, from, tax-cents, keyed(of.by))
		d.naive.write(entry, "tax receivable", -tax)
		d.naive.write(entry, "payables", tax)
	})
	it.changes = append(it.changes, change{entry: entry, amount: amount, book: cents, tax: inTax})
	d.entries = append(d.entries, entry)
}

// owing draws one of the later items; nil: there is none.
func (d *dealer) owing(of func(*item) bool) *item {
	var from []*item
	for _, it := range d.naive.items {
		if of(it) {
			from = append(from, it)
		}
	}
	if len(from) == 0 {
		return nil
	}
	return pick(d, "item", from[max(0, len(from)-20):])
}

// pay notes a payment: of all that is open or a part, in the currency of what is owed
// or in the other one; what was paid too much is paid back.
func (d *dealer) pay() error {
	it := d.owing(func(*item) bool { return true })
	if it == nil {
		return nil
	}
	open, _ := d.naive.open(it)
	open = max(open, -open)
	settled := d.draw("settled", 1, max(1, open+open/10))
	if d.draw("all", 0, 1) == 0 {
		settled = open
	}
	r := stockroom.PaymentAdd{Write: d.write, Party: it.party, For: []string{it.number}}
	if r.Party == "" || d.draw("wrong", 0, 19) == 0 {
		r.Party = d.party()
	}
	amount, currency := settled, it.currency
	if d.draw("other currency", 0, 3) == 0 {
		currency = map[string]string{"EUR": "USD", "USD": "EUR", "JPY": "EUR"}[it.currency]
		amount = d.draw("amount", 1, max(1, 2*settled))
		r.Settles = num.Micros(settled*perUnit(it.currency), "")
	}
	r.Amount = num.FromMinor(amount, num.Currency(currency))
	euros := amount
	if currency != "EUR" {
		hundredths := d.draw("rate", 80, 120)
		r.Rate, euros = rate(hundredths), over(amount*perUnit(currency)*hundredths, 1e6)
	}
	done, err := d.house.Stockroom.PaymentAdd(d.ctx, r)
	if err != nil {
		return err
	}
	d.naive.change(done.Entry, func() { d.naive.pay(done.Entry, it, settled, euros) })
	d.entries = append(d.entries, done.Entry)
	return nil
}
