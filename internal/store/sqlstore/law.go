package sqlstore

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
)

// unreversed selects entries x that are neither reversals nor reversed. The plus
// keeps the engine from starting at all entries instead of at a lot's postings.
const unreversed = `+x.reverses IS NULL AND NOT EXISTS (SELECT 1 FROM entries r WHERE r.reverses = x.id)`

// checkNewLots refuses a lot's code that the book has for other stones. In a
// buy, memo in, sort or split, a lot that is written and gains pieces is a new
// one; and a lot never changes its parcel. The code is free again once every
// entry that touched its lot has been reversed.
func (w *writeTx) checkNewLots(ctx context.Context, d *draft) (fault.List, error) {
	suspects, err := w.suspects(ctx, d)
	if err != nil || len(suspects) == 0 {
		return nil, err
	}
	state := map[int64]bool{} // lot -> touched by an entry that stands
	var ids []int64
	for f := range suspects {
		ids = append(ids, d.lots[f].id)
	}
	err = in(ctx, w.readTx, ids, func(rows *sql.Rows) error {
		var id int64
		var stands bool
		err := rows.Scan(&id, &stands)
		state[id] = stands
		return err
	}, `SELECT p.lot_id, max(CASE WHEN `+unreversed+
		` THEN 1 ELSE 0 END) FROM postings p JOIN entries x ON x.id = p.entry_id
		WHERE p.lot_id IN %IN% GROUP BY p.lot_id`)
	if err != nil {
		return nil, err
	}
	var l fault.List
	for _, r := range d.records {
		f := r.name.key
		if r.kind != book.KindLot || suspects[f] == "" {
			continue
		}
		stands, touched := state[d.lots[f].id]
		if stands || !touched && suspects[f] == otherParcel {
			l.Add(fault.New(fault.Refused, "lot-exists", fmt.Sprintf("the book has a lot %s already", d.lots[f].code),
				"give the new lot another code, or leave the code out to get the next number").AtRef(r.key))
		}
	}
	return l, nil
}

// Why the code of a written lot may be that of another lot.
const (
	gainsPieces = "gains pieces"
	otherParcel = "other parcel"
)

// suspects returns the folded codes of known lots that the entry writes as if
// they were new.
func (w *writeTx) suspects(ctx context.Context, d *draft) (map[string]string, error) {
	known := map[string]string{} // folded code -> parcel now written
	for i, r := range d.records {
		if r.kind == book.KindLot && d.current[i].newest != 0 {
			known[r.name.key] = parcelOf(r.doc)
		}
	}
	if len(known) == 0 {
		return nil, nil
	}
	out := map[string]string{}
	folds := make([]string, 0, len(known))
	for f := range known {
		folds = append(folds, f)
	}
	err := in(ctx, w.readTx, folds, func(rows *sql.Rows) error {
		var f string
		var doc []byte
		if err := rows.Scan(&f, &doc); err != nil {
			return err
		}
		if parcelOf(doc) != known[f] {
			out[f] = otherParcel
		}
		return nil
	},
		`SELECT c.key, v.doc FROM current_versions c JOIN records v ON v.id = c.version_id
			WHERE c.kind = $1 AND c.key IN %IN%`, string(book.KindLot))
	if err != nil {
		return nil, err
	}
	switch d.entry.Kind {
	case ledger.Buy, ledger.MemoIn, ledger.Sort, ledger.Split:
		gain := map[string]int64{}
		for _, p := range d.entry.Postings {
			if p.Place.IsReal() {
				gain[fold(p.Lot)] += p.Pieces
			}
		}
		for f := range known {
			if gain[f] > 0 && out[f] == "" {
				out[f] = gainsPieces
			}
		}
	}
	return out, nil
}

func parcelOf(doc []byte) string {
	var lot struct {
		Parcel string `json:"parcel"`
	}
	if json.Unmarshal(doc, &lot) != nil { // only JSON is written
		return ""
	}
	return lot.Parcel
}

// touchedIDs are the ids of the lots that the entry touches and that the book
// had before.
func (d *draft) touchedIDs() []int64 {
	ids := make([]int64, len(d.touched))
	for i, x := range d.touched {
		ids[i] = x.id
	}
	return ids
}

// checkDates refuses an entry that is dated before the last entry of a lot that
// it touches: cost follows the order of entries. A reversal may be dated as the
// entry that it reverses, or later, where no day since then has less than nothing
// for it. What was reversed on its own day has no date: it cancels out on every day.
func (w *writeTx) checkDates(ctx context.Context, d *draft) (fault.List, error) {
	if d.entry.Kind == ledger.Reverse && d.entry.PostedOn < d.reversed.PostedOn {
		var l fault.List
		l.Add(fault.New(fault.Refused, "entry-too-early",
			fmt.Sprintf("the reversal is dated %s, but %s, which it reverses, is dated %s", d.entry.PostedOn,
				d.reversed.Code,
				d.reversed.PostedOn), "date it "+string(d.reversed.PostedOn)+" or later").AtRef(d.reversed.Code))
		return l, nil
	}
	last, err := w.laterEntries(ctx, d)
	if err != nil || len(last) == 0 {
		return nil, err
	}
	if d.entry.Kind == ledger.Reverse {
		return w.checkDays(ctx, d, last)
	}
	var l fault.List
	for _, x := range d.touched {
		if e, isLater := last[x.id]; isLater {
			l.Add(fault.New(fault.Refused, "entry-too-early",
				fmt.Sprintf("the entry is dated %s, but lot %s was last touched on %s by %s", d.entry.PostedOn, x.code,
					e.PostedOn, e.Code), "date it "+string(e.PostedOn)+" or later").AtRef(x.code))
		}
	}
	return l, nil
}

// laterEntries finds, of each lot that the entry touches, the entry with the last
// date, when that is later than the entry's. Only its code and date are read.
func (w *writeTx) laterEntries(ctx context.Context, d *draft) (map[int64]ledger.Entry, error) {
	last := map[int64]ledger.Entry{}
	err := in(ctx, w.readTx, d.touchedIDs(), func(rows *sql.Rows) error {
		var lot, id int64
		var on book.Date
		err := rows.Scan(&lot, &id, &on)
		if on >= last[lot].PostedOn {
			last[lot] = ledger.Entry{Code: ledger.Code(id), PostedOn: on}
		}
		return err
	}, `SELECT p.lot_id, x.id, x.posted_on FROM postings p JOIN entries x ON x.id = p.entry_id
		WHERE x.posted_on > $1 AND p.lot_id IN %IN%
			AND NOT EXISTS (SELECT 1 FROM entries r WHERE r.reverses = x.id AND r.posted_on = x.posted_on)
			AND NOT EXISTS (SELECT 1 FROM entries r WHERE r.id = x.reverses AND r.posted_on = x.posted_on)
		ORDER BY x.id`, string(d.entry.PostedOn))
	return last, err
}

// checkDays refuses a reversal by whose date a real place would have had less
// than nothing on a day since then. last are the lots' last entries.
func (w *writeTx) checkDays(ctx context.Context, d *draft, last map[int64]ledger.Entry) (fault.List, error) {
	type dated struct {
		on book.Date
		ledger.Posting
	}
	var all []dated
	err := in(ctx, w.readTx, d.touchedIDs(), func(rows *sql.Rows) error {
		var on book.Date
		var p ledger.Posting
		var carats, cost int64
		err := rows.Scan(&on, &p.Lot, &p.Place, &p.Pieces, &carats, &cost)
		p.Carats, p.Cost = num.Carat(carats), num.Micros(cost, w.store.meta.Currency)
		all = append(all, dated{on, p})
		return err
	}, `SELECT x.posted_on, l.key, p.place, p.pieces, p.carats, p.cost FROM postings p
		JOIN entries x ON x.id = p.entry_id JOIN records l ON l.id = p.lot_id WHERE p.lot_id IN %IN%`)
	if err != nil {
		return nil, err
	}
	for _, p := range d.entry.Postings {
		all = append(all, dated{d.entry.PostedOn, p})
	}
	slices.SortStableFunc(all, func(a, b dated) int { return strings.Compare(string(a.on), string(b.on)) })
	held := map[ledger.Spot]ledger.Total{}
	for i, p := range all {
		at := ledger.Spot{Lot: p.Lot, Place: p.Place}
		held[at] = held[at].Add(p.Posting)
		if p.on < d.entry.PostedOn || i+1 < len(all) && all[i+1].on == p.on {
			continue
		}
		for _, q := range d.entry.Postings { // the day's end: other places are as they were
			t := held[ledger.Spot{Lot: q.Lot, Place: q.Place}]
			b := ledger.Balance{Lot: q.Lot, Place: q.Place, Pieces: t.Pieces, Carats: t.Carats, Cost: t.Cost}
			if b.Check() == nil {
				continue
			}
			var newest book.Date
			for _, e := range last {
				newest = max(newest, e.PostedOn)
			}
			var l fault.List
			l.Add(fault.New(fault.Refused, "entry-too-early",
				fmt.Sprintf("%s cannot be reversed on %s: on %s %s would have had %d pieces, %s ct and %s at %s",
					d.reversed.Code, d.entry.PostedOn, p.on, q.Lot, t.Pieces, t.Carats, t.Cost, q.Place),
				"date it "+string(newest)+" or later").AtRef(d.reversed.Code))
			return l, nil
		}
	}
	return nil, nil
}

// checkBalances applies the entry to what its lots have now.
func (w *writeTx) checkBalances(ctx context.Context, d *draft) (fault.List, error) {
	state := ledger.NewBalances()
	err := in(ctx, w.readTx, d.touchedIDs(), func(rows *sql.Rows) error {
		var lot int64
		p, err := w.scanPosting(rows, &lot)
		if err == nil {
			state.Put(ledger.Balance(p))
		}
		return err
	},
		`SELECT b.lot_id, l.key, b.place, b.pieces, b.carats, b.cost FROM balances b JOIN records l ON l.id = b.lot_id
			WHERE b.lot_id IN %IN%`)
	if err != nil {
		return nil, err
	}
	return state.Apply(d.entry, w.store.meta.Currency), nil
}

// onlyMoney reports whether records are payments and credits: they are void when
// their entry is reversed, though it moved no stones. The reversal writes them
// again, since no entry is empty.
func onlyMoney(records []book.Record) bool {
	for _, r := range records {
		if k := r.RecordKind(); k != book.KindPayment && k != book.KindCredit {
			return false
		}
	}
	return len(records) > 0
}

// checkReversal refuses to take back what is a reversal itself, was taken back
// before, or is built on by a later entry.
func (w *writeTx) checkReversal(ctx context.Context, d *draft) (fault.List, error) {
	if d.entry.Kind != ledger.Reverse {
		return nil, nil
	}
	var l fault.List
	found, err := w.entries(ctx, `WHERE id = $1`, sequenceOf(d.entry.Reverses))
	if err != nil {
		return nil, err
	}
	if len(found) == 0 {
		l.Add(fault.New(fault.NotFound, "entry-unknown", "the book has no entry "+d.entry.Reverses,
			"look at the entries").Do("ledger", "show"))
		return l, nil
	}
	target := found[0]
	d.entry.Reverses, d.reversed = target.Code, target
	refuse := func(code, what, mend string) {
		l.Add(fault.New(fault.Refused, code, what, mend).AtRef(target.Code))
	}
	var by int64
	err = w.query(ctx, func(rows *sql.Rows) error { return rows.Scan(&by) },
		`SELECT id FROM entries WHERE reverses = $1`, target.Sequence)
	switch {
	case err != nil:
		return nil, err
	case target.Kind == ledger.Reverse:
		refuse("reverse-a-reversal", target.Code+" is a reversal itself, of "+target.Reverses,
			"post what happened as a new entry")
	case by != 0:
		refuse("entry-reversed", target.Code+" was reversed before, by "+ledger.Code(by), "nothing is left to reverse")
	case len(target.Postings) == 0 && !onlyMoney(d.entry.Records):
		refuse("reverse-nothing", target.Code+" moved nothing, it only wrote records",
			"write a new version of the record instead")
	case !slices.Equal(d.entry.Postings, target.Reversed("", "", "").Postings):
		refuse("reversal-differs", "the reversal of "+target.Code+" must have its postings, negated",
			"post a new entry for anything else")
	}
	if l.Blocks() {
		return l, nil
	}
	blockers, err := w.blockers(ctx, d, target)
	if err != nil || len(blockers) == 0 {
		return l, err
	}
	names := make([]string, len(blockers))
	for i, b := range blockers {
		names[i] = fmt.Sprintf("%s (%s)", b.Code, b.Kind)
	}
	latest := blockers[len(blockers)-1].Code
	l.Add(fault.New(fault.Refused, "entry-built-on",
		fmt.Sprintf("%s cannot be reversed: %s came after it and build on it", target.Code, strings.Join(names, ", ")),
		"reverse the latest first").AtRef(target.Code).Do("ledger", "reverse", latest))
	return l, nil
}

// blockers loads the standing entries after target that touch its lots and asks
// the ledger which of them block.
func (w *writeTx) blockers(ctx context.Context, d *draft, target ledger.Entry) ([]ledger.Entry, error) {
	seen := map[int64]bool{}
	err := in(ctx, w.readTx, d.touchedIDs(), func(rows *sql.Rows) error {
		var id int64
		err := rows.Scan(&id)
		seen[id] = true
		return err
	},
		`SELECT DISTINCT p.entry_id FROM postings p JOIN entries x ON x.id = p.entry_id
			WHERE p.entry_id > $1 AND p.lot_id IN %IN% AND `+unreversed, target.Sequence)
	if err != nil {
		return nil, err
	}
	var later []ledger.Entry
	for id := range seen {
		page, err := w.entries(ctx, `WHERE id = $1`, id)
		if err != nil {
			return nil, err
		}
		later = append(later, page...)
	}
	slices.SortFunc(later, func(a, b ledger.Entry) int { return int(a.Sequence - b.Sequence) })
	return target.Blockers(later), nil
}
