package desk

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// Paper is what stones left the safe on, whatever its kind.
type Paper struct {
	Number string
	Kind   book.Kind
	Party  string
	On     book.Date
	Due    book.Date
	Place  book.Place  // where its stones lie
	Old    bool        // they lie with the party's other old papers
	Sent   []book.Sent // what went out; of an old memo: what is still out
	Draft  bool        // an order that nobody has sent
	Void   bool        // the entry that wrote it was reversed
}

// PaperOf is the paper that a record is; false for other records.
func PaperOf(r book.Record) (Paper, bool) {
	switch r := r.(type) {
	case *book.Memo:
		p := Paper{Number: r.Number, Kind: book.KindMemo, Party: r.Party, On: r.On, Due: r.Due, Place: r.Place(),
			Old: r.At == "", Sent: r.Sent}
		if p.Old {
			p.Sent = sentOf(r.Lots)
		}
		return p, true
	case *book.Order:
		p := Paper{Number: r.Number, Kind: book.KindOrder, Party: r.Cutter, On: r.On, Due: r.Due, Place: r.Place(),
			Old: r.At == "", Draft: r.State == "draft"}
		for _, s := range r.Supplied {
			p.Sent = append(p.Sent, book.Sent{Lot: s.Lot, Pieces: s.Pieces, Carats: s.Carats})
		}
		if p.Old && r.State != "sent" {
			p.Sent = nil
		}
		return p, true
	case *book.Ticket:
		return Paper{Number: r.Number, Kind: book.KindTicket, Party: r.Party, On: r.On, Due: r.Due, Place: r.At,
			Sent: r.Sent}, true
	case *book.Transfer:
		return Paper{Number: r.Number, Kind: book.KindTransfer, On: r.On, Due: r.Due, Place: r.At, Sent: r.Sent}, true
	}
	return Paper{}, false
}

func sentOf(lots []book.SuppliedLot) []book.Sent {
	var out []book.Sent
	for _, l := range lots {
		out = append(out, book.Sent{Lot: l.Lot, Pieces: l.Pieces, Carats: l.Carats})
	}
	return out
}

// paperKinds are the kinds of records that are papers.
var paperKinds = []book.Kind{book.KindMemo, book.KindOrder, book.KindTicket, book.KindTransfer}

// EachPaper calls f for each paper that stones left the safe on and that the
// filter selects, by kind and number.
func EachPaper(ctx context.Context, tx store.ReadTx, filter store.RowFilter, f func(Paper) error) error {
	return Moment{}.EachPaper(ctx, tx, filter, f)
}

// EachPaper calls f for each paper of that moment: one that was written later is
// none of it, and one that was reversed later was not void. What else a paper says
// is today's.
func (m Moment) EachPaper(ctx context.Context, tx store.ReadTx, filter store.RowFilter, f func(Paper) error) error {
	reversed, err := tx.Reversals(ctx)
	if err != nil {
		return err
	}
	for _, k := range paperKinds {
		rows, err := tx.Rows(ctx, k, filter)
		if err != nil {
			return err
		}
		for _, row := range rows {
			had, err := m.Has(ctx, tx, row.Since)
			if err != nil {
				return err
			}
			if !had {
				continue
			}
			r, err := store.Decode(k, row.Key, row.Doc)
			if err != nil {
				return err
			}
			p, _ := PaperOf(r)
			if by := reversed[row.Since]; by != "" {
				if p.Void, err = m.Has(ctx, tx, by); err != nil {
					return err
				}
			}
			if err := f(p); err != nil {
				return err
			}
		}
	}
	return nil
}

// PaperNamed reads a paper by its number; that there is none, or that its entry
// was reversed, is a fault. noun is what its kind is called.
func PaperNamed(ctx context.Context, tx store.ReadTx, kind book.Kind, noun, number string) (Paper, error) {
	row, err := tx.Row(ctx, kind, number)
	if err != nil {
		return Paper{}, notFound(err, noun, number)
	}
	r, err := store.Decode(kind, row.Key, row.Doc)
	if err != nil {
		return Paper{}, err
	}
	p, _ := PaperOf(r)
	reversed, err := tx.Reversals(ctx)
	if err != nil {
		return p, err
	}
	if by := reversed[row.Since]; by != "" && !p.Old {
		return p, fault.New(fault.Refused, noun+"-void", fmt.Sprintf("%s %s is void: %s reversed it", noun, p.Number,
			by), "check the number").AtRef(p.Number).Do(noun, "list")
	}
	return p, nil
}

// OnPaper returns what a paper still holds.
func OnPaper(ctx context.Context, tx store.ReadTx, p Paper) ([]ledger.Balance, error) {
	return Moment{}.OnPaper(ctx, tx, p)
}

// OnPaper returns what a paper held at that moment.
func (m Moment) OnPaper(ctx context.Context, tx store.ReadTx, p Paper) ([]ledger.Balance, error) {
	held, err := m.lying(ctx, tx, p.Place)
	if err != nil || !p.Old {
		return held, err
	}
	var out []ledger.Balance
	for _, b := range held {
		if part := p.partOf(b); part.Pieces > 0 {
			out = append(out, part)
		}
	}
	return out, nil
}

// partOf is an old paper's part of what lies at its party's place, which all old
// papers of the party share: no more than its record says.
func (p Paper) partOf(b ledger.Balance) ledger.Balance {
	part := ledger.Balance{Lot: b.Lot, Place: b.Place, Cost: b.Cost}
	for _, s := range p.Sent {
		if strings.EqualFold(s.Lot, b.Lot) {
			part.Pieces, part.Carats = part.Pieces+s.Pieces, part.Carats+s.Carats
		}
	}
	if part.Pieces >= b.Pieces {
		return b
	}
	part.Carats = min(part.Carats, b.Carats)
	if cost, f := ledger.Take([]ledger.Balance{b}, b.Place, part.Pieces, part.Carats); f == nil {
		part.Cost = cost
	}
	return part
}

// paperCheck compares papers with what lies at their places.
type paperCheck struct {
	report   func(table, ref, what string)
	remark   func(what string)
	papers   map[string]Paper // by folded number
	expected map[ledger.Spot]ledger.Total
	old      map[ledger.Spot]ledger.Total
}

// CheckPapers compares every paper with what lies at its place: what went out
// less what its batches took off. What lies at the places of old papers is
// compared with all open papers of the party, and a rest is a remark.
func CheckPapers(ctx context.Context, tx store.ReadTx, report func(table, ref, what string),
	remark func(what string)) error {
	c := paperCheck{report, remark, map[string]Paper{}, map[ledger.Spot]ledger.Total{},
		map[ledger.Spot]ledger.Total{}}
	err := EachPaper(ctx, tx, store.RowFilter{}, func(p Paper) error {
		c.papers[strings.ToLower(p.Number)] = p
		if p.Void {
			return nil
		}
		for _, s := range p.Sent {
			c.expect(p, s.Lot, s.Pieces, s.Carats)
		}
		return nil
	})
	if err != nil {
		return err
	}
	if err := c.batches(ctx, tx); err != nil {
		return err
	}
	return c.compare(ctx, tx)
}

func (c *paperCheck) expect(p Paper, lot string, pieces int64, carats num.Carat) {
	to := c.expected
	if p.Old {
		to = c.old
	}
	at := ledger.Spot{Lot: strings.ToLower(lot), Place: p.Place}
	t := to[at]
	t.Pieces += pieces
	t.Carats += carats
	to[at] = t
}

// batches takes off what came back. The batches of an old paper are no part of
// it: an old memo's record says what is still out.
func (c *paperCheck) batches(ctx context.Context, tx store.ReadTx) error {
	reversed, err := tx.Reversals(ctx)
	if err != nil {
		return err
	}
	rows, err := tx.Rows(ctx, book.KindBatch, store.RowFilter{})
	if err != nil {
		return err
	}
	for _, row := range rows {
		r, err := store.Decode(book.KindBatch, row.Key, row.Doc)
		if err != nil {
			return err
		}
		b := r.(*book.Batch)
		p, known := c.papers[strings.ToLower(b.Paper)]
		switch {
		case reversed[row.Since] != "" || known && p.Old:
			continue
		case !known:
			c.report("papers", row.Key, "a batch of a paper that the book has not")
			continue
		case p.Void:
			c.report("papers", row.Key, "a batch that stands, of a paper that is void")
			continue
		case !strings.EqualFold(b.Party, p.Party):
			c.report("papers", row.Key, fmt.Sprintf("a batch of %s, but %s is with %s", b.Party, p.Number, p.Party))
		}
		for _, l := range b.Lines {
			c.expect(p, l.Lot, -l.Off.Pieces, -l.Off.Carats)
		}
	}
	return nil
}

// compare walks all that lies away from the safe.
func (c *paperCheck) compare(ctx context.Context, tx store.ReadTx) error {
	err := EachAway(ctx, tx, func(b ledger.Balance) error {
		at := ledger.Spot{Lot: strings.ToLower(b.Lot), Place: b.Place}
		switch b.Place.Kind() {
		case book.AtPaper:
			p, known := c.papers[strings.ToLower(b.Place.Name())]
			want, sent := c.expected[at]
			delete(c.expected, at)
			switch {
			case !known || p.Old:
				c.report("papers", string(b.Place), fmt.Sprintf("%s lies on a paper that the book has not", has(b)))
			case p.Void:
				c.report("papers", p.Number, fmt.Sprintf("%s lies on a paper that is void", has(b)))
			case p.Draft:
				c.report("papers", p.Number, fmt.Sprintf("%s lies on an order that was not sent", has(b)))
			case !sent:
				c.report("papers", p.Number, fmt.Sprintf("%s lies there and was never sent on it", has(b)))
			case want.Pieces != b.Pieces || want.Carats != b.Carats:
				c.report("papers", p.Number, fmt.Sprintf("%s lies there, but by what was sent and came back there "+
					"are %d pieces, %s ct", has(b), want.Pieces, want.Carats))
			}
		case book.AtMemo, book.AtCutter, book.AtSetter:
			want := c.old[at]
			delete(c.old, at)
			if rest := b.Pieces - want.Pieces; rest > 0 {
				c.remark(fmt.Sprintf("%s has %d pieces of %s that no open paper names", b.Place, rest, b.Lot))
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	left := slices.SortedFunc(maps.Keys(c.expected), func(a, b ledger.Spot) int {
		return cmp.Or(cmp.Compare(a.Place, b.Place), cmp.Compare(a.Lot, b.Lot))
	})
	for _, at := range left {
		want := c.expected[at]
		if want.Pieces != 0 || want.Carats != 0 {
			c.report("papers", at.Place.Name(), fmt.Sprintf("nothing of %s lies there, but by what was sent and came "+
				"back there are %d pieces, %s ct", at.Lot, want.Pieces, want.Carats))
		}
	}
	return nil
}

func has(b ledger.Balance) string {
	return fmt.Sprintf("%s (%d pieces, %s ct)", b.Lot, b.Pieces, b.Carats)
}

// EachAway calls f for all that lies away from the safe: on papers, in pieces,
// at the places of old papers, in other offices.
func EachAway(ctx context.Context, tx store.ReadTx, f func(ledger.Balance) error) error {
	filter := store.BalanceFilter{RealOnly: true, Limit: pageLots}
	for {
		page, err := tx.Balances(ctx, filter)
		if err != nil || len(page) == 0 {
			return err
		}
		for _, b := range page {
			if b.Place == book.Safe {
				continue
			}
			if err := f(b); err != nil {
				return err
			}
		}
		filter.AfterLot = page[len(page)-1].Lot
	}
}
