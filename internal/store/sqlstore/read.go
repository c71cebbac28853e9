package sqlstore

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// readTx reads one state of the book.
type readTx struct {
	store    *Store
	tx       *sql.Tx
	prepared map[string]*sql.Stmt // closed by the transaction's end
}

var _ store.ReadTx = (*readTx)(nil)

// Meta is what the book was created with.
func (t *readTx) Meta() store.Meta { return t.store.meta }

const newestEntry = `SELECT id, hash FROM entries ORDER BY id DESC LIMIT 1`

// ReadHead returns the head of the book in db.
func ReadHead(ctx context.Context, db *sql.DB) (store.Head, error) {
	var h store.Head
	err := db.QueryRowContext(ctx, newestEntry).Scan(&h.Sequence, &h.Hash)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return h, err
}

// Head returns the newest entry's sequence and hash.
func (t *readTx) Head(ctx context.Context) (store.Head, error) {
	var h store.Head
	err := t.row(ctx, []any{&h.Sequence, &h.Hash}, newestEntry)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return h, t.store.wrap("read the book's head", err)
	}
	return h, nil
}

// sequenceOf reads an entry's code; 0 when it is none.
func sequenceOf(code string) int64 {
	digits, ok := strings.CutPrefix(strings.ToUpper(strings.TrimSpace(code)), "E")
	n, err := strconv.ParseInt(digits, 10, 64)
	if !ok || err != nil || n <= 0 {
		return 0
	}
	return n
}

// Entry returns one entry with its postings, or ErrNotFound.
func (t *readTx) Entry(ctx context.Context, code string) (ledger.Entry, error) {
	list, err := t.entries(ctx, `WHERE id = $1`, sequenceOf(code))
	if err != nil {
		return ledger.Entry{}, err
	}
	if len(list) == 0 {
		return ledger.Entry{}, fmt.Errorf("entry %s: %w", code, store.ErrNotFound)
	}
	return list[0], nil
}

// Entries returns a page of entries with their postings, oldest first.
func (t *readTx) Entries(ctx context.Context, f store.EntryFilter) ([]ledger.Entry, error) {
	where, args := `WHERE id > $1`, []any{f.After}
	if f.Lot != "" {
		where += ` AND id IN (SELECT entry_id FROM postings WHERE lot_id = ` + lotID + `$2))`
		args = append(args, fold(f.Lot))
	}
	return t.entries(ctx, where+` ORDER BY id`+limit(f.Limit), args...)
}

// lotID ends in the folded code of a lot and a bracket.
const lotID = `(SELECT first_id FROM current_versions WHERE kind = 'lot' AND key = `

func limit(n int) string {
	if n <= 0 {
		return ""
	}
	return " LIMIT " + strconv.Itoa(n)
}

func (t *readTx) entries(ctx context.Context, where string, args ...any) ([]ledger.Entry, error) {
	var out []ledger.Entry
	at := map[int64]int{}
	err := t.query(ctx, func(rows *sql.Rows) error {
		var e ledger.Entry
		var recorded string
		var reverses sql.NullInt64
		if err := rows.Scan(&e.Sequence, &e.Code, &e.Kind, &e.PostedOn, &recorded, &e.Reason, &e.Who,
			&reverses); err != nil {
			return err
		}
		if reverses.Valid {
			e.Reverses = ledger.Code(reverses.Int64)
		}
		var err error
		if e.RecordedAt, err = time.Parse(time.RFC3339, recorded); err != nil {
			return err
		}
		at[e.Sequence] = len(out)
		out = append(out, e)
		return nil
	}, `SELECT id, code, kind, posted_on, recorded_at, reason, who, reverses FROM entries `+where, args...)
	if err != nil {
		return nil, t.store.wrap("read entries", err)
	}
	sequences := make([]int64, len(out))
	for i, e := range out {
		sequences[i] = e.Sequence
	}
	err = in(ctx, t, sequences, func(rows *sql.Rows) error {
		var id int64
		p, err := t.scanPosting(rows, &id)
		if err == nil {
			e := &out[at[id]]
			e.Postings = append(e.Postings, p)
		}
		return err
	}, postingsIn)
	return out, t.store.wrap("read postings", err)
}

const postingsIn = `SELECT p.entry_id, l.key, p.place, p.pieces, p.carats, p.cost
	FROM postings p JOIN records l ON l.id = p.lot_id WHERE p.entry_id IN %IN% ORDER BY p.entry_id, p.line`

// scanPosting reads an id, then lot, place, pieces, carats and cost.
func (t *readTx) scanPosting(rows *sql.Rows, id *int64) (ledger.Posting, error) {
	var p ledger.Posting
	var carats, cost int64
	err := rows.Scan(id, &p.Lot, &p.Place, &p.Pieces, &carats, &cost)
	p.Carats, p.Cost = num.Carat(carats), num.Micros(cost, t.store.meta.Currency)
	return p, err
}

func (t *readTx) total(x sums) ledger.Total {
	return ledger.Total{Pieces: x.pieces, Carats: num.Carat(x.carats), Cost: num.Micros(x.cost, t.store.meta.Currency)}
}

// Reversals returns the code of the reversal of every reversed entry.
func (t *readTx) Reversals(ctx context.Context) (map[string]string, error) {
	out := map[string]string{}
	err := t.query(ctx, func(rows *sql.Rows) error {
		var of, by int64
		err := rows.Scan(&of, &by)
		out[ledger.Code(of)] = ledger.Code(by)
		return err
	}, reversals)
	return out, t.store.wrap("read reversals", err)
}

const reversals = `SELECT reverses, id FROM entries WHERE reverses IS NOT NULL`

// Bodies returns a page of sealed entries, oldest first.
func (t *readTx) Bodies(ctx context.Context, after int64, n int) ([]store.Body, error) {
	var out []store.Body
	err := t.query(ctx, func(rows *sql.Rows) error {
		var b store.Body
		if err := rows.Scan(&b.Sequence, &b.Code, &b.Body, &b.Previous, &b.Hash); err != nil {
			return err
		}
		out = append(out, b)
		return nil
	}, `SELECT id, code, body, previous_hash, hash FROM entries WHERE id > $1 ORDER BY id`+limit(n), after)
	return out, t.store.wrap("read sealed entries", err)
}

// Balances returns a page of balances that are not zero.
func (t *readTx) Balances(ctx context.Context, f store.BalanceFilter) ([]ledger.Balance, error) {
	where, args := `1 = 1`, []any{}
	arg := func(v any) string {
		args = append(args, v)
		return "$" + strconv.Itoa(len(args))
	}
	if f.Place != "" {
		where += ` AND b.place = ` + arg(string(f.Place))
		if f.Place != book.Safe {
			where += ` AND b.place <> 'safe'` // as the index of such places says
		}
	}
	if f.Ref != (book.Ref{}) {
		where += ` AND b.lot_id IN (SELECT record FROM refs WHERE kind = ` + arg(string(f.Ref.Kind)) + ` AND ref = ` +
			arg(fold(f.Ref.Name)) + `)`
	}
	if f.Lot != "" {
		where += ` AND b.lot_id = ` + lotID + arg(fold(f.Lot)) + `)`
	}
	if f.AfterLot != "" {
		where += ` AND b.lot_id > ` + lotID + arg(fold(f.AfterLot)) + `)`
	}
	var from string
	if f.On != "" || f.At != 0 {
		from = balancesPosted + where
		if f.RealOnly {
			from += ` AND ` + realPlace
		}
		if f.On != "" {
			from += ` AND (SELECT x.posted_on FROM entries x WHERE x.id = b.entry_id) <= ` + arg(string(f.On))
		}
		if f.At != 0 {
			from += ` AND b.entry_id <= ` + arg(f.At)
		}
		from += notZero
	} else {
		from = `SELECT b.lot_id, b.place, b.pieces, b.carats, b.cost FROM balances b
			WHERE (b.pieces <> 0 OR b.carats <> 0 OR b.cost <> 0) AND ` + where
		if !f.RealOnly && (f.Place == "" || !f.Place.IsReal()) {
			from += ` UNION ALL ` + balancesPosted + where + ` AND NOT ` + realPlace + notZero
		}
	}
	if f.Limit > 0 { // a page ends at the last of Limit lots
		from = `SELECT * FROM (` + from + `) AS a WHERE lot_id <= (SELECT max(lot_id) FROM
			(SELECT DISTINCT lot_id FROM (` + from + `) AS a ORDER BY lot_id` + limit(f.Limit) + `) AS a)`
	}
	var out []ledger.Balance
	err := t.query(ctx, func(rows *sql.Rows) error {
		var lot int64
		p, err := t.scanPosting(rows, &lot)
		out = append(out, ledger.Balance(p))
		return err
	}, `SELECT found.lot_id, l.key, found.place, found.pieces, found.carats, found.cost
		FROM (`+from+`) AS found JOIN records l ON l.id = found.lot_id ORDER BY found.lot_id, found.place`, args...)
	return out, t.store.wrap("read balances", err)
}

// balancesPosted and notZero sum the postings that the condition between them
// selects.
const (
	balancesPosted = `SELECT b.lot_id, b.place, sum(b.pieces) AS pieces, sum(b.carats) AS carats, sum(b.cost) AS cost
		FROM postings b WHERE `
	notZero = ` GROUP BY b.lot_id, b.place HAVING sum(b.pieces) <> 0 OR sum(b.carats) <> 0 OR sum(b.cost) <> 0`
)

// Row returns the newest version of a record, or ErrNotFound.
func (t *readTx) Row(ctx context.Context, kind book.Kind, key string) (store.Row, error) {
	rows, err := t.rows(ctx, kind, currentVersions, `c.key = $2`, fold(key))
	if err != nil {
		return store.Row{}, err
	}
	if len(rows) == 0 {
		return store.Row{}, fmt.Errorf("%s %s: %w", kind, key, store.ErrNotFound)
	}
	return rows[0], nil
}

// Known tells which keys there are records of.
func (t *readTx) Known(ctx context.Context, kind book.Kind, keys []string) (map[string]bool, error) {
	folded := make([]string, len(keys))
	for i, k := range keys {
		folded[i] = fold(k)
	}
	out := map[string]bool{}
	err := in(ctx, t, folded, func(rows *sql.Rows) error {
		var k string
		if err := rows.Scan(&k); err != nil {
			return err
		}
		out[k] = true
		return nil
	}, `SELECT key FROM current_versions WHERE kind = $1 AND key IN %IN%`, string(kind))
	return out, err
}

// Rows returns a page of records in the order of their first writing.
func (t *readTx) Rows(ctx context.Context, kind book.Kind, f store.RowFilter) ([]store.Row, error) {
	from, first, key := currentVersions, `c.first_id`, `(c.key || '')`
	where, args := ` > $2`, []any{f.After}
	// An expression hides a column from the indexes: all of a prefix is found by
	// key, a page of it by walking on in the order of first writing.
	switch {
	case f.Ref != (book.Ref{}):
		from, first = `refs r CROSS JOIN `+currentVersions, `r.record`
		where += ` AND r.kind = $3 AND r.ref = $4 AND c.first_id = r.record`
		args = append(args, string(f.Ref.Kind), fold(f.Ref.Name))
	case f.Prefix != "" && f.Limit == 0:
		first, key = `c.first_id + 0`, `c.key`
	}
	if f.Prefix != "" {
		n := strconv.Itoa(len(args) + 2)
		m := strconv.Itoa(len(args) + 3)
		where += ` AND ` + key + ` >= $` + n + ` AND ` + key + ` < $` + m
		args = append(args, fold(f.Prefix), fold(f.Prefix)+"\U0010FFFF")
	}
	return t.rows(ctx, kind, from, first+where+` ORDER BY `+first+limit(f.Limit), args...)
}

const currentVersions = `current_versions c`

// rows reads current versions; $1 is the kind.
func (t *readTx) rows(ctx context.Context, kind book.Kind, from, where string, args ...any) ([]store.Row, error) {
	var out []store.Row
	err := t.query(ctx, func(rows *sql.Rows) error {
		r, err := scanRow(rows)
		out = append(out, r)
		return err
	}, `SELECT c.first_id, v.key, v.entry_id, CASE WHEN v.previous IS NULL THEN v.entry_id
			ELSE (SELECT s.entry_id FROM records s WHERE s.id = c.first_id) END, v.doc
		FROM `+from+` JOIN records v ON v.id = c.version_id WHERE c.kind = $1 AND `+where,
		append([]any{string(kind)}, args...)...)
	return out, t.store.wrap("read "+string(kind)+" records", err)
}

// scanRow reads the first version's id, the key, the ids of the version's entry
// and of the first version's, and the document.
func scanRow(rows *sql.Rows) (store.Row, error) {
	var r store.Row
	var entry, since int64
	err := rows.Scan(&r.First, &r.Key, &entry, &since, &r.Doc)
	r.Entry = ledger.Code(entry)
	r.Since = r.Entry
	if since != entry {
		r.Since = ledger.Code(since)
	}
	return r, err
}

// History returns every version of one key, oldest first.
func (t *readTx) History(ctx context.Context, kind book.Kind, key string) ([]store.Row, error) {
	var out []store.Row
	err := t.query(ctx, func(rows *sql.Rows) error {
		r, err := scanRow(rows)
		out = append(out, r)
		return err
	}, `WITH RECURSIVE back (first_id, id) AS (
			SELECT first_id, version_id FROM current_versions WHERE kind = $1 AND key = $2
			UNION ALL
			SELECT back.first_id, v.previous FROM back JOIN records v ON v.id = back.id WHERE v.previous IS NOT NULL)
		SELECT back.first_id, v.key, v.entry_id, (SELECT s.entry_id FROM records s WHERE s.id = back.first_id), v.doc
			FROM back CROSS JOIN records v WHERE v.id = back.id ORDER BY v.id`,
		string(kind), fold(key))
	return out, t.store.wrap("read versions", err)
}

// File returns the bytes of a file by its hash, or ErrNotFound.
func (t *readTx) File(ctx context.Context, sha256 string) ([]byte, error) {
	var b []byte
	err := t.row(ctx, []any{&b}, `SELECT bytes FROM files WHERE sha256 = $1 AND bytes IS NOT NULL`, sha256)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, fmt.Errorf("file %s: %w", sha256, store.ErrNotFound)
	}
	return b, t.store.wrap("read a file", err)
}
