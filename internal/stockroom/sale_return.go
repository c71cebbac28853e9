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

// SaleReturn asks to take back what was sold, or a part of it.
type SaleReturn struct {
	Movement
	Number  string
	Lots    []Moving // as counted and weighed; none: all that is left of the sale, as it went
	Damaged bool
}

// SaleReturn takes stones of a sale back into the safe: each lot gets the very
// cost that left it, and the customer a credit note. Damaged stones are kept
// apart from sound ones and out of plans.
func (room *Room) SaleReturn(ctx context.Context, r SaleReturn) (answer.Credited, error) {
	out := answer.Credited{}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		sold, err := openSale(ctx, tx, r.Number)
		if err != nil {
			return err
		}
		e := s.Entry(ledger.Return, "sale "+sold.Number+" came back")
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		out.Sale = sold.Sale
		if len(sold.Lines) == 0 {
			return m.returnOld(ctx, sold, r, &out)
		}
		c := sold.newCredit(s)
		c.Damaged, c.Accept = r.Damaged, r.Accept
		if err := m.takeBack(ctx, s, sold, r, &c); err != nil {
			return err
		}
		var lots []string
		for _, l := range c.Lines {
			if l.Into != "" {
				lots = append(lots, l.Into)
			}
		}
		return m.credit(ctx, s, sold, &c, &out, lots...)
	})
	return out, err
}

// soldSale is a sale with what was credited of it.
type soldSale struct {
	book.Sale
	Since   string // code of its entry
	credits []book.Credit
}

// openSale reads a sale that stands, with its credits that stand.
func openSale(ctx context.Context, tx store.ReadTx, number string) (soldSale, error) {
	var out soldSale
	row, err := tx.Row(ctx, book.KindSale, number)
	if err != nil {
		_, err = desk.Named[book.Sale](ctx, tx, number)
		return out, err
	}
	if out.Sale, err = store.Get[book.Sale](ctx, tx, row.Key); err != nil {
		return out, err
	}
	out.Since = row.Since
	void, err := tx.Reversals(ctx)
	if err != nil {
		return out, err
	}
	if by := void[row.Since]; by != "" || out.Reversed {
		return out, fault.New(fault.Refused, "sale-void", "sale "+out.Number+" is void: it was taken back",
			"check the number").AtRef(out.Number).Do("sale", "list")
	}
	out.credits, err = creditsOf(ctx, tx, out.Number)
	return out, err
}

// creditsOf are the credits of a sale that stand.
func creditsOf(ctx context.Context, tx store.ReadTx, sale string) ([]book.Credit, error) {
	var out []book.Credit
	err := eachStanding(ctx, tx, store.RowFilter{Prefix: sale + "/"}, func(_ store.Row, c book.Credit) error {
		out = append(out, c)
		return nil
	})
	return out, err
}

// newCredit is an empty credit of the sale.
func (s soldSale) newCredit(on desk.Stamp) book.Credit {
	c, home := s.Currency(), s.Price.Currency()
	return book.Credit{Sale: s.Number, Customer: s.Customer, On: on.On, Reason: on.Reason, Gross: num.Zero(c),
		Tax: num.Zero(c), Sold: num.Zero(home), TaxBook: num.Zero(home), Cost: num.Zero(home)}
}

// rest is a line of the sale less what was credited of it, in a credit that is
// being written too.
func (s soldSale) rest(line int, now book.Credit) book.SaleLine {
	l := s.Lines[line-1]
	for _, c := range append(slices.Clip(s.credits), now) {
		for _, x := range c.Lines {
			if x.Line != line {
				continue
			}
			l.Pieces, l.Carats = l.Pieces-x.Off.Pieces, l.Carats-x.Off.Carats
			l.Gross, l.Tax = l.Gross.Sub(x.Gross), l.Tax.Sub(x.Tax)
			l.Sold, l.TaxBook, l.Cost = l.Sold.Sub(x.Sold), l.TaxBook.Sub(x.TaxBook), l.Cost.Sub(x.Cost)
		}
	}
	return l
}

// takeBack posts what came back of a sale's lines, and adds it to the credit.
func (m *mover) takeBack(ctx context.Context, on desk.Stamp, s soldSale, r SaleReturn, c *book.Credit) error {
	back := r.Lots
	if len(back) == 0 {
		for i := range s.Lines {
			if l := s.rest(i+1, *c); l.Pieces > 0 {
				back = append(back, Moving{Lot: l.Lot, Pieces: l.Pieces, Carats: l.Carats})
			}
		}
	}
	if len(back) == 0 {
		return fault.New(fault.Refused, "sale-returned", "sale "+s.Number+" came back already", "check the number").
			AtRef(s.Number)
	}
	for _, x := range back {
		line, err := s.lineOf(x, *c)
		if err != nil {
			return err
		}
		if err := m.takeLine(ctx, on, s, line, x, r.Damaged, c); err != nil {
			return err
		}
	}
	return nil
}

// lineOf finds the line that pieces of a lot came back of: of several lines of
// one lot the first that still has so many.
func (s soldSale) lineOf(x Moving, c book.Credit) (int, error) {
	found, most := false, int64(0)
	for i, l := range s.Lines {
		if !strings.EqualFold(l.Lot, x.Lot) {
			continue
		}
		found = true
		left := s.rest(i+1, c).Pieces
		most = max(most, left)
		if left > 0 && x.Pieces <= left {
			return i + 1, nil
		}
	}
	if !found {
		return 0, fault.New(fault.NotFound, "sale-lot", "sale "+s.Number+" has no line of "+x.Lot, "see what was sold").
			AtRef(x.Lot).Do("sale", "list")
	}
	return 0, fault.New(fault.Refused, "return-pieces", fmt.Sprintf("%d pieces of %s came back, but %d of sale %s are "+
		"left with %s", x.Pieces, x.Lot, most, s.Number, s.Customer), "count again; stones get switched").AtRef(x.Lot)
}

// takeLine posts what came back of one line, counted and weighed as every
// movement is, and adds it to the credit. Amounts and cost follow the weight with
// largest remainder, so that what comes back last takes what is left.
func (m *mover) takeLine(ctx context.Context, on desk.Stamp, s soldSale, line int, x Moving, damaged bool,
	c *book.Credit) error {
	l := s.rest(line, *c)
	if x.Pieces == 0 {
		x.Pieces = l.Pieces
	}
	if x.Carats == 0 && x.Pieces == l.Pieces {
		x.Carats = l.Carats
	}
	off, err := m.weighReturn(l, x)
	if err != nil {
		return err
	}
	whole := x.Pieces == l.Pieces
	weights := []num.Dec{off.Carats.Dec(), (l.Carats - off.Carats).Dec()}
	if l.Carats == 0 {
		weights = []num.Dec{num.Int(x.Pieces), num.Int(l.Pieces - x.Pieces)}
	}
	part := func(of num.Money) num.Money {
		if whole {
			return of
		}
		return of.Share(weights)[0]
	}
	out := book.CreditLine{Line: line, Lot: l.Lot, Weighed: book.Weighed{Pieces: x.Pieces, Carats: x.Carats}, Off: off,
		Gross: part(l.Gross), Tax: part(l.Tax), Cost: part(l.Cost)}
	owed := part(l.Sold.Add(l.TaxBook))
	out.TaxBook = part(l.TaxBook)
	out.Sold = owed.Sub(out.TaxBook)
	if out.Into, err = m.landReturn(ctx, on, s, l, out, damaged); err != nil {
		return err
	}
	c.Take(out)
	return nil
}

// weighReturn compares what came back of a line with what is left of it, and
// returns what it takes off the line.
func (m *mover) weighReturn(l book.SaleLine, x Moving) (book.Weighed, error) {
	left := ledger.Balance{Lot: l.Lot, Place: "the customer", Pieces: l.Pieces, Carats: l.Carats}
	off := book.Weighed{Pieces: x.Pieces, Carats: x.Carats}
	if x.Carats == 0 && l.Carats > 0 {
		return off, fault.New(fault.Usage, "return-weight", "what comes back of "+l.Lot+" is weighed", "weigh it").
			AtRef(l.Lot)
	}
	if x.Pieces < l.Pieces {
		if x.Carats >= l.Carats && l.Carats > 0 {
			return off, tooHeavy(l.Lot, x.Carats, left)
		}
		return off, m.refuse(ledger.CheckMeans(left, ledger.Leaving{Pieces: x.Pieces, Carats: x.Carats}))
	}
	off.Carats = l.Carats
	tolerance, rest := ledger.Tolerance(m.config.Weighing()), l.Carats-x.Carats
	if rest > tolerance || -rest > tolerance {
		return off, m.refuse(fault.New(fault.Refused, "return-differs",
			fmt.Sprintf("%s came back with %s ct, but %s ct were sold: the difference of %s ct is over the tolerance "+
				"of %s "+
				"ct of one weighing", l.Lot, x.Carats, l.Carats, rest, tolerance),
			"measure and test the stones before accepting them; then say why they are accepted").AtRef(l.Lot).
			AtField("accept"))
	}
	return off, nil
}

// landReturn posts what came back into the safe that it left at the cost that left, and what
// the scale reads differently to loss/weighing. Damaged stones become a lot of
// their own, which is named, unless nothing else is left of their lot.
func (m *mover) landReturn(ctx context.Context, on desk.Stamp, s soldSale, l book.SaleLine, back book.CreditLine,
	damaged bool) (string,
	error) {
	from := book.PlaceOf(book.AtCustomer, s.Customer)
	zero := num.Zero(s.Price.Currency())
	lot, err := desk.StockOf(ctx, m.tx, l.Lot)
	if err != nil {
		return "", err
	}
	home, err := m.soldFrom(ctx, s, lot.Code)
	if err != nil {
		return "", err
	}
	if lot.IsPiece() {
		m.landPiece(on, lot.Lot, from, home, s.Number, l, damaged)
		return "", nil
	}
	into, made := lot.Code, ""
	if damaged {
		why := "came back damaged from sale " + s.Number
		if lot.Pieces == 0 && back.Pieces == l.Pieces {
			m.damage(on, lot.Lot, why)
		} else if into, err = m.apart(ctx, on, lot.Lot, why); err != nil {
			return "", err
		} else {
			made = into
		}
	}
	m.entry.Postings = append(m.entry.Postings,
		ledger.Posting{Lot: lot.Code, Place: from, Pieces: -back.Off.Pieces, Carats: -back.Off.Carats,
			Cost: back.Cost.Neg()},
		ledger.Posting{Lot: into, Place: home, Pieces: back.Pieces, Carats: back.Carats, Cost: back.Cost})
	if diff := back.Off.Carats - back.Carats; diff != 0 {
		m.entry.Postings = append(m.entry.Postings, ledger.Posting{Lot: lot.Code, Place: book.LossWeighing,
			Carats: diff,
			Cost:   zero})
	}
	return made, nil
}

// soldFrom is the safe that stones of a sale come back to: that of the office that
// is named, else the one that they left.
func (m *mover) soldFrom(ctx context.Context, s soldSale, lot string) (book.Place, error) {
	if m.office != "" {
		return m.office, nil
	}
	e, err := desk.EntryNamed(ctx, m.tx, s.Since)
	if err != nil {
		return "", err
	}
	found, err := m.leftFrom(ctx, lot, book.PlaceOf(book.AtCustomer, s.Customer), e.Sequence)
	if err != nil {
		return "", err
	}
	return m.oneOffice(lot, lot+" comes", found)
}

// apart is the code of the lot that takes what plans may not use of a lot: one
// of this entry, else a new one.
func (m *mover) apart(ctx context.Context, on desk.Stamp, lot book.Lot, why string) (string, error) {
	for _, r := range m.entry.Records {
		if x, ok := r.(book.Lot); ok && x.Parent == lot.Code && x.Damaged != nil && x.Damaged.Reason == why {
			return x.Code, nil
		}
	}
	child, err := childrenOf(ctx, m.tx, lot)
	if err != nil {
		return "", err
	}
	part := child(book.Lot{})
	m.damage(on, part, why)
	return part.Code, nil
}

// credit numbers a credit, issues its note and posts the entry.
func (m *mover) credit(ctx context.Context, s desk.Stamp, sold soldSale, c *book.Credit, out *answer.Credited,
	lots ...string) error {
	n, err := m.tx.Next(ctx, book.CreditSeries(sold.Number))
	if err != nil {
		return err
	}
	c.Number = n
	note, err := m.creditNote(ctx, sold.Sale, *c)
	if err != nil {
		return err
	}
	doc, err := m.issue(ctx, s, desk.Draft{Kind: "CREDIT", Title: "Credit note", Model: note})
	if err != nil {
		return err
	}
	c.Document = doc.Number
	m.record(*c)
	out.Credit = c
	out.Moved, err = m.post(ctx, lots...)
	return err
}

// creditNote is the credit note of a credit.
func (m *mover) creditNote(ctx context.Context, sale book.Sale, c book.Credit) (*answer.Invoice, error) {
	parties, err := desk.ReadParties(ctx, m.tx)
	if err != nil {
		return nil, err
	}
	v := newInvoice(sale, parties.Record(sale.Customer))
	v.Of, v.Terms, v.Note = cmp.Or(sale.Invoice, sale.Number), "", c.Reason
	for _, l := range c.Lines {
		lot, err := desk.Named[book.Lot](ctx, m.tx, l.Lot)
		if err != nil {
			return nil, err
		}
		words, err := m.goodsLine(ctx, lot)
		if err != nil {
			return nil, err
		}
		if l.Pieces == 0 {
			words = "taken off the price of: " + words
		}
		amount := shown(l.Gross, l.Tax, sale)
		v.Lines = append(v.Lines, answer.InvoiceLine{Lot: l.Lot, Words: words, Pieces: l.Pieces, Carats: l.Carats,
			Basis: book.LineTotal, Price: num.UnitPrice{Money: amount}, Amount: &amount})
	}
	v.add(c.Gross, c.Tax)
	return v.Invoice, nil
}

// returnOld takes back a whole sale that has no lines, at the cost that its entry
// took from each lot.
func (m *mover) returnOld(ctx context.Context, sold soldSale, r SaleReturn, out *answer.Credited) error {
	sale := sold.Sale
	if sale.Returned {
		return fault.New(fault.Refused, "sale-returned", "sale "+sale.Number+" came back already", "check the number").
			AtRef(sale.Number)
	}
	if len(r.Lots) > 0 {
		return fault.New(fault.Refused, "sale-no-lines", "sale "+sale.Number+" was booked without lines, so it comes "+
			"back "+
			"whole", "leave the lots out").AtRef(sale.Number)
	}
	entry, err := desk.EntryNamed(ctx, m.tx, sold.Since)
	if err != nil {
		return err
	}
	from := book.PlaceOf(book.AtCustomer, sale.Customer)
	for _, p := range entry.Postings {
		if p.Place == from {
			home, err := m.soldFrom(ctx, sold, p.Lot)
			if err != nil {
				return err
			}
			m.entry.Postings = append(m.entry.Postings, ledger.Move(p.Lot, from, home, p.Pieces, p.Carats, p.Cost)...)
		}
	}
	sale.Returned, sale.Damaged = true, r.Damaged
	m.record(sale)
	out.Sale = sale
	out.Moved, err = m.post(ctx)
	return err
}

// SaleCredit asks to give a customer money back for a sale of which nothing
// comes back.
type SaleCredit struct {
	desk.Write
	Number string
	Amount num.Money // with tax, in the invoice's currency; without a currency it is in that
}

// SaleCredit issues a credit note that lowers the price of a sale, by the part
// that each line has in it.
func (room *Room) SaleCredit(ctx context.Context, r SaleCredit) (answer.Credited, error) {
	out := answer.Credited{}
	if r.Reason == "" {
		return out, fault.New(fault.Usage, "reason-missing", "a credit needs a reason", "say why").AtField("reason")
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		sold, err := openSale(ctx, tx, r.Number)
		if err != nil {
			return err
		}
		out.Sale = sold.Sale
		if len(sold.Lines) == 0 {
			return fault.New(fault.Refused, "sale-no-lines", "sale "+sold.Number+" was booked without lines",
				"take it back "+
					"whole").AtRef(sold.Number).Do("sale", "return", sold.Number)
		}
		e := s.Entry(ledger.Record, "price of sale "+sold.Number+" lowered")
		m, err := newMover(ctx, tx, s, Movement{Write: r.Write}, &e)
		if err != nil {
			return err
		}
		c := sold.newCredit(s)
		if err := sold.allow(r.Amount, &c); err != nil {
			return err
		}
		return m.credit(ctx, s, sold, &c, &out)
	})
	return out, err
}

// allow shares an amount that is given back over the lines of the sale.
func (s soldSale) allow(amount num.Money, c *book.Credit) error {
	if amount.Currency() == "" {
		amount = num.Micros(amount.Micros(), s.Currency())
	}
	weights := make([]num.Dec, len(s.Lines))
	left := num.Zero(s.Currency())
	for i := range s.Lines {
		l := s.rest(i+1, *c)
		weights[i], left = l.Gross.Dec(), left.Add(l.Gross)
	}
	if amount.Currency() != s.Currency() || !amount.IsWhole() || amount.Sign() <= 0 || amount.Cmp(left) > 0 {
		return fault.New(fault.Usage, "credit-amount", fmt.Sprintf("a credit on sale %s must lie between 0 and %s, "+
			"but is %s",
			s.Number, left.Words(), amount.Words()), "give the amount with tax, in the invoice's currency").
			AtField("amount").AtRef(s.Number)
	}
	for i, part := range amount.Share(weights) {
		if part.IsZero() {
			continue
		}
		l := s.rest(i+1, *c)
		of := func(m num.Money) num.Money { return m.Share([]num.Dec{part.Dec(), l.Gross.Sub(part).Dec()})[0] }
		x := book.CreditLine{Line: i + 1, Lot: l.Lot, Gross: part, Tax: of(l.Tax), TaxBook: of(l.TaxBook),
			Cost: num.Zero(s.Price.Currency())}
		x.Sold = of(l.Sold.Add(l.TaxBook)).Sub(x.TaxBook)
		c.Take(x)
	}
	return nil
}
