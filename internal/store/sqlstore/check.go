package sqlstore

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"slices"

	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// checkPage is how many entries Check holds at a time.
const checkPage = 32

// Check compares the hash chain with the bodies, the bodies with the rows, and
// everything derived with what it derives from; then the engine checks itself.
func (t *readTx) Check(ctx context.Context, report func(store.Difference)) error {
	for _, check := range []func(context.Context, func(store.Difference)) error{
		t.checkChain, t.checkBalances, t.checkKeys, t.checkFiles,
	} {
		if err := check(ctx, report); err != nil {
			return t.store.wrap("check the book", err)
		}
	}
	return t.store.wrap("check the book", t.store.dialect.Verify(ctx, t.tx, report))
}

// checkChain follows the entries: each is numbered without a gap, seals the one
// before, its hash is that of its body, and its body is what its rows say.
func (t *readTx) checkChain(ctx context.Context, report func(store.Difference)) error {
	var last store.Body
	for {
		page, err := t.Bodies(ctx, last.Sequence, checkPage)
		if err != nil {
			return err
		}
		if len(page) == 0 {
			return nil
		}
		rendered, err := t.render(ctx, page)
		if err != nil {
			return err
		}
		for i, b := range page {
			say := func(what string) { report(store.Difference{Table: "entries", Ref: b.Code, What: what}) }
			if b.Sequence != last.Sequence+1 {
				say(fmt.Sprintf("follows %s: entries are missing", ledger.Code(last.Sequence)))
			}
			if b.Previous != last.Hash {
				say("does not seal the entry before it")
			}
			if got := seal(b.Previous, b.Body); got != b.Hash {
				say("its hash is not that of its body: the body or the hash was changed")
			}
			if !bytes.Equal(rendered[i], b.Body) {
				say("its rows are not what was sealed: " + whereDiffers(b.Body, rendered[i]))
			}
			last = b
		}
		last.Body = nil
	}
}

// render writes the bodies of a page of entries again, from their rows.
func (t *readTx) render(ctx context.Context, page []store.Body) ([][]byte, error) {
	first, end := page[0].Sequence, page[len(page)-1].Sequence
	entries, err := t.entries(ctx, `WHERE id BETWEEN $1 AND $2 ORDER BY id`, first, end)
	if err != nil {
		return nil, err
	}
	type placed struct {
		line int64
		sealedRecord
	}
	records := map[int64][]placed{}
	for _, kind := range book.Kinds {
		err := t.query(ctx, func(rows *sql.Rows) error {
			var id int64
			r := placed{sealedRecord: sealedRecord{kind: kind}}
			if err := rows.Scan(&id, &r.line, &r.key, &r.doc); err != nil {
				return err
			}
			records[id] = append(records[id], r)
			return nil
		}, `SELECT entry_id, line, key, doc FROM `+tables[kind]+` WHERE entry_id BETWEEN $1 AND $2`, first, end)
		if err != nil {
			return nil, err
		}
	}
	out := make([][]byte, len(entries))
	for i := range entries {
		e := &entries[i]
		rows := records[e.Sequence]
		slices.SortFunc(rows, func(a, b placed) int { return int(a.line - b.line) })
		sealed := make([]sealedRecord, len(rows))
		for k, r := range rows {
			sealed[k] = r.sealedRecord
		}
		if out[i], err = writeBody(headOf(e), e.Postings, sealed); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// sealedBody reads a body back, to name the row that differs.
type sealedBody struct {
	head
	Postings []json.RawMessage `json:"postings"`
	Records  []json.RawMessage `json:"records"`
}

// whereDiffers names the first part of two bodies that differs.
func whereDiffers(sealed, rows []byte) string {
	var a, b sealedBody
	if json.Unmarshal(sealed, &a) != nil || json.Unmarshal(rows, &b) != nil {
		return "the body is not JSON any more"
	}
	if a.head != b.head {
		return "the header"
	}
	for _, part := range []struct {
		name string
		a, b []json.RawMessage
	}{{"posting", a.Postings, b.Postings}, {"record", a.Records, b.Records}} {
		if len(part.a) != len(part.b) {
			return fmt.Sprintf("%d %ss sealed, %d in the tables", len(part.a), part.name, len(part.b))
		}
		for i := range part.a {
			if !bytes.Equal(part.a[i], part.b[i]) {
				return fmt.Sprintf("%s %d, sealed as %s", part.name, i+1, short(part.a[i]))
			}
		}
	}
	return "white space or order"
}

func short(b []byte) string {
	if len(b) > 160 {
		return string(b[:160]) + "..."
	}
	return string(b)
}

// checkBalances adds up all postings again, and each entry.
func (t *readTx) checkBalances(ctx context.Context, report func(store.Difference)) error {
	currency := t.store.meta.Currency
	describe := func(p ledger.Posting) string {
		return fmt.Sprintf("%s has %d pieces, %s ct, %s", p.Place, p.Pieces, p.Carats, p.Cost.Words())
	}
	summed := `SELECT lot_id, place, sum(pieces) AS pieces, sum(carats) AS carats, sum(cost) AS cost FROM postings b WHERE ` + realPlace + ` GROUP BY lot_id, place`
	kept := `SELECT lot_id, place, pieces, carats, cost FROM balances`
	for _, side := range []struct{ from, less, what string }{
		{summed, kept, "the postings say: "}, {kept, summed, "the balance says: "},
	} {
		err := t.query(ctx, func(rows *sql.Rows) error {
			var lot int64
			p, err := t.scanPosting(rows, &lot)
			if err == nil {
				report(store.Difference{Table: "balances", Ref: p.Lot, What: side.what + describe(p)})
			}
			return err
		}, `SELECT d.lot_id, coalesce(l.key, ''), d.place, d.pieces, d.carats, d.cost FROM
			(SELECT * FROM (`+side.from+`) AS a EXCEPT SELECT * FROM (`+side.less+`) AS b) AS d LEFT JOIN lot_versions l ON l.id = d.lot_id ORDER BY d.lot_id, d.place`)
		if err != nil {
			return err
		}
	}
	return t.query(ctx, func(rows *sql.Rows) error {
		var entry int64
		err := rows.Scan(&entry)
		report(store.Difference{Table: "postings", Ref: ledger.Code(entry), What: "the entry does not balance in pieces, carats and " + string(currency)})
		return err
	}, `SELECT entry_id FROM postings GROUP BY entry_id HAVING sum(pieces) <> 0 OR sum(carats) <> 0 OR sum(cost) <> 0`)
}

// checkKeys rebuilds current_versions and counters from the records.
func (t *readTx) checkKeys(ctx context.Context, report func(store.Difference)) error {
	last := map[string]int64{}
	for _, kind := range book.Kinds {
		keys, err := t.walkVersions(ctx, kind, last, report)
		if err != nil {
			return err
		}
		err = t.query(ctx, func(rows *sql.Rows) error {
			var key string
			var v version
			if err := rows.Scan(&key, &v.first, &v.newest); err != nil {
				return err
			}
			if keys[key] != v {
				report(store.Difference{Table: "current_versions", Ref: string(kind) + " " + key, What: "does not name the first and the newest version"})
			}
			delete(keys, key)
			return nil
		}, `SELECT key, first_id, version_id FROM current_versions WHERE kind = $1`, string(kind))
		if err != nil {
			return err
		}
		for key := range keys {
			report(store.Difference{Table: "current_versions", Ref: string(kind) + " " + key, What: "is missing"})
		}
	}
	err := t.query(ctx, func(rows *sql.Rows) error {
		var series string
		var n int64
		if err := rows.Scan(&series, &n); err != nil {
			return err
		}
		if last[series] != n {
			report(store.Difference{Table: "counters", Ref: series, What: fmt.Sprintf("stands at %d, but the records say %d", n, last[series])})
		}
		delete(last, series)
		return nil
	}, `SELECT series, last FROM counters`)
	if err != nil {
		return err
	}
	for series, n := range last {
		report(store.Difference{Table: "counters", Ref: series, What: fmt.Sprintf("is missing, but the records say %d", n)})
	}
	return t.checkLots(ctx, report)
}

// walkVersions follows the versions of a kind, oldest first: each names the
// version that it replaces. It returns the first and newest version of each
// key and raises the counters.
func (t *readTx) walkVersions(ctx context.Context, kind book.Kind, last map[string]int64, report func(store.Difference)) (map[string]version, error) {
	keys := map[string]version{}
	err := t.query(ctx, func(rows *sql.Rows) error {
		var id int64
		var key string
		var previous sql.NullInt64
		if err := rows.Scan(&id, &key, &previous); err != nil {
			return err
		}
		f := fold(key)
		v := keys[f]
		if previous.Int64 != v.newest {
			report(store.Difference{Table: tables[kind], Ref: key, What: "a version does not follow the one before it"})
		}
		if v.first == 0 {
			v.first = id
		}
		v.newest = id
		keys[f] = v
		if series, n, ok := book.Series(kind, key); ok {
			last[series] = max(last[series], n)
		}
		return nil
	}, `SELECT id, key, previous FROM `+tables[kind]+` ORDER BY id`)
	return keys, err
}

// checkLots: postings and balances know a lot by its first version.
func (t *readTx) checkLots(ctx context.Context, report func(store.Difference)) error {
	return t.query(ctx, func(rows *sql.Rows) error {
		var code string
		err := rows.Scan(&code)
		report(store.Difference{Table: "postings", Ref: code, What: "a posting does not name the first version of its lot"})
		return err
	}, `SELECT DISTINCT l.key FROM postings p JOIN lot_versions l ON l.id = p.lot_id WHERE l.previous IS NOT NULL`)
}

// checkFiles: the bytes beside each document have the hash that was sealed.
func (t *readTx) checkFiles(ctx context.Context, report func(store.Difference)) error {
	return t.query(ctx, func(rows *sql.Rows) error {
		var key string
		var doc, file []byte
		if err := rows.Scan(&key, &doc, &file); err != nil {
			return err
		}
		var d book.Document
		if err := json.Unmarshal(doc, &d); err != nil {
			return fmt.Errorf("document %s: %w", key, err)
		}
		if hashOf(file) != d.SHA256 {
			report(store.Difference{Table: "document_files", Ref: key, What: "the kept file is not the one that was issued"})
		}
		return nil
	}, `SELECT d.key, d.doc, f.bytes FROM documents d LEFT JOIN document_files f ON f.document_id = d.id ORDER BY d.id`)
}
