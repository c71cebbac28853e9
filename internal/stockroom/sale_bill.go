package stockroom

import (
	"cmp"
	"context"
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// Bill is how a sale is billed.
type Bill struct {
	Price    num.Money    // of the lines without a price of their own, together; without a currency: in Currency
	Currency num.Currency // of the invoice; empty: the customer's, else the book's
	Rate     num.Rate     // book units per unit; zero: the book's rate of the day
	Tax      *num.Percent // nil: as the book is set
	TaxIn    *bool        // prices include the tax; nil: as the book is set
	Margin   bool         // by the margin scheme
	Purchase num.Money    // of the margin scheme: what was paid for the goods, without landed costs; zero: their cost
	Broker   string
	// What the broker gets: an amount, or a percentage of the net price.
	Commission        num.Money
	CommissionPercent num.Percent
	Days              *int64    // until it is due; nil: as agreed with the customer, else 0
	Due               book.Date // instead of Days
	Terms             string
	Note              string
}

// billed is a bill with its blanks filled in.
type billed struct {
	Bill
	book num.Currency
	to   book.Party // the customer, as far as the book knows him
	tax  num.Percent
	isIn bool
	due  book.Date
}

// in is an amount in the bill's currency when it had none.
func (b billed) in(m num.Money) num.Money {
	if m.Currency() != "" {
		return m
	}
	return num.Micros(m.Micros(), b.Currency)
}

// bill fills in a bill from the settings, the rates and what is agreed with the
// customer.
func (m *mover) bill(ctx context.Context, customer string, r Bill) (billed, error) {
	b := billed{Bill: r, book: m.tx.Meta().Currency, tax: m.config.Tax, isIn: m.config.TaxIn}
	parties, err := m.readParties(ctx)
	if err != nil {
		return b, err
	}
	b.to = parties.Record(customer)
	b.Currency = cmp.Or(r.Price.Currency(), r.Currency, b.to.Currency, b.book)
	if r.Broker != "" {
		if b.Broker, err = desk.PartyOf(ctx, m.tx, "a broker", r.Broker); err != nil {
			return b, err
		}
	}
	if r.Tax != nil {
		b.tax = *r.Tax
	}
	if r.TaxIn != nil {
		b.isIn = *r.TaxIn
	}
	if b.tax.IsZero() {
		b.isIn = false
	}
	if b.tax.Sign() < 0 || b.tax.Cmp(num.Int(100)) > 0 {
		return b, fault.New(fault.Usage, "tax-range", "a tax must lie between 0 and 100 %, but is "+b.tax.String(),
			"give the percent of the net price").AtField("tax")
	}
	if r.Margin && !m.config.MarginScheme {
		return b, fault.New(fault.Refused, "margin-scheme-off", "this book does not sell by the margin scheme",
			"ask your tax adviser whether these goods may; then set tax_margin_scheme to yes").AtField("margin_scheme").
			Do("config", "set", "tax_margin_scheme=yes")
	}
	if b.Price = b.in(r.Price); !b.Price.IsWhole() {
		return b, fault.New(fault.Usage, "money-too-fine",
			fmt.Sprintf("an amount of %s must have at most %d decimals, "+
				"but is %s", b.Currency, b.Currency.Digits(), b.Price), "round it to the currency's minor unit").
			AtField("price")
	}
	if b.Rate, err = rateOn(ctx, m.tx, m.on, b.Currency, r.Rate); err != nil {
		return b, err
	}
	if b.due = r.Due; b.due == "" {
		days := cmp.Or(r.Days, b.to.Terms, new(int64))
		b.due = m.on.AddDays(*days)
		b.Terms = cmp.Or(b.Terms, payWithin(cmp.Or(r.Days, b.to.Terms)))
	}
	if b.due < m.on {
		return b, fault.New(fault.Usage, "due-before", "an invoice of "+string(m.on)+" cannot be due on "+string(b.due),
			"give a later day").AtField("due")
	}
	return b, nil
}

// rateOn is the rate from a currency into the book's: the given one, else the
// book's newest of the day (IAS 21.21: the spot rate at the date of the
// transaction). In the book's own currency it is zero.
func rateOn(ctx context.Context, tx store.ReadTx, on book.Date, currency num.Currency, given num.Rate) (num.Rate,
	error) {
	if currency == tx.Meta().Currency || given != (num.Rate{}) {
		return given, nil
	}
	card, err := desk.LoadRates(ctx, tx, on)
	if err != nil {
		return given, err
	}
	rate, known, f := card.FX(currency)
	if f != nil {
		return rate, f
	}
	if !known {
		return rate, fault.New(fault.Invalid, "rate-missing",
			fmt.Sprintf("an amount in %s needs a rate to %s, but the "+
				"book has none of %s or before", currency, card.Currency, on),
			fmt.Sprintf("give the rate, the %s for one %s, or import the day's rates", card.Currency, currency)).
			AtField("rate").Do("rates", "import")
	}
	return rate, nil
}

// price fills in the amounts of a sale's lines: their prices, the tax, and both
// in the book's currency, converted once for the whole invoice and shared over
// its lines, so that they add up.
func (m *mover) price(ctx context.Context, sale *book.Sale, lots []answer.StockLot, b billed) (fault.List, error) {
	agreed, err := m.agreed(sale, b)
	if err != nil {
		return nil, err
	}
	total := num.Zero(b.Currency)
	weights := make([]num.Dec, len(agreed))
	for i, a := range agreed {
		total = total.Add(a)
		weights[i] = a.Dec()
	}
	if total.Sign() <= 0 {
		return nil, fault.New(fault.Usage, "sale-price", "a sale has a price above 0",
			"give the price of each line, or "+
				"one for all").AtField("price")
	}
	tax := make([]num.Money, len(agreed))
	if !b.Margin {
		tax = taxOf(total, b.tax, b.isIn).Share(weights)
	}
	gross, taxes := num.Zero(b.Currency), num.Zero(b.Currency)
	for i := range sale.Lines {
		l := &sale.Lines[i]
		l.Gross, l.Tax = agreed[i], num.Zero(b.Currency).Add(tax[i])
		if !b.isIn && !b.Margin {
			l.Gross = l.Gross.Add(tax[i])
		}
		gross, taxes = gross.Add(l.Gross), taxes.Add(l.Tax)
	}
	owed := b.toBook(gross).Share(weights)
	taxBook := b.toBook(taxes).Share(weights)
	var warnings fault.List
	if b.Margin {
		if taxBook, warnings, err = m.marginTax(ctx, sale, lots, owed, b); err != nil {
			return nil, err
		}
	}
	sale.Price = num.Zero(b.book)
	net := gross.Sub(taxes)
	for i := range sale.Lines {
		l := &sale.Lines[i]
		l.TaxBook = taxBook[i]
		l.Sold = owed[i].Sub(taxBook[i])
		sale.Price = sale.Price.Add(l.Sold)
	}
	if b.Currency != b.book {
		sale.Foreign = &book.ForeignPrice{Amount: net, Rate: b.Rate}
	}
	if !b.tax.IsZero() {
		sale.Tax = &book.SaleTax{Rate: b.tax, In: b.isIn || b.Margin, Margin: b.Margin, Purchase: b.Purchase}
	}
	sale.Due, sale.Terms = b.due, b.Terms
	return warnings, commission(sale, net, b)
}

// agreed are the prices of a sale's lines as they were agreed. Lines without one
// share the bill's price by what they cost.
func (m *mover) agreed(sale *book.Sale, b billed) ([]num.Money, error) {
	out := make([]num.Money, len(sale.Lines))
	weights := make([]num.Dec, len(sale.Lines))
	together := 0
	for i, l := range sale.Lines {
		if l.Price.Currency() != b.Currency {
			return nil, fault.New(fault.Usage, "sale-currencies", fmt.Sprintf("an invoice in %s has a price in %s",
				b.Currency, l.Price.Currency()), "an invoice has one currency").AtField("currency").AtRef(l.Lot)
		}
		switch l.Basis {
		case book.LinePerCarat:
			out[i] = l.Price.ForCarats(l.Carats, num.HalfUp)
		case book.LinePerPiece:
			out[i] = l.Price.ForPieces(l.Pieces, num.HalfUp)
		case book.LineTotal:
			out[i] = l.Price.Round(num.HalfUp)
		default:
			together++
			weights[i] = l.Cost.Dec()
		}
		if l.Basis != book.LineTogether && out[i].Sign() <= 0 {
			return nil, fault.New(fault.Usage, "sale-price", "the price of "+l.Lot+" must be above 0",
				"give its price").
				AtRef(l.Lot).AtField("price")
		}
	}
	switch {
	case together == 0 && !b.Price.IsZero():
		return nil, fault.New(fault.Usage, "sale-price-both", "every line has its own price, and there is one for all",
			"leave one of them out").AtField("price")
	case together == 0:
		return out, nil
	case b.Price.Sign() <= 0:
		return nil, fault.New(fault.Usage, "sale-price", "a sale has a price above 0",
			"give the price of each line, or "+
				"one for all").AtField("price")
	}
	single := together == 1
	zero := true
	for _, w := range weights {
		zero = zero && w.IsZero()
	}
	for i, l := range sale.Lines { // stones that cost nothing share by weight, else by count
		if zero && l.Basis == book.LineTogether {
			weights[i] = num.Int(l.Pieces)
		}
	}
	for i, part := range b.Price.Share(weights) {
		if l := &sale.Lines[i]; l.Basis == book.LineTogether {
			out[i] = part
			l.Price = num.UnitPrice{Money: part}
			if single {
				l.Basis = book.LineTotal
			}
		}
	}
	return out, nil
}

// taxOf is the tax on an amount that includes it or not, rounded half up to the
// minor unit.
func taxOf(amount num.Money, rate num.Percent, included bool) num.Money {
	if !included {
		return amount.Times(rate.Fraction(), num.HalfUp)
	}
	c := amount.Currency()
	return num.MoneyFromDec(amount.Dec().Mul(rate.Dec).Over(num.Int(100).Add(rate.Dec), c.Digits(), num.HalfUp), c,
		num.HalfUp)
}

// toBook is an amount of the bill in book currency.
func (b billed) toBook(m num.Money) num.Money {
	if b.Currency == b.book {
		return m
	}
	return m.Convert(b.Rate, b.book, num.HalfUp)
}

// marginCaution stands beside each sale by the margin scheme.
const marginCaution = "loose precious stones are left out of the margin scheme for second-hand goods in many places " +
	"(HM " +
	"Revenue & Customs, VAT margin schemes manual, VATMARG02100: second-hand goods are goods \"other than precious " +
	"metals or precious stones\")"

// marginTax is the tax of each line by the margin scheme, in book currency: the
// tax in what was earned over the purchase price, line by line. A loss on one is
// never set against the gain on another.
func (m *mover) marginTax(ctx context.Context, sale *book.Sale, lots []answer.StockLot, owed []num.Money,
	b billed) ([]num.Money, fault.List, error) {
	weights := make([]num.Dec, len(sale.Lines))
	for i, l := range sale.Lines {
		weights[i] = l.Cost.Dec()
		if !b.Purchase.IsZero() {
			continue
		}
		landed, err := m.landed(ctx, lots[i].Lot)
		if err != nil {
			return nil, nil, err
		}
		if landed {
			return nil, nil, fault.New(fault.Usage, "margin-purchase", "the cost of "+l.Lot+
				" holds more than its purchase "+
				"price, which alone counts in the margin", "give what was paid for the goods").AtRef(l.Lot).
				AtField("purchase")
		}
	}
	paid := sale.Cost
	if !b.Purchase.IsZero() {
		paid = b.Purchase
	}
	out := make([]num.Money, len(sale.Lines))
	for i, bought := range paid.Share(weights) {
		out[i] = num.Zero(b.book)
		if margin := owed[i].Sub(bought); margin.Sign() > 0 {
			out[i] = taxOf(margin, b.tax, true)
		}
	}
	return out, fault.List{fault.New(fault.Refused, "margin-scheme", "sold by the margin scheme: "+marginCaution,
		"ask your tax adviser; local rules come first").AtRef(sale.Number).AsWarning()}, nil
}

// landed reports whether the cost of a lot holds charges beside its price.
func (m *mover) landed(ctx context.Context, lot book.Lot) (bool, error) {
	if lot.Parcel == "" {
		return true, nil
	}
	charges, err := store.Of[book.Charge](ctx, m.tx, book.ToParcel(lot.Parcel))
	return len(charges) > 0, err
}

// commission fills in what a broker gets.
func commission(sale *book.Sale, net num.Money, b billed) error {
	amount := b.in(b.Commission)
	if b.CommissionPercent.Sign() > 0 {
		amount = net.Times(b.CommissionPercent.Fraction(), num.HalfUp)
	}
	if amount.IsZero() && b.Broker == "" {
		return nil
	}
	if f := book.CheckName("a broker", b.Broker); f != nil {
		return f.AtField("broker")
	}
	if amount.Sign() <= 0 || !amount.IsWhole() || amount.Cmp(net) >= 0 {
		return fault.New(fault.Usage, "commission-bad",
			"a commission must be more than 0 and less than the net price, "+
				"but is "+amount.Words(), "give an amount, or a percentage such as 5%").AtField("commission")
	}
	sale.Commission = &book.Commission{Broker: b.Broker, Amount: amount, Book: b.toBook(amount)}
	return nil
}
