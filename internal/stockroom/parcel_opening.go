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
	"lotpaper/internal/intake"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// ParcelOpening asks to take the stock that a dealer starts with into the book.
type ParcelOpening struct {
	desk.Write              // its day is the opening day
	Office     book.Place   // the safe that they come to; empty: that of the first office
	Currency   num.Currency // of the costs; empty: the file's column says it, else the book's
	Rate       num.Rate     // book units per unit of it; zero: the book's newest
	File       desk.Input
}

// ParcelOpening reads the stock that a dealer starts with: one entry a vendor on
// the opening day, and a parcel for each of the vendor's invoices, dated when it was
// bought. What is out then goes onto papers, in the same transaction. Nothing is
// written when any row has a fault.
func (room *Room) ParcelOpening(ctx context.Context, r ParcelOpening) (answer.Opening, error) {
	var out answer.Opening
	file, err := r.File.Load()
	if err != nil {
		return out, err
	}
	f, faults := file.Open()
	if faults.Blocks() {
		return out, faults
	}
	err = room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		cfg, err := config.Load(ctx, tx)
		if err != nil {
			return err
		}
		rates, err := desk.LoadRates(ctx, tx, s.On)
		if err != nil {
			return err
		}
		home, err := newGoods(cfg, r.Office)
		if err != nil {
			return err
		}
		price := ParcelImport{Rate: r.Rate}
		lots, sums, faults := intake.ReadOpening(f, intake.Head{Book: tx.Meta().Currency, Currency: r.Currency,
			RateOf: price.rateOf(rates)}, s.On)
		if faults.Blocks() {
			return faults
		}
		if err := spellParties(ctx, tx, lots); err != nil {
			return err
		}
		n, err := tx.Next(ctx, string(book.KindParcel))
		if err != nil {
			return err
		}
		out = answer.Opening{On: s.On, Lots: sums.Count, Pieces: sums.Pieces, Carats: sums.Carats,
			Cost:    num.Zero(tx.Meta().Currency),
			Parcels: []book.Parcel{}, Papers: []answer.OpeningPaper{}, Entries: []string{}, Warnings: fault.List{}}
		out.Warnings = append(out.Warnings, faults...)
		w := openingWriter{parcelWriter: parcelWriter{ctx: ctx, tx: tx, stamp: s, currency: tx.Meta().Currency,
			home: home}, file: r.File.Name, sums: sums, next: n, codes: map[int]string{}, out: &out}
		if err := w.vendors(lots); err != nil {
			return err
		}
		return w.papers(lots)
	})
	return out, err
}

// spellParties names vendors and parties as the book spells them, or what they are
// called today.
func spellParties(ctx context.Context, tx store.ReadTx, lots []intake.Opening) error {
	known := map[string]string{"": ""}
	for i := range lots {
		for _, name := range []*string{&lots[i].Vendor, &lots[i].Party} {
			key := strings.ToLower(*name)
			if _, asked := known[key]; !asked {
				spelled, err := desk.PartyOf(ctx, tx, "a party", *name)
				if err != nil {
					return err
				}
				known[key] = spelled
			}
			*name = known[key]
		}
	}
	return nil
}

// openingWriter writes opening stock, vendor by vendor.
type openingWriter struct {
	parcelWriter
	file  string
	sums  intake.Parcel
	next  int64          // number of the next parcel
	codes map[int]string // of the lots, by their row
	out   *answer.Opening
}

// vendors posts the lots: an entry for each vendor, in the order of the file.
func (w *openingWriter) vendors(lots []intake.Opening) error {
	plain := make([]intake.Lot, len(lots))
	for i := range lots {
		plain[i] = lots[i].Lot
	}
	if err := w.findTaken(plain); err != nil {
		return err
	}
	for _, vendor := range grouped(lots, func(o intake.Opening) string { return o.Vendor }) {
		parcels := grouped(vendor, func(o intake.Opening) string { return string(o.Bought) + " " + o.Invoice })
		for _, p := range parcels {
			if err := w.bought(p); err != nil {
				return err
			}
		}
		if err := w.flush(vendor[0].Vendor); err != nil {
			return err
		}
	}
	w.out.Warnings = append(w.out.Warnings, w.warnings...)
	return nil
}

// grouped returns rows in groups of one key, groups and rows in their order.
func grouped(rows []intake.Opening, key func(intake.Opening) string) [][]intake.Opening {
	var out [][]intake.Opening
	at := map[string]int{}
	for _, r := range rows {
		k := key(r)
		i, known := at[k]
		if !known {
			i = len(out)
			at[k] = i
			out = append(out, nil)
		}
		out[i] = append(out[i], r)
	}
	return out
}

// bought adds one parcel with its lots to the entry.
func (w *openingWriter) bought(lots []intake.Opening) error {
	first := lots[0]
	w.parcel = book.Parcel{Code: fmt.Sprintf("P%d", w.next), Kind: book.MemoIn, Vendor: first.Vendor, On: first.Bought,
		Currency: w.sums.Currency, Rate: w.sums.Rate, Lots: len(lots), Price: num.Zero(w.currency), Source: w.file,
		Opening: true, Note: "opening stock"}
	if first.Invoice != "" {
		w.parcel.Note = "opening stock; invoice " + first.Invoice
	}
	w.next++
	w.number = 0
	w.invoiced, w.booked = num.Zero(w.sums.Currency), num.Zero(w.currency)
	var amounts []num.Money
	for i := range lots {
		if l := &lots[i].Lot; invoicedAbroad(l) {
			amounts = append(amounts, l.Foreign.Amount)
		}
	}
	if err := w.convert(amounts, w.sums.Rate, nil); err != nil {
		return err
	}
	for _, l := range lots {
		w.due = ""
		if l.OutOn == "" {
			w.due = l.Due // of goods on memo in
		}
		w.lot(&l.Lot)
		w.codes[l.Row] = w.parcelWriter.codes[len(w.parcelWriter.codes)-1]
		w.parcel.Pieces += l.Pieces
		w.parcel.Carats += l.Carats
		if l.Owner.IsOwn() {
			w.parcel.Kind = book.Purchase
		}
		if len(w.entry.Records) == intake.Batch {
			if err := w.flush(first.Vendor); err != nil {
				return err
			}
		}
	}
	w.parcel.Price, w.parcel.Invoice = w.booked, w.invoiced
	w.out.Cost = w.out.Cost.Add(w.booked)
	w.entry.Records = append(w.entry.Records, w.parcel)
	w.out.Parcels = append(w.out.Parcels, w.parcel)
	return nil
}

// flush posts what is ready of a vendor.
func (w *openingWriter) flush(vendor string) error {
	if len(w.entry.Records) == 0 {
		return nil
	}
	e := w.stamp.Entry(ledger.Buy, "opening stock from "+vendor)
	if !w.own {
		e.Kind = ledger.MemoIn
	}
	e.Records, e.Postings = w.entry.Records, w.entry.Postings
	w.entry, w.own = ledger.Entry{}, false
	if err := w.tx.Post(w.ctx, &e); err != nil {
		return err
	}
	w.out.Entries = append(w.out.Entries, e.Code)
	return nil
}

// papers puts what is out onto papers: one for each kind, party and due date.
func (w *openingWriter) papers(lots []intake.Opening) error {
	outside := slices.DeleteFunc(slices.Clone(lots), func(o intake.Opening) bool { return o.OutOn == "" })
	for _, group := range grouped(outside, func(o intake.Opening) string {
		return o.OutOn + "/" + o.Party + "/" + string(o.Due)
	}) {
		if err := w.paper(group); err != nil {
			return err
		}
	}
	return nil
}

// paper writes one paper and moves its lots onto it.
func (w *openingWriter) paper(lots []intake.Opening) error {
	first := lots[0]
	kind, letter := book.KindMemo, "M"
	switch first.OutOn {
	case "work":
		kind, letter = book.KindWork, "W"
	case "order":
		kind, letter = book.KindOrder, "O"
	}
	n, err := w.tx.Next(w.ctx, string(kind))
	if err != nil {
		return err
	}
	number := fmt.Sprintf("%s%d", letter, n)
	e := w.stamp.Entry(ledger.Issue, "out at the opening on "+number+" to "+first.Party)
	m, err := newMover(w.ctx, w.tx, w.stamp, Movement{}, &e)
	if err != nil {
		return err
	}
	moving := make([]Moving, len(lots))
	for i, l := range lots {
		moving[i].Lot = w.codes[l.Row]
	}
	sent, err := m.carry(w.ctx, w.home, book.PaperPlace(number), moving...)
	if err != nil {
		return err
	}
	m.record(openingPaper(number, first, w.stamp.On, sent, lots))
	if err := w.tx.Post(w.ctx, &e); err != nil {
		return err
	}
	p := answer.OpeningPaper{Number: number, Party: first.Party, Due: first.Due, Lots: len(sent)}
	for _, s := range sent {
		p.Pieces += s.Pieces
		p.Carats += s.Carats
	}
	w.out.Papers, w.out.Entries = append(w.out.Papers, p), append(w.out.Entries, e.Code)
	return nil
}

// openingPaper is the record of a paper that stones were out on already.
func openingPaper(number string, first intake.Opening, on book.Date, sent []book.Sent,
	lots []intake.Opening) book.Record {
	const note = "opening stock"
	at := book.PaperPlace(number)
	switch first.OutOn {
	case "work":
		return book.Ticket{Number: number, Party: first.Party, On: on, Due: first.Due, At: at, Sent: sent, Note: note}
	case "memo":
		return book.Memo{Number: number, Party: first.Party, On: on, Due: first.Due, At: at, Sent: sent, Note: note}
	}
	o := book.Order{Number: number, Cutter: first.Party, State: "sent", On: on, Due: first.Due, At: at, Note: note,
		Breakage: "as agreed"}
	for i, s := range sent {
		l := lots[i]
		o.Lines = append(o.Lines, book.OrderLine{Species: []string{cmp.Or(l.Species, l.Claim)},
			WantedStone: book.WantedStone{
				Shape: l.Shape, Length: l.Length.Max, Width: l.Width.Max, Count: s.Pieces}, Why: note})
		o.Supplied = append(o.Supplied, book.Supply{SuppliedLot: book.SuppliedLot{Lot: s.Lot, Pieces: s.Pieces,
			Carats: s.Carats}, Item: book.ItemName(i)})
	}
	return o
}
