package stockroom

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// LedgerJournal asks for what the bookkeeper enters of a time.
type LedgerJournal struct {
	From, To book.Date // empty: no bound
}

// LedgerJournal returns the journal: every entry of the book that moves cost or
// money, in debit and credit. It is read from postings and papers each time and
// never stored. An entry that was reversed stands in it with its reversal.
func (room *Room) LedgerJournal(ctx context.Context, r LedgerJournal) (answer.Journal, error) {
	out := answer.Journal{From: r.From, To: r.To, Lines: []answer.JournalLine{}, Accounts: []answer.JournalAccount{}}
	if r.To != "" && r.To < r.From {
		return out, fault.New(fault.Usage, "journal-dates", "the last day must not lie before the first",
			"check the dates").
			AtField("to")
	}
	err := room.desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.Head, err = room.desk.ListHead(ctx, tx, "Journal"); err != nil {
			return err
		}
		cfg, err := config.Load(ctx, tx)
		if err != nil {
			return err
		}
		zero := num.Zero(tx.Meta().Currency)
		out.Lines, out.Debit, out.Credit = []answer.JournalLine{}, zero, zero
		j := journal{ctx: ctx, tx: tx, config: cfg, zero: zero, opening: map[string]bool{},
			money: map[string][]booking{}, billed: map[string]book.ForeignPrice{},
			about: map[string]about{}, charged: map[string][]book.Charge{}, noted: map[string]bool{},
			claimed: map[string][]book.Claim{}, invoices: map[string]string{}}
		if err := j.read(); err != nil {
			return err
		}
		return j.each(r.From, r.To, func(e ledger.Entry, lines []booking) {
			for _, b := range lines {
				amount, rate := j.foreign(e, b)
				out.Add(answer.JournalLine{Foreign: amount, Rate: rate, On: e.PostedOn,
					Entry: e.Code, Reverses: e.Reverses,
					Account: b.account,
					Tax:     b.tax, Document: b.document, Party: b.party, Words: e.Reason}, b.amount)
			}
		})
	})
	return out, err
}

// booking is one line of the journal: a debit, or a credit when it is negative.
type booking struct {
	account, tax, document, party string
	amount                        num.Money
}

// about is what an entry is about.
type about struct {
	document, party string
}

// journal reads the journal of a book.
type journal struct {
	ctx     context.Context
	tx      store.ReadTx
	config  config.Config
	zero    num.Money
	opening map[string]bool              // codes of parcels that the book began with
	money   map[string][]booking         // what papers add, by the code of the entry that wrote them
	billed  map[string]book.ForeignPrice // what a line was in its paper's currency, by billedKey
	about   map[string]about
	charged map[string][]book.Charge // the charges that an entry wrote
	claimed map[string][]book.Claim  // the claims that it wrote
	// invoices are the numbers that customers know sales by, by the sale's
	invoices map[string]string
	noted    map[string]bool // entries whose purchases are in billed
}

// bill notes what a line of an entry is in the currency of its paper, when that is
// not the book's. Amounts of one line add up.
func (j *journal) bill(entry string, b booking, amount num.Money, rate num.Rate) {
	if amount.IsZero() || amount.Currency() == j.zero.Currency() {
		return
	}
	key := j.billedKey(entry, b)
	was, known := j.billed[key]
	switch {
	case !known:
		was.Amount = num.Zero(amount.Currency())
	case was.Amount.Currency() != amount.Currency():
		return
	}
	j.billed[key] = book.ForeignPrice{Amount: was.Amount.Add(amount), Rate: rate}
}

func (j *journal) billedKey(entry string, b booking) string {
	return strings.Join([]string{entry, j.config.Account(b.account), b.tax, b.document, b.party}, "\x00")
}

// foreign is what a line was in the currency of its paper, without its side, and its
// rate; nil and empty: it was in the book's.
func (j *journal) foreign(e ledger.Entry, b booking) (*num.Money, string) {
	f, known := j.billed[j.billedKey(cmp.Or(e.Reverses, e.Code), b)]
	if !known || f.Amount.IsZero() {
		return nil, ""
	}
	if f.Amount.Sign() < 0 {
		f.Amount = f.Amount.Neg()
	}
	return &f.Amount, f.Rate.String()
}

// read collects what sales, credits, payments and charges add to the postings of
// their entries.
func (j *journal) read() error {
	for _, f := range []func() error{j.sales, j.credits, j.payments, j.others, j.charges, j.claims} {
		if err := f(); err != nil {
			return err
		}
	}
	return nil
}

// add adds bookings to those of an entry.
func (j *journal) add(entry string, lines ...booking) {
	j.money[entry] = append(j.money[entry], lines...)
}

// everyRow calls f for each record of a kind, void ones too: a reversed entry
// stands in the journal with its reversal.
func everyRow[T book.Record](j *journal, f func(store.Row, T) error) error {
	return rowsOf(&accounts{ctx: j.ctx, tx: j.tx}, store.RowFilter{}, f)
}

// sales book what customers owe: revenue and the tax on it; and commissions.
func (j *journal) sales() error {
	return everyRow(j, func(row store.Row, s book.Sale) error {
		doc := cmp.Or(s.Invoice, s.Number)
		j.invoices[s.Number] = doc
		j.about[row.Since] = about{doc, s.Customer}
		tax := taxCode(s.Tax)
		j.add(row.Since, booking{config.Receivables, "", doc, s.Customer, s.Receivable()},
			booking{config.Revenue, tax, doc, s.Customer, s.Price.Neg()},
			booking{config.TaxPayable, tax, doc, s.Customer, s.TaxBook().Neg()})
		if f := s.Foreign; f != nil {
			j.bill(row.Since, booking{account: config.Receivables, document: doc, party: s.Customer}, s.Total(), f.Rate)
			j.bill(row.Since, booking{account: config.Revenue, tax: tax, document: doc, party: s.Customer},
				f.Amount, f.Rate)
			j.bill(row.Since, booking{account: config.TaxPayable, tax: tax, document: doc, party: s.Customer},
				s.Total().Sub(f.Amount), f.Rate)
			if c := s.Commission; c != nil {
				for _, account := range []string{config.Commissions, config.Payables} {
					j.bill(row.Since, booking{account: account, document: doc, party: c.Broker}, c.Amount, f.Rate)
				}
			}
		}
		if c := s.Commission; c != nil {
			j.add(row.Since, booking{config.Commissions, "", doc, c.Broker, c.Book},
				booking{config.Payables, "", doc, c.Broker, c.Book.Neg()})
		}
		if s.Returned { // a sale without lines, whose newest version says that it came back
			j.about[row.Entry] = about{s.Number, s.Customer}
			j.add(row.Entry, booking{config.SalesReturns, "", s.Number, s.Customer, s.Price},
				booking{config.Receivables, "", s.Number, s.Customer, s.Price.Neg()})
		}
		return nil
	})
}

// taxCode names how a sale is taxed: its rate in percent, or the margin scheme.
func taxCode(t *book.SaleTax) string {
	switch {
	case t == nil:
		return ""
	case t.Margin:
		return "margin " + t.Rate.String()
	}
	return t.Rate.String()
}

// credits book what customers get back.
func (j *journal) credits() error {
	return everyRow(j, func(row store.Row, c book.Credit) error {
		s, err := store.Get[book.Sale](j.ctx, j.tx, c.Sale)
		if err != nil {
			return err
		}
		tax := taxCode(s.Tax)
		j.about[row.Since] = about{c.Document, c.Customer}
		if s.Foreign != nil {
			rate := s.Foreign.Rate
			j.bill(row.Since, booking{account: config.SalesReturns, tax: tax, document: c.Document, party: c.Customer},
				c.Gross.Sub(c.Tax), rate)
			j.bill(row.Since, booking{account: config.TaxPayable, tax: tax, document: c.Document, party: c.Customer},
				c.Tax, rate)
			j.bill(row.Since, booking{account: config.Receivables, document: c.Document, party: c.Customer},
				c.Gross, rate)
		}
		j.add(row.Since, booking{config.SalesReturns, tax, c.Document, c.Customer, c.Sold},
			booking{config.TaxPayable, tax, c.Document, c.Customer, c.TaxBook},
			booking{config.Receivables, "", c.Document, c.Customer, c.Sold.Add(c.TaxBook).Neg()})
		return nil
	})
}

// claims book what is owed over the cost of stones that did not come back; their
// cost is posted.
func (j *journal) claims() error {
	return everyRow(j, func(row store.Row, c book.Claim) error {
		if a := j.about[row.Since]; a.party == "" { // of a transfer, which is with no party
			a.party = c.Party
			j.about[row.Since] = a
		}
		j.claimed[row.Since] = append(j.claimed[row.Since], c)
		if c.Foreign != nil {
			j.bill(row.Since, booking{account: config.Claims, document: c.Number, party: c.Party}, c.Owed(),
				c.Foreign.Rate)
		}
		j.add(row.Since, booking{config.Claims, "", c.Number, c.Party, c.Over},
			booking{config.Losses, "", c.Number, c.Party, c.Over.Neg()})
		return nil
	})
}

// payments book money at its own rate: each item goes at what it stood at, and the
// difference is one line (IAS 21.28). A debt that is written off is a loss, what is
// recovered of it lowers that again (IFRS 9 5.4.4).
func (j *journal) payments() error {
	return everyRow(j, func(row store.Row, p book.Payment) error {
		j.about[row.Since] = about{p.Number, p.Party}
		j.add(row.Since, booking{config.Bank, "", p.Number, p.Party, signedBy(p.Out, p.Book).Sub(p.FeeBook)},
			booking{config.BankFees, "", p.Number, p.Party, p.FeeBook},
			booking{config.Exchange, "", p.Number, p.Party, p.Difference.Neg()})
		j.bill(row.Since, booking{account: config.Bank, document: p.Number, party: p.Party},
			signedBy(p.Out, p.Amount).Sub(p.Fee), p.Rate)
		j.bill(row.Since, booking{account: config.BankFees, document: p.Number, party: p.Party}, p.Fee, p.Rate)
		for _, x := range p.Parts {
			account := accountOf(x, x.For == p.Number)
			if x.Recovered {
				account = config.BadDebts
			}
			doc := cmp.Or(j.invoices[x.For], x.For) // as the line that it settles
			j.add(row.Since, booking{account, "", doc, p.Party, signedBy(x.Out, x.Carrying).Neg()})
			j.bill(row.Since, booking{account: account, document: doc, party: p.Party}, x.Settled, x.Rate)
			if p.WriteOff {
				j.add(row.Since, booking{config.BadDebts, "", doc, p.Party, x.Carrying})
			}
		}
		return nil
	})
}

// accountOf is the account that what is settled stands in. What a customer paid on
// account lowers the receivables, what a vendor was paid the payables.
func accountOf(x book.PaymentPart, kept bool) string {
	switch x.Kind {
	case book.OwedInvoice:
		return config.Receivables
	case book.OwedClaim:
		return config.Claims
	case book.OwedAdvance:
		if x.Out != kept {
			return config.Receivables
		}
	}
	return config.Payables
}

// charges book recoverable tax, which no posting holds, and say whose they are.
func (j *journal) charges() error {
	return everyRow(j, func(row store.Row, c book.Charge) error {
		j.charged[row.Since] = append(j.charged[row.Since], c)
		if _, known := j.about[row.Since]; !known {
			j.about[row.Since] = about{c.Code, c.Party}
		}
		if c.Foreign != nil {
			j.bill(row.Since, booking{account: config.Payables, document: c.Code, party: c.Party},
				c.Foreign.Amount.Add(foreignTax(c)), c.Foreign.Rate)
			j.bill(row.Since, booking{account: config.TaxReceivable, document: c.Code, party: c.Party}, foreignTax(c),
				c.Foreign.Rate)
		}
		j.add(row.Since, booking{config.TaxReceivable, "", c.Code, c.Party, c.Tax},
			booking{config.Payables, "", c.Code, c.Party, c.Tax.Neg()})
		return nil
	})
}

// others say what further entries are about: purchases, and what came back on
// papers.
func (j *journal) others() error {
	err := everyRow(j, func(row store.Row, p book.Parcel) error {
		if p.Opening {
			j.opening[p.Code] = true
		}
		for _, entry := range []string{row.Since, row.Entry} { // an offer is bought by a later one
			if _, known := j.about[entry]; !known {
				j.about[entry] = about{p.Code, p.Vendor}
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	return everyRow(j, func(row store.Row, b book.Batch) error {
		if _, known := j.about[row.Since]; !known {
			j.about[row.Since] = about{b.RecordKey(), b.Party}
		}
		return nil
	})
}

// each calls f for every entry of a time that moves cost or money.
func (j *journal) each(from, to book.Date, f func(ledger.Entry, []booking)) error {
	const page = 500
	for after := int64(0); ; {
		entries, err := j.tx.Entries(j.ctx, store.EntryFilter{After: after, Limit: page})
		if err != nil {
			return err
		}
		for _, e := range entries {
			after = e.Sequence
			if e.PostedOn < from || to != "" && e.PostedOn > to {
				continue
			}
			lines, err := j.bookings(e)
			if err != nil {
				return err
			}
			f(e, lines)
		}
		if len(entries) < page {
			return nil
		}
	}
}

// bookings are the lines of one entry: debits first, one line for each account,
// tax, document and party. Those of a reversal are those of what it reverses,
// negated.
func (j *journal) bookings(e ledger.Entry) ([]booking, error) {
	of, sign := e, 1
	if e.Reverses != "" {
		var err error
		if of, err = desk.EntryNamed(j.ctx, j.tx, e.Reverses); err != nil {
			return nil, err
		}
		sign = -1
	}
	bought, err := j.bought(of)
	if err != nil {
		return nil, err
	}
	var lines []booking
	as := claimedAs(of.Postings)
	for i, p := range of.Postings {
		if !p.Cost.IsZero() {
			lines = append(lines, j.posted(of.Code, p, bought, as[i]))
		}
	}
	var out []booking
	sum := j.zero
	for _, b := range append(lines, j.money[of.Code]...) {
		b.account = j.config.Account(b.account)
		if sign < 0 {
			b.amount = b.amount.Neg()
		}
		sum = sum.Add(b.amount)
		i := slices.IndexFunc(out, func(x booking) bool {
			return x.account == b.account && x.tax == b.tax && x.document == b.document && x.party == b.party
		})
		if i < 0 {
			out = append(out, b)
			continue
		}
		out[i].amount = out[i].amount.Add(b.amount)
	}
	if !sum.IsZero() {
		return nil, fmt.Errorf("journal of %s: debit less credit is %s", e.Code, sum)
	}
	out = slices.DeleteFunc(out, func(b booking) bool { return b.amount.IsZero() })
	slices.SortStableFunc(out, func(a, b booking) int { return cmp.Compare(b.amount.Sign(), a.amount.Sign()) })
	return out, nil
}

// boughtLot is a lot that an entry bought.
type boughtLot struct {
	book.Lot        // as that entry wrote it
	document string // what its vendor is paid for: its parcel, or the lot when it was bought alone
}

// bought are the lots that an entry bought, by their folded code, and notes what they
// cost in the currency of the purchase. The entry's own records say so, so that
// neither the number of a list's entries nor a later change of a record matters.
func (j *journal) bought(e ledger.Entry) (map[string]boughtLot, error) {
	out := map[string]boughtLot{}
	isBought := func(p ledger.Posting) bool { return p.Place.Kind() == book.AtVendor && p.Cost.Sign() < 0 }
	if !slices.ContainsFunc(e.Postings, isBought) {
		return out, nil
	}
	wrote, err := recordsOf(j.ctx, j.tx, e)
	if err != nil {
		return nil, err
	}
	alone := map[string]bool{} // by parcel
	for _, w := range wrote {
		if w.Kind != book.KindLot {
			continue
		}
		lot, err := decoded[book.Lot](w)
		if err != nil {
			return nil, err
		}
		if _, known := alone[lot.Parcel]; !known {
			if alone[lot.Parcel], err = boughtAlone(j.ctx, j.tx, lot, e); err != nil {
				return nil, err
			}
		}
		x := boughtLot{lot, lot.Parcel}
		if alone[lot.Parcel] {
			x.document = lot.Code
		}
		out[strings.ToLower(lot.Code)] = x
	}
	if j.noted[e.Code] {
		return out, nil
	}
	j.noted[e.Code] = true
	for _, p := range e.Postings {
		if x := out[strings.ToLower(p.Lot)]; isBought(p) && x.Foreign != nil {
			j.bill(e.Code, booking{account: config.Payables, document: x.document, party: p.Place.Name()},
				x.Foreign.Amount, x.Foreign.Rate)
		}
	}
	return out, nil
}

// posted is the line of a posting: its account, what it is about, and the party that
// it is with; claimed is the lot that it is claimed as.
func (j *journal) posted(entry string, p ledger.Posting, bought map[string]boughtLot, claimed string) booking {
	b := booking{document: j.about[entry].document, amount: p.Cost}
	b.account, b.party = j.accountAt(entry, p.Place)
	x, isBought := bought[strings.ToLower(p.Lot)]
	switch {
	case p.Place.Kind() == book.AtVendor && isBought:
		b.document = x.document
		if j.opening[x.document] {
			b.account = config.Opening
		}
	case b.document == "" && isBought:
		b.document = x.document
	}
	for _, c := range j.claimed[entry] {
		if claimed != "" && strings.EqualFold(c.Lot, claimed) {
			b.document, b.party = c.Number, c.Party
		}
	}
	for _, c := range j.charged[entry] { // an entry may have several, each of its own lot and kind
		if p.Place.Kind() == book.AtVendor && j.opening[c.Parcel] { // a rebate on what the dealer began with
			b.account = config.Opening
		}
		if p.Place == book.PlaceOf(book.AtCharge, c.Kind) && (c.Lot == "" || strings.EqualFold(c.Lot, p.Lot)) {
			b.document, b.party = c.Code, c.Party
		}
	}
	return b
}

// accountAt is the account of a place, and the party that it is with.
func (j *journal) accountAt(entry string, p book.Place) (account, party string) {
	switch p.Kind() {
	case book.AtVendor:
		return config.Payables, p.Name()
	case book.AtCustomer:
		return config.CostOfSales, p.Name()
	case book.AtPaper, book.AtCutter, book.AtSetter, book.AtMemo:
		return config.GoodsOut, ""
	case "loss":
		return config.Losses, ""
	case book.AtCharge:
		switch p {
		case book.ChargeVariance:
			return config.ChargeVariance, ""
		case chargedClaim:
			return config.Claims, j.about[entry].party
		case chargedDown:
			return config.WriteDowns, ""
		}
		return config.Payables, j.about[entry].party
	}
	return config.Inventory, ""
}
