package app

import (
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/intake"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// ParcelImport asks to take a vendor's list into the book.
type ParcelImport struct {
	Write
	Label    string // the dealer's own name for the parcel
	Vendor   string
	Offer    bool         // only an offer: nothing moves
	Currency num.Currency // of the invoice; empty: the file's column says it, else the book's
	Rate     num.Rate     // book units per invoice unit; zero: the book's newest
	Due      book.Date    // of lots on memo in
	File     Input
	Stones   *Input // single stones, when they stand in a file of their own
}

// ParcelImported is what an import did.
type ParcelImported struct {
	Parcel   book.Parcel `json:"parcel"`
	Entries  []string    `json:"entries"`
	Lots     []string    `json:"lots"`
	Warnings fault.List  `json:"warnings"`
}

// lotsPerEntry bounds the size of one sealed entry.
const lotsPerEntry = 1000

// ParcelImport reads a vendor's list and writes it as a parcel: every lot with
// its pieces, weight and cost comes in from the vendor. Nothing is written
// when any row has a fault.
func (a *App) ParcelImport(ctx context.Context, r ParcelImport) (ParcelImported, error) {
	out := ParcelImported{Warnings: fault.List{}, Lots: []string{}}
	if f := book.CheckName("a vendor", r.Vendor); f != nil {
		f.Kind = fault.Usage
		return out, f.AtFlag("vendor")
	}
	var parcel intake.Parcel
	err := a.view(ctx, func(tx store.ReadTx) error {
		var rateErr error
		head := intake.Head{Book: tx.Meta().Currency, Currency: r.Currency, RateOf: r.rateOf(ctx, tx, a.today(tx, r.On), &rateErr)}
		var faults fault.List
		parcel, faults = r.read(head)
		if rateErr != nil {
			return rateErr
		}
		out.Warnings = append(out.Warnings, faults...)
		return faults.Err()
	})
	if err != nil {
		return out, err
	}
	return out, r.write(ctx, a, parcel, &out)
}

// rateOf answers intake's question for a rate: the command line's, else the
// book's newest.
func (r *ParcelImport) rateOf(ctx context.Context, tx store.ReadTx, on book.Date, failed *error) func(num.Currency) (num.Rate, *fault.Fault) {
	return func(c num.Currency) (num.Rate, *fault.Fault) {
		if r.Rate != (num.Rate{}) {
			return r.Rate, nil
		}
		rate, ok, err := fxRate(ctx, tx, c, on)
		if err != nil {
			*failed = err
		}
		if !ok {
			return rate, fault.New(fault.Invalid, "rate-missing", fmt.Sprintf("prices are in %s and the book is in %s, but the book has no rate of %s or before", c, tx.Meta().Currency, on),
				fmt.Sprintf("give --rate, the %s for one %s, or import rates first", tx.Meta().Currency, c)).AtFlag("rate")
		}
		return rate, nil
	}
}

func (r *ParcelImport) read(head intake.Head) (intake.Parcel, fault.List) {
	f, faults := r.File.open()
	if faults.Blocks() {
		return intake.Parcel{}, faults
	}
	if r.Stones == nil {
		return intake.ReadParcel(f, nil, head)
	}
	stones, faults := r.Stones.open()
	if faults.Blocks() {
		return intake.Parcel{}, faults
	}
	return intake.ReadParcel(f, stones, head)
}

// write posts the parcel, a thousand lots an entry, in one transaction.
func (r *ParcelImport) write(ctx context.Context, a *App, in intake.Parcel, out *ParcelImported) error {
	return a.update(ctx, r.Write, func(tx store.Tx, s stamp) error {
		n, err := tx.Next(ctx, string(book.KindParcel))
		if err != nil {
			return err
		}
		p := book.Parcel{
			Code: fmt.Sprintf("P%d", n), Label: r.Label, Kind: book.Purchase, Vendor: r.Vendor, On: s.on,
			Currency: in.Currency, Rate: in.Rate, Lots: len(in.Lots), Pieces: in.Pieces, Carats: in.Carats, Price: in.Price, Source: r.File.Name,
		}
		if r.Offer {
			p.Kind = book.OfferOnly
		} else if allMemo(in.Lots) {
			p.Kind = book.MemoIn
		}
		*out = ParcelImported{Parcel: p, Warnings: out.Warnings, Lots: []string{}}
		w := parcelWriter{ctx: ctx, tx: tx, parcel: p, due: r.Due, currency: tx.Meta().Currency}
		if err := w.know(in.Lots); err != nil {
			return err
		}
		w.start(s)
		for i := range in.Lots {
			w.lot(&in.Lots[i])
			if len(w.entry.Records) >= lotsPerEntry {
				if err := w.post(out); err != nil {
					return err
				}
				w.start(s)
			}
		}
		if p.Kind == book.OfferOnly { // the list is the vendor's first ask
			w.entry.Records = append(w.entry.Records, book.Offer{Parcel: p.Code, Number: 1, Party: p.Vendor, Side: "ask", Total: p.Price, On: s.on, Note: "the vendor's list", Lots: w.offered})
		}
		if len(w.entry.Records) > 0 {
			if err := w.post(out); err != nil {
				return err
			}
		}
		out.Lots = w.codes
		out.Warnings = append(out.Warnings, w.warnings...)
		return nil
	})
}

func allMemo(lots []intake.Lot) bool {
	for i := range lots {
		if lots[i].Owner.IsOwn() {
			return false
		}
	}
	return len(lots) > 0
}

type parcelWriter struct {
	ctx      context.Context
	tx       store.Tx
	parcel   book.Parcel
	due      book.Date
	currency num.Currency
	entry    ledger.Entry
	codes    []string
	number   int
	taken    map[string]bool
	warnings fault.List
	offered  []book.SuppliedLot // of a parcel that is only on offer
	begun    bool
}

func (w *parcelWriter) start(s stamp) {
	kind := ledger.Buy
	reason := "bought " + w.parcel.Code + " from " + w.parcel.Vendor
	switch w.parcel.Kind {
	case book.MemoIn:
		kind, reason = ledger.MemoIn, "on memo in: "+w.parcel.Code+" from "+w.parcel.Vendor
	case book.OfferOnly:
		kind, reason = ledger.Record, "offered: "+w.parcel.Code+" by "+w.parcel.Vendor
	}
	w.entry = s.entry(kind, reason)
	if !w.begun {
		w.entry.Records = append(w.entry.Records, w.parcel)
		w.begun = true
	}
}

func (w *parcelWriter) post(out *ParcelImported) error {
	if err := w.tx.Post(w.ctx, &w.entry); err != nil {
		return err
	}
	out.Entries = append(out.Entries, w.entry.Code)
	return nil
}

// know asks once which of the papers' codes the book has already.
func (w *parcelWriter) know(lots []intake.Lot) error {
	keys := make([]string, 0, len(lots))
	for i := range lots {
		if lots[i].Label != "" {
			keys = append(keys, lots[i].Label)
		}
	}
	var err error
	w.taken, err = w.tx.Known(w.ctx, book.KindLot, keys)
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
		w.warnings.Add(fault.New(fault.Conflict, "lot-code-taken", fmt.Sprintf("the book has a lot %q already: this one is %s", label, numbered), "use the new code for it").AtRef(numbered).AsWarning())
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
	prices := stonePrices(price, in)
	for i, s := range in.Stones {
		one := child(l, s.Lot)
		one.Code = fmt.Sprintf("%s.%d", l.Code, i+1)
		one.Label, one.Stone, one.Parent = s.Label, orThe(s.Stone, s.Label), l.Code
		one.Agreed, one.Note = prices[i], s.Note
		w.add(one, 1, s.Carats, prices[i])
		pieces--
		carats -= s.Carats
		price = price.Sub(prices[i])
	}
	if pieces > 0 {
		l.Agreed = price
		w.add(l, pieces, carats, price)
		return
	}
	w.entry.Records = append(w.entry.Records, l) // its stones are lots of their own
	w.codes = append(w.codes, l.Code)
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
		cost = price
	}
	w.entry.Postings = append(w.entry.Postings, ledger.Move(l.Code, book.PlaceOf(book.AtVendor, w.parcel.Vendor), book.Safe, pieces, carats, cost)...)
}
