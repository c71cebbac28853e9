package sqlstore

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"maps"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// derivedVersion numbers the rules by which the derived tables follow from the
// journal. Raise it when derive changes, or the Refs of a kind of record: a book
// whose tables follow other rules is derived again when it is opened.
const derivedVersion = 3

// derived is what the derived tables must hold.
type derived struct {
	balances map[spot]sums
	current  map[name]version
	counters map[string]int64
	refs     map[reference]bool
	days     *dayEnds
}

// spot is a lot, by the id of its first version, at a real place.
type spot struct {
	lot   int64
	place string
}

type sums struct{ pieces, carats, cost int64 }

// name is a record's kind and folded key.
type name struct {
	kind book.Kind
	key  string
}

// reference says that a record, by the id of its first version, speaks of ref.
type reference struct {
	kind   book.RefKind
	ref    string
	record int64
}

// derive works out what the derived tables must hold, from the journal alone:
// Check compares the tables with it, and rebuild writes it. Versions that do
// not follow each other are reported.
func (t *readTx) derive(ctx context.Context, report func(store.Difference)) (*derived, error) {
	d := &derived{map[spot]sums{}, map[name]version{}, map[string]int64{}, map[reference]bool{},
		newDayEnds()}
	known := map[string]string{} // texts that come again and again, once
	same := func(s string) string {
		if _, ok := known[s]; !ok {
			s = strings.Clone(s)
			known[s] = s
		}
		return known[s]
	}
	err := t.query(ctx, func(rows *sql.Rows) error {
		var id int64
		var kind, key string
		var previous sql.NullInt64
		var doc sql.RawBytes
		if err := rows.Scan(&id, &kind, &key, &previous, &doc); err != nil {
			return err
		}
		n := name{book.Kind(same(kind)), fold(key)}
		v := d.current[n]
		if previous.Int64 != v.newest {
			report(store.Difference{Table: "records", Ref: kind + " " + key,
				What: "a version does not follow the one before it"})
		}
		if v.first == 0 {
			v.first = id
		}
		v.newest = id
		d.current[n] = v
		if series, n, ok := book.Series(book.Kind(kind), key); ok {
			d.counters[series] = max(d.counters[series], n)
		}
		r, err := store.Decode(n.kind, key, doc)
		if err != nil {
			return err
		}
		for _, ref := range r.Refs() {
			d.refs[reference{ref.Kind, same(fold(ref.Name)), v.first}] = true
		}
		return nil
	}, `SELECT id, kind, key, previous, doc FROM records ORDER BY id`)
	if err != nil {
		return nil, err
	}
	return d, t.query(ctx, func(rows *sql.Rows) error {
		var at spot
		var x sums
		var on string
		if err := rows.Scan(&at.lot, &at.place, &x.pieces, &x.carats, &x.cost, &on); err != nil {
			return err
		}
		if at.place = same(at.place); book.Place(at.place).IsReal() {
			sum := d.balances[at]
			d.days.next(at, same(on), sum)
			d.balances[at] = sums{sum.pieces + x.pieces, sum.carats + x.carats, sum.cost + x.cost}
		}
		return nil
	}, `SELECT p.lot_id, p.place, p.pieces, p.carats, p.cost, coalesce(e.posted_on, '')
		FROM postings p LEFT JOIN entries e ON e.id = p.entry_id ORDER BY p.entry_id, p.line`)
}

// rebuild writes the derived tables anew.
func (w *writeTx) rebuild(ctx context.Context) error {
	d, err := w.derive(ctx, func(store.Difference) {}) // what is wrong with the journal is Check's to say
	if err != nil {
		return err
	}
	for _, table := range []string{"balances", "current_versions", "counters", "refs"} {
		if _, err := w.tx.ExecContext(ctx, `DELETE FROM `+table); err != nil {
			return err
		}
	}
	balances, counters, byKind := intoBalances(), intoCounters(), newKindBulks()
	for at, x := range sorted(d.balances, compareSpots) {
		if err := balances.add(ctx, w.readTx, at.lot, at.place, x.pieces, x.carats, x.cost); err != nil {
			return err
		}
	}
	for n, v := range sorted(d.current, compareNames) {
		if err := byKind.current(n.kind, true).add(ctx, w.readTx, n.key, v.first, v.newest); err != nil {
			return err
		}
	}
	for series, n := range sorted(d.counters, strings.Compare) {
		if err := counters.add(ctx, w.readTx, series, n); err != nil {
			return err
		}
	}
	for r := range sorted(d.refs, compareReferences) {
		if err := byKind.refs(r.kind).add(ctx, w.readTx, r.ref, r.record); err != nil {
			return err
		}
	}
	for _, rows := range []*bulk{balances, counters} {
		if err := rows.flush(ctx, w.readTx); err != nil {
			return err
		}
	}
	if err := byKind.flush(ctx, w.readTx); err != nil {
		return err
	}
	_, err = w.tx.ExecContext(ctx, `UPDATE derived SET version = $1`, derivedVersion)
	return err
}

func intoBalances() *bulk {
	return newBulk(`INSERT INTO balances (lot_id, place, pieces, carats, cost)`, `(?, ?, ?, ?, ?)`, "")
}

func intoCounters() *bulk {
	return newBulk(`INSERT INTO counters (series, last)`, `(?, ?)`,
		` ON CONFLICT (series) DO UPDATE SET last = excluded.last WHERE excluded.last > counters.last`)
}

// intoCurrent takes key, first and newest version of keys of one kind.
func intoCurrent(kind book.Kind, isNew bool) *bulk {
	b := newBulk(`INSERT INTO current_versions (kind, key, first_id, version_id)`, `('`+string(kind)+`', ?, ?, ?)`, "")
	if !isNew {
		b.suffix = ` ON CONFLICT (kind, key) DO UPDATE SET version_id = excluded.version_id`
	}
	return b
}

// intoRefs takes the name and the record of refs of one kind.
func intoRefs(kind book.RefKind) *bulk {
	return newBulk(`INSERT INTO refs (kind, ref, record)`, `('`+string(kind)+`', ?, ?)`,
		` ON CONFLICT (kind, ref, record) DO NOTHING`)
}

// kindBulks are the bulks of tables whose rows have a kind, one a kind.
type kindBulks struct {
	of    map[kindBulk]*bulk
	order []*bulk // as they were asked for
}

type kindBulk struct {
	table, kind string
	isNew       bool
}

func newKindBulks() *kindBulks { return &kindBulks{of: map[kindBulk]*bulk{}} }

func (k *kindBulks) get(key kindBulk, make func() *bulk) *bulk {
	b := k.of[key]
	if b == nil {
		b = make()
		k.of[key] = b
		k.order = append(k.order, b)
	}
	return b
}

// records takes id, key, entry, line and document of records of one kind, and
// before the document the version that each replaces, unless their keys are new.
func (k *kindBulks) records(kind book.Kind, isNew bool) *bulk {
	return k.get(kindBulk{"records", string(kind), isNew}, func() *bulk {
		previous := "?"
		if isNew {
			previous = "NULL"
		}
		return newBulk(`INSERT INTO records (id, kind, key, entry_id, line, previous, doc)`,
			`(?, '`+string(kind)+`', ?, ?, ?, `+previous+`, ?)`, "")
	})
}

func (k *kindBulks) current(kind book.Kind, isNew bool) *bulk {
	return k.get(kindBulk{"current_versions", string(kind), isNew}, func() *bulk { return intoCurrent(kind, isNew) })
}

func (k *kindBulks) refs(kind book.RefKind) *bulk {
	return k.get(kindBulk{"refs", string(kind), false}, func() *bulk { return intoRefs(kind) })
}

// flush writes the rows that wait.
func (k *kindBulks) flush(ctx context.Context, t *readTx) error {
	for _, b := range k.order {
		if err := b.flush(ctx, t); err != nil {
			return err
		}
	}
	return nil
}

// sorted walks a map in the order of its keys.
func sorted[K comparable, V any](m map[K]V, order func(a, b K) int) func(yield func(K, V) bool) {
	return func(yield func(K, V) bool) {
		for _, k := range slices.SortedFunc(maps.Keys(m), order) {
			if !yield(k, m[k]) {
				return
			}
		}
	}
}

func compareSpots(a, b spot) int {
	return cmp.Or(cmp.Compare(a.lot, b.lot), cmp.Compare(a.place, b.place))
}

func compareNames(a, b name) int {
	return cmp.Or(cmp.Compare(a.kind, b.kind), cmp.Compare(a.key, b.key))
}

func compareReferences(a, b reference) int {
	return cmp.Or(cmp.Compare(a.kind, b.kind), cmp.Compare(a.ref, b.ref), cmp.Compare(a.record, b.record))
}

// checkDerived compares the derived tables with what the journal says.
func (t *readTx) checkDerived(ctx context.Context, report func(store.Difference)) error {
	d, err := t.derive(ctx, report)
	if err != nil {
		return err
	}
	if err := d.days.report(ctx, t, report); err != nil {
		return err
	}
	if err := t.checkBalances(ctx, d, report); err != nil {
		return err
	}
	err = t.query(ctx, func(rows *sql.Rows) error {
		var n name
		var v version
		if err := rows.Scan(&n.kind, &n.key, &v.first, &v.newest); err != nil {
			return err
		}
		if d.current[n] != v {
			report(store.Difference{Table: "current_versions", Ref: string(n.kind) + " " + n.key,
				What: "does not name the first and the newest version"})
		}
		delete(d.current, n)
		return nil
	}, `SELECT kind, key, first_id, version_id FROM current_versions`)
	if err != nil {
		return err
	}
	for n := range sorted(d.current, compareNames) {
		report(store.Difference{Table: "current_versions", Ref: string(n.kind) + " " + n.key, What: "is missing"})
	}
	err = t.query(ctx, func(rows *sql.Rows) error {
		var series string
		var n int64
		if err := rows.Scan(&series, &n); err != nil {
			return err
		}
		if d.counters[series] != n {
			report(store.Difference{Table: "counters", Ref: series,
				What: fmt.Sprintf("stands at %d, but the records say %d", n, d.counters[series])})
		}
		delete(d.counters, series)
		return nil
	}, `SELECT series, last FROM counters`)
	if err != nil {
		return err
	}
	for series, n := range sorted(d.counters, strings.Compare) {
		report(store.Difference{Table: "counters", Ref: series, What: fmt.Sprintf("is missing, but the records say %d",
			n)})
	}
	err = t.query(ctx, func(rows *sql.Rows) error {
		var r reference
		if err := rows.Scan(&r.kind, &r.ref, &r.record); err != nil {
			return err
		}
		if !d.refs[r] {
			report(r.difference("is there, but no version of the record speaks of it"))
		}
		delete(d.refs, r)
		return nil
	}, `SELECT kind, ref, record FROM refs`)
	if err != nil {
		return err
	}
	for r := range sorted(d.refs, compareReferences) {
		report(r.difference("is missing"))
	}
	return nil
}

func (r reference) difference(what string) store.Difference {
	return store.Difference{Table: "refs", Ref: fmt.Sprintf("%s %s of record %d", r.kind, r.ref, r.record), What: what}
}

// checkBalances compares the balances with the sums of the postings.
func (t *readTx) checkBalances(ctx context.Context, d *derived, report func(store.Difference)) error {
	type side struct {
		said string
		at   spot
		sums
	}
	var wrong []side
	err := t.query(ctx, func(rows *sql.Rows) error {
		var at spot
		var x sums
		if err := rows.Scan(&at.lot, &at.place, &x.pieces, &x.carats, &x.cost); err != nil {
			return err
		}
		if want, posted := d.balances[at]; !posted || want != x {
			wrong = append(wrong, side{"the balance says: ", at, x})
			return nil
		}
		delete(d.balances, at)
		return nil
	}, `SELECT lot_id, place, pieces, carats, cost FROM balances`)
	if err != nil {
		return err
	}
	for at, x := range sorted(d.balances, compareSpots) {
		wrong = append(wrong, side{"the postings say: ", at, x})
	}
	for _, w := range wrong {
		var code string
		err := t.query(ctx, func(rows *sql.Rows) error { return rows.Scan(&code) },
			`SELECT key FROM records WHERE id = $1`, w.at.lot)
		if err != nil {
			return err
		}
		total := t.total(w.sums)
		report(store.Difference{Table: "balances", Ref: code,
			What: fmt.Sprintf("%s%s has %d pieces, %s ct, %s", w.said, w.at.place, total.Pieces, total.Carats,
				total.Cost.Words())})
	}
	return nil
}

// checkPostings: each entry adds up to zero, and each posting names the first
// version of a lot.
func (t *readTx) checkPostings(ctx context.Context, report func(store.Difference)) error {
	err := t.query(ctx, func(rows *sql.Rows) error {
		var entry int64
		err := rows.Scan(&entry)
		report(store.Difference{Table: "postings", Ref: ledger.Code(entry),
			What: "the entry does not balance in pieces, carats and " + string(t.store.meta.Currency)})
		return err
	}, `SELECT entry_id FROM postings GROUP BY entry_id HAVING sum(pieces) <> 0 OR sum(carats) <> 0 OR sum(cost) <> 0`)
	if err != nil {
		return err
	}
	return t.query(ctx, func(rows *sql.Rows) error {
		var code string
		err := rows.Scan(&code)
		report(store.Difference{Table: "postings", Ref: code, What: "a posting does not name the first version of " +
			"its lot"})
		return err
	}, `SELECT DISTINCT coalesce(l.key, '') FROM postings p LEFT JOIN records l ON l.id = p.lot_id
		WHERE l.id IS NULL OR l.previous IS NOT NULL OR l.kind <> 'lot'`)
}
