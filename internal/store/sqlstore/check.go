package sqlstore

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"maps"
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
		t.checkChain, t.checkPostings, t.checkDerived, t.checkFiles,
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
	records := map[int64][]sealedRecord{}
	err = t.query(ctx, func(rows *sql.Rows) error {
		var id int64
		var r sealedRecord
		if err := rows.Scan(&id, &r.kind, &r.key, &r.doc); err != nil {
			return err
		}
		records[id] = append(records[id], r)
		return nil
	}, `SELECT entry_id, kind, key, doc FROM records WHERE entry_id BETWEEN $1 AND $2 ORDER BY entry_id, line`, first,
		end)
	if err != nil {
		return nil, err
	}
	out := make([][]byte, len(entries))
	for i := range entries {
		e := &entries[i]
		if out[i], err = writeBody(headOf(e), e.Postings, records[e.Sequence]); err != nil {
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

// checkFiles: the files of each document, report and standing picture have the hash that was sealed,
// and every other file that of its name.
func (t *readTx) checkFiles(ctx context.Context, report func(store.Difference)) error {
	held := map[string]string{} // by the hash that was sealed, the first record that holds it
	err := t.query(ctx, func(rows *sql.Rows) error {
		var kind book.Kind
		var key string
		var doc sql.RawBytes
		if err := rows.Scan(&kind, &key, &doc); err != nil {
			return err
		}
		r := kind.Blank()
		if err := json.Unmarshal(doc, r); err != nil {
			return fmt.Errorf("read %s: %w", key, err)
		}
		for _, f := range filesBeside(r) {
			if _, seen := held[f.SHA256]; !seen {
				held[f.SHA256] = key
			}
		}
		return nil
	}, `SELECT kind, key, doc FROM records r WHERE kind IN ('document', 'report', 'picture')
		AND NOT EXISTS (SELECT 1 FROM records n WHERE n.previous = r.id) ORDER BY id`)
	if err != nil {
		return err
	}
	err = t.query(ctx, func(rows *sql.Rows) error {
		var sum string
		var kept bool
		var file sql.RawBytes
		if err := rows.Scan(&sum, &kept, &file); err != nil {
			return err
		}
		number, issued := held[sum]
		switch {
		case kept && book.FileOf(file).SHA256 == sum:
			delete(held, sum)
		case kept && !issued:
			report(store.Difference{Table: "files", Ref: sum, What: "the kept file is another one"})
		case issued:
			report(store.Difference{Table: "files", Ref: number, What: "the kept file is not the one that was issued"})
			delete(held, sum)
		}
		return nil
	}, `SELECT sha256, bytes IS NOT NULL, bytes FROM files`)
	for _, number := range slices.Sorted(maps.Values(held)) {
		report(store.Difference{Table: "files", Ref: number, What: "the file that was issued is missing"})
	}
	return err
}
