package stockroom

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/costing"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/intake"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// ParcelImport asks to take a vendor's list into the book.
type ParcelImport struct {
	desk.Write
	Label    string       // the dealer's own name for the parcel
	Vendor   string       // who sells or lends it
	Customer string       // instead of a vendor: whose own stones come into custody
	Offer    bool         // only an offer: nothing moves
	Currency num.Currency // of the invoice; empty: the file's column says it, else the book's
	Rate     num.Rate     // book units per invoice unit; zero: the book's newest
	Due      book.Date    // of lots on memo in
	Office   book.Place   // the safe that they come to; empty: that of the first office
	File     desk.Input
	Stones   *desk.Input // single stones, when they stand in a file of their own
}

// ParcelImport reads a vendor's list and writes it as a parcel: every lot with
// its pieces, weight and cost comes in from the vendor. Nothing is written
// when any row has a fault: the list is parsed while the first of it is already
// being written, so that its lots are not all held at once, and a fault takes
// all of it back. A list in another currency is read twice, first for the amounts
// alone, because an invoice is converted as a whole. The file's bytes are read before
// the book is opened for writing.
func (room *Room) ParcelImport(ctx context.Context, r ParcelImport) (answer.ParcelImported, error) {
	out := answer.ParcelImported{Warnings: fault.List{}, Lots: []string{}}
	if f := r.checkParty(); f != nil {
		return out, f
	}
	file, err := r.File.Load()
	if err != nil {
		return out, err
	}
	if r.Stones, err = r.Stones.Load(); err != nil {
		return out, err
	}
	r.File = *file
	err = room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		party, err := desk.PartyOf(ctx, tx, "a vendor", cmp.Or(r.Customer, r.Vendor))
		if err != nil {
			return err
		}
		n, err := tx.Next(ctx, string(book.KindParcel))
		if err != nil {
			return err
		}
		rates, err := desk.LoadRates(ctx, tx, room.desk.Today(tx, s.On))
		if err != nil {
			return err
		}
		out = answer.ParcelImported{Warnings: fault.List{}, Lots: []string{}}
		cfg, err := config.Load(ctx, tx)
		if err != nil {
			return err
		}
		home, err := newGoods(cfg, r.Office)
		if err != nil {
			return err
		}
		w := parcelWriter{ctx: ctx, tx: tx, stamp: s, due: r.Due, currency: tx.Meta().Currency, home: home}
		w.parcel = book.Parcel{Code: fmt.Sprintf("P%d", n), Label: r.Label, Kind: book.Purchase, Vendor: party,
			On: s.On, Source: r.File.Name}
		if r.Offer {
			w.parcel.Kind = book.OfferOnly
		}
		head := intake.Head{Book: w.currency, Currency: r.Currency, RateOf: r.rateOf(rates)}
		if r.Customer != "" {
			head.Owner, w.parcel.Kind = book.OfCustomer(party), book.Custody
		}
		if r.Currency != w.currency {
			if err := w.convert(r.amounts(ctx, head)); err != nil {
				return err
			}
		}
		parcel, faults, err := r.stream(ctx, head, w.take)
		if faults.Blocks() {
			return faults
		}
		if err != nil {
			return err
		}
		out.Warnings = append(out.Warnings, faults...)
		return w.finish(parcel, &out)
	})
	return out, err
}

// checkParty refuses a parcel that is of nobody, or of two.
func (r *ParcelImport) checkParty() *fault.Fault {
	switch {
	case r.Customer == "":
		f := book.CheckName("a vendor", r.Vendor)
		if f != nil {
			f.Kind = fault.Usage
			f = f.AtField("vendor")
		}
		return f
	case r.Vendor != "" || r.Offer || r.Due != "":
		return fault.New(fault.Usage, "custody-vendor", "a customer's own stones come from nobody else: they are not "+
			"bought, offered or lent", "give the customer alone").AtField("customer")
	}
	f := book.CheckName("a customer", r.Customer)
	if f != nil {
		f.Kind = fault.Usage
		f = f.AtField("customer")
	}
	return f
}

// stream reads the list beside take, which is given its lots in batches. An
// error of take ends the reading.
func (r *ParcelImport) stream(ctx context.Context, head intake.Head, take func([]intake.Lot) error) (intake.Parcel,
	fault.List, error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	batches := make(chan []intake.Lot, 2)
	var parcel intake.Parcel
	var faults fault.List
	send := func(lots []intake.Lot) {
		select {
		case batches <- lots:
		case <-ctx.Done():
		}
	}
	head.Each = send
	go func() {
		defer close(batches)
		parcel, faults = r.read(head)
		for lots := parcel.Lots; len(lots) > 0 && !faults.Blocks(); {
			n := min(len(lots), intake.Batch)
			send(lots[:n])
			lots = lots[n:]
		}
	}()
	var failed error
	for lots := range batches {
		if failed == nil {
			if failed = take(lots); failed != nil {
				cancel()
			}
		}
	}
	return parcel, faults, failed
}

// rateOf answers intake's question for a rate: the command line's, else the
// book's newest.
func (r *ParcelImport) rateOf(card costing.RateCard) func(num.Currency) (num.Rate, *fault.Fault) {
	return func(c num.Currency) (num.Rate, *fault.Fault) {
		if r.Rate != (num.Rate{}) {
			return r.Rate, nil
		}
		rate, ok, f := card.FX(c)
		if !ok && f == nil {
			f = fault.New(fault.Invalid, "rate-missing",
				fmt.Sprintf("prices are in %s and the book is in %s, but the book has no rate of %s or before", c,
					card.Currency, card.On),
				fmt.Sprintf("give the rate, the %s for one %s, or import rates first", card.Currency,
					c)).AtField("rate")
		}
		return rate, f
	}
}

func (r *ParcelImport) read(head intake.Head) (intake.Parcel, fault.List) {
	f, faults := r.File.Open()
	if faults.Blocks() {
		return intake.Parcel{}, faults
	}
	if r.Stones == nil {
		return intake.ReadParcel(f, nil, head)
	}
	stones, faults := r.Stones.Open()
	if faults.Blocks() {
		return intake.Parcel{}, faults
	}
	return intake.ReadParcel(f, stones, head)
}

type parcelWriter struct {
	ctx      context.Context
	tx       store.Tx
	stamp    desk.Stamp
	parcel   book.Parcel
	due      book.Date
	currency num.Currency
	home     book.Place   // where its stones come
	entry    ledger.Entry // being built
	ready    *readyEntry  // built, not yet posted
	posted   []string
	codes    []string
	number   int
	taken    map[string]bool
	own      bool        // the entry holds a lot of the dealer's own
	parts    []num.Money // of the invoice in another currency, for the lots that are still to come
	warnings fault.List
	offered  []book.SuppliedLot    // of a parcel that is only on offer
	invoiced num.Money             // of the own lots so far, in the invoice's currency
	booked   num.Money             // the same, in the book's
	received []answer.ReceiptStone // customers' own stones
	customer string                // whose they are
	mixed    bool                  // not all lots are one customer's own
}

// readyEntry is a built entry whose records are put into their canonical form
// while the one before it is written.
type readyEntry struct {
	entry ledger.Entry
	done  chan error
}

// take builds one entry from a batch of lots.
func (w *parcelWriter) take(lots []intake.Lot) error {
	if err := w.findTaken(lots); err != nil {
		return err
	}
	for i := range lots {
		w.lot(&lots[i])
	}
	return w.close()
}

// close ends the entry that is being built and posts the one before it.
func (w *parcelWriter) close() error {
	if len(w.entry.Records) == 0 {
		return nil
	}
	e := w.stamp.Entry(ledger.Buy, "bought "+w.parcel.Code+" from "+w.parcel.Vendor)
	switch {
	case w.parcel.Kind == book.OfferOnly:
		e = w.stamp.Entry(ledger.Record, "offered: "+w.parcel.Code+" by "+w.parcel.Vendor)
	case w.parcel.Kind == book.Custody:
		e = w.stamp.Entry(ledger.MemoIn, "into custody: "+w.parcel.Code+" of "+w.parcel.Vendor)
	case !w.own:
		e = w.stamp.Entry(ledger.MemoIn, "on memo in: "+w.parcel.Code+" from "+w.parcel.Vendor)
	}
	e.Records, e.Postings = w.entry.Records, w.entry.Postings
	w.entry, w.own = ledger.Entry{}, false
	next := &readyEntry{e, make(chan error, 1)}
	go func() { next.done <- store.Prepare(next.entry.Records) }()
	err := w.post()
	w.ready = next
	return err
}

// post writes the entry that is ready.
func (w *parcelWriter) post() error {
	if w.ready == nil {
		return nil
	}
	r := w.ready
	w.ready = nil
	if err := <-r.done; err != nil {
		return err
	}
	if err := w.tx.Post(w.ctx, &r.entry); err != nil {
		return err
	}
	w.posted = append(w.posted, r.entry.Code)
	return nil
}

// finish writes the parcel itself with the last entry: only now its sums are
// known.
func (w *parcelWriter) finish(in intake.Parcel, out *answer.ParcelImported) error {
	p := &w.parcel
	p.Currency, p.Rate, p.Lots, p.Pieces, p.Carats, p.Price = in.Currency, in.Rate, in.Count, in.Pieces,
		in.Carats, num.Zero(w.currency).Add(w.booked)
	p.Invoice = w.invoiced
	if p.Kind == book.Purchase && in.Owned == 0 && in.Count > 0 {
		p.Kind = book.MemoIn
		if !w.mixed {
			p.Kind = book.Custody
		}
	}
	if w.ready != nil {
		if err := <-w.ready.done; err != nil {
			return err
		}
		w.ready.entry.Records = append(w.ready.entry.Records, *p)
		if p.Kind == book.OfferOnly {
			w.ready.entry.Records = append(w.ready.entry.Records, book.Offer{Parcel: p.Code, Number: 1, Party: p.Vendor,
				Side: "ask", Total: p.Price, On: p.On, Note: "the vendor's list", Lots: w.offered})
		}
		if p.Kind == book.Custody {
			if err := w.custodyReceipt(out); err != nil {
				return err
			}
		}
		w.ready.done <- nil
	}
	if err := w.post(); err != nil {
		return err
	}
	out.Parcel, out.Entries = *p, w.posted
	out.Lots = append(out.Lots, w.codes...)
	out.Warnings = append(out.Warnings, w.warnings...)
	return nil
}

// custodyReceipt issues the receipt for a customer's own stones with the last
// entry.
func (w *parcelWriter) custodyReceipt(out *answer.ParcelImported) error {
	m, err := newMover(w.ctx, w.tx, w.stamp, Movement{}, &w.ready.entry)
	if err != nil {
		return err
	}
	for i := range w.received {
		w.received[i].Weight = w.received[i].Carats.Stated(m.config.CaratRule)
	}
	receipt := &answer.Receipt{Way: answer.TakenIn, Party: w.customer, Still: []answer.PaperStone{},
		Lines: w.received, Note: w.parcel.Label}
	out.Document, err = m.paper(w.ctx, w.stamp, "RECEIPT", "Stones taken into custody from "+w.customer, receipt)
	return err
}

// findTaken asks the book which of the papers' codes it has already.
func (w *parcelWriter) findTaken(lots []intake.Lot) error {
	keys := make([]string, 0, len(lots))
	for i := range lots {
		if lots[i].Label != "" {
			keys = append(keys, lots[i].Label)
		}
	}
	known, err := w.tx.Known(w.ctx, book.KindLot, keys)
	if w.taken == nil {
		w.taken = known
	}
	for k := range known {
		w.taken[k] = true
	}
	return err
}

// code is the lot's code in the book: the one on the paper when no other lot
// has it, else the next number of the parcel.
func (w *parcelWriter) code(label string) string {
	w.number++
	numbered := fmt.Sprintf("%s-%d", w.parcel.Code, w.number)
	if label == "" || book.CheckCode("a lot's", label) != nil {
		return numbered
	}
	key := strings.ToLower(label)
	if w.taken[key] {
		w.warnings.Add(fault.New(fault.Conflict, "lot-code-taken",
			fmt.Sprintf("the book has a lot %q already: this one is %s", label, numbered),
			"use the new code for it").AtRef(numbered).AsWarning())
		return numbered
	}
	w.taken[key] = true
	return label
}

// lot adds one lot, its single stones as lots of their own.
func (w *parcelWriter) lot(in *intake.Lot) {
	l := in.Lot
	l.Code = w.code(in.Label)
	l.Parcel = w.parcel.Code
	if !l.Owner.IsOwn() {
		l.Due = w.due
	}
	pieces, carats, price := in.Pieces, in.Carats, in.Agreed
	if price.Currency() == "" {
		price = num.Zero(w.currency)
	}
	if invoicedAbroad(in) {
		price, w.parts = w.parts[0], w.parts[1:]
		shareStones(in, price)
	} else if l.Owner.IsOwn() && !price.IsZero() {
		w.invoiced, w.booked = w.invoiced.Add(price), w.booked.Add(price)
	}
	if l.Owner.IsOwn() {
		l.Agreed = price
	}
	prices := stonePrices(price, in)
	foreign := stoneForeign(l, prices)
	for i, s := range in.Stones {
		one := partOf(l, s.Lot)
		one.Code = fmt.Sprintf("%s.%d", l.Code, i+1)
		one.Label, one.Stone, one.Parent = s.Label, cmp.Or(s.Stone, s.Label), l.Code
		one.Agreed, one.Foreign, one.Note = prices[i], foreign[i], s.Note
		w.add(one, 1, s.Carats, prices[i])
		pieces--
		carats -= s.Carats
		price = price.Sub(prices[i])
	}
	if pieces > 0 {
		l.Agreed, l.Foreign = price, foreign[len(foreign)-1]
		w.add(l, pieces, carats, price)
		return
	}
	w.entry.Records = append(w.entry.Records, l) // its stones are lots of their own
	w.codes = append(w.codes, l.Code)
}

// amounts reads the list for what its own lots cost in another currency, in the order
// of the list, and the rate.
func (r *ParcelImport) amounts(ctx context.Context, head intake.Head) ([]num.Money, num.Rate, error) {
	var out []num.Money
	parcel, faults, err := r.stream(ctx, head, func(lots []intake.Lot) error {
		for i := range lots {
			if invoicedAbroad(&lots[i]) {
				out = append(out, lots[i].Foreign.Amount)
			}
		}
		return nil
	})
	if faults.Blocks() {
		return nil, num.Rate{}, faults
	}
	return out, parcel.Rate, err
}

// invoicedAbroad reports whether a lot is bought at a price in another currency.
func invoicedAbroad(l *intake.Lot) bool { return l.Owner.IsOwn() && l.Foreign != nil }

// convert converts what an invoice says in another currency once, as a whole (IAS
// 21.21: the amount of the transaction, at its day's rate), and shares it over its lots
// by largest remainder.
func (w *parcelWriter) convert(amounts []num.Money, rate num.Rate, err error) error {
	if err != nil || len(amounts) == 0 {
		return err
	}
	weights := make([]num.Dec, len(amounts))
	for i, m := range amounts {
		w.invoiced = w.invoiced.Add(m)
		weights[i] = m.Dec()
	}
	w.booked = w.invoiced.Convert(rate, w.currency, num.HalfUp)
	w.parts = w.booked.Share(weights)
	return nil
}

// shareStones shares a lot's price over its stones that have prices of their own.
func shareStones(in *intake.Lot, price num.Money) {
	weights := make([]num.Dec, len(in.Stones))
	priced := false
	for i, s := range in.Stones {
		if s.Foreign != nil {
			weights[i], priced = s.Foreign.Amount.Dec(), true
		}
	}
	if !priced {
		return
	}
	for i, part := range price.Share(weights) {
		in.Stones[i].Agreed = part
	}
}

// stoneForeign is the agreed price of a lent lot in the lender's currency, shared
// over its listed stones and the rest of it, last, as their prices are.
func stoneForeign(l book.Lot, prices []num.Money) []*book.ForeignPrice {
	out := make([]*book.ForeignPrice, len(prices)+1)
	out[len(prices)] = l.Foreign
	if l.Foreign == nil || l.Owner.Lender() == "" || len(prices) == 0 {
		return out
	}
	rest := l.Agreed
	weights := make([]num.Dec, len(prices)+1)
	for i, p := range prices {
		weights[i] = p.Dec()
		rest = rest.Sub(p)
	}
	weights[len(prices)] = rest.Dec()
	for i, m := range l.Foreign.Amount.Share(weights) {
		out[i] = &book.ForeignPrice{Amount: m, Rate: l.Foreign.Rate}
	}
	return out
}

// stonePrices are the stones' own prices, or the lot's price shared by weight
// over its listed stones and, when there are more, the rest of its weight.
func stonePrices(price num.Money, in *intake.Lot) []num.Money {
	out := make([]num.Money, len(in.Stones))
	own := false
	rest := in.Carats
	weights := make([]num.Dec, len(in.Stones), len(in.Stones)+1)
	for i, s := range in.Stones {
		out[i] = s.Agreed
		own = own || !s.Agreed.IsZero()
		weights[i] = s.Carats.Dec()
		rest -= s.Carats
	}
	if own || len(in.Stones) == 0 {
		return out
	}
	if in.Pieces > int64(len(in.Stones)) && rest > 0 {
		weights = append(weights, rest.Dec())
	}
	return price.Share(weights)[:len(in.Stones)]
}

// add puts a lot and its coming in into the entry. A parcel on offer moves
// nothing; a lot of others comes in at no cost.
func (w *parcelWriter) add(l book.Lot, pieces int64, carats num.Carat, price num.Money) {
	w.entry.Records = append(w.entry.Records, l)
	w.codes = append(w.codes, l.Code)
	if w.parcel.Kind == book.OfferOnly {
		w.offered = append(w.offered, book.SuppliedLot{Lot: l.Code, Pieces: pieces, Carats: carats})
		return
	}
	cost := num.Zero(w.currency)
	if l.Owner.IsOwn() {
		cost, w.own = price, true
	}
	from := book.PlaceOf(book.AtVendor, w.parcel.Vendor)
	if customer := l.Owner.Customer(); customer != "" {
		from = book.PlaceOf(book.AtCustomer, customer)
		w.mixed = w.mixed || w.customer != "" && w.customer != customer
		w.customer = customer
		w.received = append(w.received, answer.ReceiptStone{PaperStone: answer.PaperStoneOf(answer.Goods{Lot: l},
			book.Weighed{Pieces: pieces,
				Carats: carats}, ""), Outcome: "received", Note: l.Note})
	}
	w.mixed = w.mixed || l.Owner.Customer() == ""
	w.entry.Postings = append(w.entry.Postings, ledger.Move(l.Code, from, w.home, pieces, carats, cost)...)
}
