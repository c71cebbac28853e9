package sqlstore

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// writeTx is a write transaction.
type writeTx struct {
	*readTx
	now    time.Time
	last   int64 // id of the newest record; 0: not yet asked
	broken error // a half-written entry: the transaction must not commit
}

var _ store.Tx = (*writeTx)(nil)

// Now is the one instant of this transaction.
func (w *writeTx) Now() time.Time { return w.now }

// Next returns the next number of a series without taking it.
func (w *writeTx) Next(ctx context.Context, series string) (int64, error) {
	var last int64
	err := w.row(ctx, []any{&last}, `SELECT last FROM counters WHERE series = $1`, series)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return 0, w.store.wrap("read a counter", err)
	}
	return last + 1, nil
}

// Post checks the law and writes e as one sealed entry.
func (w *writeTx) Post(ctx context.Context, e *ledger.Entry) error {
	if w.broken != nil {
		return w.broken
	}
	d, faults, err := w.draft(ctx, e)
	if err != nil {
		return w.store.wrap("check an entry", err)
	}
	if err := faults.Err(); err != nil {
		return err
	}
	if err := w.write(ctx, d); err != nil {
		w.broken = w.store.wrap("write an entry", err)
		return w.broken
	}
	*e = d.entry
	return nil
}

// draft is an entry that is about to be written.
type draft struct {
	entry   ledger.Entry
	records []sealedRecord
	before  int64          // id of the newest record before them: they follow it without a gap
	current []version      // of each record; zero for a new key
	lots    map[string]lot // by folded code: those of postings and records
	lotIDs  []int64        // of each posting
	touched []lot          // lots of postings that the book had before
	// reversed is the entry that a reversal reverses.
	reversed ledger.Entry
}

// version is the newest version of a key, and its first.
type version struct{ first, newest int64 }

// lot is how a lot is known in the tables (the id of its first version) and to
// people.
type lot struct {
	id    int64
	code  string
	isNew bool
}

// draft looks up what the entry names and checks the whole law.
func (w *writeTx) draft(ctx context.Context, e *ledger.Entry) (*draft, fault.List, error) {
	d := &draft{entry: *e}
	d.entry.RecordedAt = w.now
	faults := d.entry.Check(w.store.meta.Currency)
	if len(e.Postings)+len(e.Records) == 0 {
		faults.Add(fault.New(fault.Invalid, "entry-empty", "an entry needs postings or records", "say what happened"))
	}
	if (e.Kind == ledger.Reverse) != (e.Reverses != "") {
		faults.Add(fault.New(fault.Invalid, "entry-head", "an entry of kind reverse, and no other, names the entry "+
			"that it reverses", "name it"))
	}
	recordFaults, err := d.seal(e.Records)
	faults = append(faults, recordFaults...)
	if err != nil || faults.Blocks() {
		return nil, faults, err
	}
	for _, check := range []func(context.Context, *draft) (fault.List, error){
		w.resolveLots, w.resolveVersions, w.checkReversal, w.checkNewLots, w.checkDates, w.checkBalances,
	} {
		l, err := check(ctx, d)
		faults = append(faults, l...)
		if err != nil {
			return nil, faults, err
		}
		if e.Kind == ledger.Reverse && faults.Blocks() { // the first reason says it all
			break
		}
	}
	return d, faults, nil
}

// seal renders the records.
func (d *draft) seal(records []book.Record) (fault.List, error) {
	var l fault.List
	seen := make(map[name]bool, len(records))
	d.records = make([]sealedRecord, 0, len(records))
	for _, r := range records {
		s := sealedRecord{kind: r.RecordKind(), key: r.RecordKey()}
		s.name = name{s.kind, fold(s.key)}
		if !s.kind.Known() {
			return l, fmt.Errorf("there is no kind of record %q", s.kind)
		}
		switch {
		case s.key == "":
			l.Add(fault.New(fault.Invalid, "record-key", fmt.Sprintf("a %s has no name", s.kind), "name it"))
		case seen[s.name]:
			l.Add(fault.New(fault.Invalid, "record-twice", fmt.Sprintf("%s %s stands twice in one entry", s.kind,
				s.key), "keep one of them").AtRef(s.key))
		}
		seen[s.name] = true
		for _, f := range filesBeside(r) {
			if book.FileOf(f.Bytes).SHA256 != f.SHA256 {
				return l, fmt.Errorf("%s %s: its SHA-256 is not that of its bytes", s.kind, s.key)
			}
		}
		var err error
		if s.doc, err = store.Canonical(r); err != nil {
			return l, err
		}
		d.records = append(d.records, s)
	}
	return l, nil
}

// filesBeside are the files that a record keeps beside it.
func filesBeside(r book.Record) []book.File {
	if filed, ok := r.(book.Filed); ok {
		return filed.Files()
	}
	return nil
}

// resolveLots finds the lots of postings and records, gives new ones their
// id, and writes the postings with codes and money as the book has them.
func (w *writeTx) resolveLots(ctx context.Context, d *draft) (fault.List, error) {
	if err := w.findLots(ctx, d); err != nil {
		return nil, err
	}
	var l fault.List
	if err := w.number(ctx, d); err != nil {
		return nil, err
	}
	for i, r := range d.records {
		if r.kind != book.KindLot {
			continue
		}
		f := r.name.key
		if x, ok := d.lots[f]; ok {
			if x.code != r.key {
				l.Add(fault.New(fault.Refused, "lot-case", fmt.Sprintf("the book has lot %s, but here it is written %s",
					x.code, r.key), "write it as "+x.code).AtRef(r.key))
			}
			continue
		}
		d.lots[f] = lot{d.id(i), r.key, true}
	}
	postings := make([]ledger.Posting, len(d.entry.Postings))
	d.lotIDs = make([]int64, len(postings))
	seen := map[int64]bool{}
	for i, p := range d.entry.Postings {
		x, ok := d.lots[fold(p.Lot)]
		if !ok {
			l.Add(fault.New(fault.NotFound, "lot-unknown", fmt.Sprintf("the book has no lot %s", p.Lot),
				"look at the lots").AtRef(p.Lot).Do("lot", "list"))
			x.code = p.Lot
		}
		if _, f := book.ParsePlace(string(p.Place)); f != nil {
			l.Add(f.AtRef(p.Lot))
		}
		if ok && !x.isNew && !seen[x.id] {
			seen[x.id] = true
			d.touched = append(d.touched, x)
		}
		p.Lot, p.Cost = x.code, num.Micros(p.Cost.Micros(), w.store.meta.Currency)
		postings[i], d.lotIDs[i] = p, x.id
	}
	d.entry.Postings = postings
	return l, nil
}

// findLots looks up every lot that the entry names.
func (w *writeTx) findLots(ctx context.Context, d *draft) error {
	var folds []string
	seen := make(map[string]bool, len(d.records)+len(d.entry.Postings))
	want := func(f string) {
		if !seen[f] {
			seen[f] = true
			folds = append(folds, f)
		}
	}
	for _, r := range d.records {
		if r.kind == book.KindLot {
			want(r.name.key)
		}
	}
	for _, p := range d.entry.Postings {
		want(fold(p.Lot))
	}
	d.lots = make(map[string]lot, len(folds))
	return in(ctx, w.readTx, folds, func(rows *sql.Rows) error {
		var f string
		var x lot
		if err := rows.Scan(&f, &x.id, &x.code); err != nil {
			return err
		}
		d.lots[f] = x
		return nil
	}, `SELECT c.key, c.first_id, v.key FROM current_versions c JOIN records v ON v.id = c.first_id
		WHERE c.kind = $1 AND c.key IN %IN%`, string(book.KindLot))
}

// number gives the entry's records the ids after the newest.
func (w *writeTx) number(ctx context.Context, d *draft) error {
	if w.last == 0 {
		if err := w.row(ctx, []any{&w.last}, `SELECT coalesce(max(id), 0) FROM records`); err != nil {
			return err
		}
	}
	d.before = w.last
	return nil
}

// id is the id of the entry's record i.
func (d *draft) id(i int) int64 { return d.before + int64(i) + 1 }

// resolveVersions finds the version that each record replaces.
func (w *writeTx) resolveVersions(ctx context.Context, d *draft) (fault.List, error) {
	var l fault.List
	d.current = make([]version, len(d.records))
	keys := map[book.Kind][]string{}
	at := map[name]int{}
	for i, r := range d.records {
		if r.kind == book.KindLot && d.lots[r.name.key].isNew {
			continue
		}
		keys[r.kind] = append(keys[r.kind], r.name.key)
		at[r.name] = i
	}
	for kind, folds := range keys {
		err := in(ctx, w.readTx, folds, func(rows *sql.Rows) error {
			var key string
			var v version
			if err := rows.Scan(&key, &v.first, &v.newest); err != nil {
				return err
			}
			i := at[name{kind, key}]
			d.current[i] = v
			if journal(kind) {
				l.Add(fault.New(fault.Refused, "record-exists", fmt.Sprintf("the book has %s %s already", kind,
					d.records[i].key), "a "+string(kind)+" is written once; add a new one").AtRef(d.records[i].key))
			}
			return nil
		}, `SELECT key, first_id, version_id FROM current_versions WHERE kind = $1 AND key IN %IN%`, string(kind))
		if err != nil {
			return nil, err
		}
	}
	return l, w.checkNumbers(ctx, d)
}

// checkNumbers keeps the numbers of documents without gaps.
func (w *writeTx) checkNumbers(ctx context.Context, d *draft) error {
	taken := map[string]int64{}
	for _, r := range d.records {
		series, n, ok := book.Series(r.kind, r.key)
		if r.kind != book.KindDocument || !ok {
			continue
		}
		next, err := w.Next(ctx, series)
		if err != nil {
			return err
		}
		if n != next+taken[series] {
			return fmt.Errorf("document %s is not the next of its series, number %d is: %w", r.key,
				next+taken[series], store.ErrConflict)
		}
		taken[series]++
	}
	return nil
}

// write puts the rows of the entry in, its header last.
func (w *writeTx) write(ctx context.Context, d *draft) error {
	e := &d.entry
	before, err := w.Head(ctx)
	if err != nil {
		return err
	}
	e.Sequence = before.Sequence + 1
	e.Code = ledger.Code(e.Sequence)
	body, err := writeBody(headOf(e), e.Postings, d.records)
	if err != nil {
		return err
	}
	if err := w.writeRecords(ctx, d); err != nil { // before the postings: they point to lots
		return err
	}
	if err := w.writePostings(ctx, d); err != nil {
		return err
	}
	st, err := w.statement(ctx, `INSERT INTO entries (id, code, kind, posted_on, recorded_at, reason, who, reverses,
		posting_count, record_count, previous_hash, hash, body)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)`)
	if err != nil {
		return err
	}
	var reverses sql.NullInt64
	if e.Reverses != "" {
		reverses = sql.NullInt64{Int64: sequenceOf(e.Reverses), Valid: true}
	}
	_, err = st.ExecContext(ctx, e.Sequence, e.Code, string(e.Kind), string(e.PostedOn), instant(e.RecordedAt),
		e.Reason, e.Who, reverses,
		len(e.Postings), len(d.records), before.Hash, seal(before.Hash, body), string(body))
	return err
}

func (w *writeTx) writePostings(ctx context.Context, d *draft) error {
	rows := newBulk(`INSERT INTO postings (entry_id, line, lot_id, place, pieces, carats, cost)`,
		`(?, ?, ?, ?, ?, ?, ?)`, "")
	for i, p := range d.entry.Postings {
		err := rows.add(ctx, w.readTx, d.entry.Sequence, i+1, d.lotIDs[i], string(p.Place), p.Pieces, int64(p.Carats),
			p.Cost.Micros())
		if err != nil {
			return err
		}
	}
	return rows.flush(ctx, w.readTx)
}

// writeRecords writes the records, the files of documents, and what is derived
// from records: current versions, counters and refs.
func (w *writeTx) writeRecords(ctx context.Context, d *draft) error {
	byKind, counters := newKindBulks(), intoCounters()
	last := map[string]int64{}
	var rows, current *bulk // of the record before, mostly of the same kind
	for i, r := range d.records {
		id, v := d.id(i), d.current[i]
		isNew := v.newest == 0
		if i == 0 || r.kind != d.records[i-1].kind || isNew != (d.current[i-1].newest == 0) {
			rows, current = byKind.records(r.kind, isNew), byKind.current(r.kind, isNew)
		}
		var err error
		if isNew {
			v.first = id
			err = rows.add(ctx, w.readTx, id, r.key, d.entry.Sequence, i+1, string(r.doc))
		} else {
			err = rows.add(ctx, w.readTx, id, r.key, d.entry.Sequence, i+1, v.newest, string(r.doc))
		}
		if err != nil {
			return err
		}
		if err := current.add(ctx, w.readTx, r.name.key, v.first, id); err != nil {
			return err
		}
		for _, ref := range d.entry.Records[i].Refs() {
			if err := byKind.refs(ref.Kind).add(ctx, w.readTx, fold(ref.Name), v.first); err != nil {
				return err
			}
		}
		for _, f := range filesBeside(d.entry.Records[i]) {
			if err := w.keepFile(ctx, f); err != nil {
				return err
			}
		}
		if series, n, ok := book.Series(r.kind, r.key); ok {
			last[series] = max(last[series], n)
		}
	}
	for series, n := range last {
		if err := counters.add(ctx, w.readTx, series, n); err != nil {
			return err
		}
	}
	if err := byKind.flush(ctx, w.readTx); err != nil {
		return err
	}
	if err := counters.flush(ctx, w.readTx); err != nil {
		return err
	}
	w.last = d.id(len(d.records) - 1)
	return nil
}

// keepFile keeps the bytes of a file once, by their hash. A picture of the same
// bytes that was taken out comes back.
func (w *writeTx) keepFile(ctx context.Context, f book.File) error {
	text := `INSERT INTO files (sha256, bytes) VALUES ($1, $2)`
	var kept bool
	err := w.row(ctx, []any{&kept}, `SELECT bytes IS NOT NULL FROM files WHERE sha256 = $1`, f.SHA256)
	switch {
	case errors.Is(err, sql.ErrNoRows):
	case err != nil || kept:
		return err
	default:
		text = `UPDATE files SET bytes = $2 WHERE sha256 = $1`
	}
	st, err := w.statement(ctx, text)
	if err != nil {
		return err
	}
	_, err = st.ExecContext(ctx, f.SHA256, append([]byte{}, f.Bytes...)) // no bytes are not NULL
	return err
}

// TakeOut takes the bytes of files out of the book.
func (w *writeTx) TakeOut(ctx context.Context, sha256 ...string) error {
	st, err := w.statement(ctx, `UPDATE files SET bytes = NULL WHERE sha256 = $1`)
	if err != nil {
		return err
	}
	for _, sum := range sha256 {
		if _, err := st.ExecContext(ctx, sum); err != nil {
			return w.store.wrap("take a file out", err)
		}
	}
	return nil
}
