package storetest

import (
	"database/sql"
	"fmt"
	"slices"
	"strings"
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
)

// journalTables never change a row; the fixture of testGuards has one in each.
var journalTables = []string{"book", "entries", "postings", "records", "files"}

// everyKind is one record of each kind.
func everyKind() []book.Record {
	return []book.Record{
		book.Setting{Key: "tolerance", Value: "0.02"}, book.Party{Name: "Acme", Role: "vendor"},
		book.Parcel{Code: "P1"},
		book.Charge{Code: "C1", Parcel: "P1"}, book.Reading{Number: 1, Lot: "A-1"}, book.Report{Lab: "Lab",
			Number: "1"},
		book.Rate{Kind: "fx", Name: "USD", On: day}, book.Price{Species: "topaz", On: day}, book.Design{Line: "Sea",
			Name: "Ring"},
		book.Line{Name: "Sea"}, book.Hold{Lot: "A-1", For: "Sea/Ring/centre", Pieces: 1}, book.Order{Number: "O1"},
		book.Memo{Number: "M1"}, book.Sale{Number: "S1"}, book.Work{Number: "W1"}, document("STOCK-2026-0001", "bytes"),
		book.Offer{Parcel: "P1", Number: 1}, book.Void{Reading: "R1", Lot: "A-1", Reason: "another stone"},
		book.Transfer{Number: "T1", To: "safe/Porto", At: "paper/T1"},
		book.Ticket{Number: "W2", Party: "Ito", At: "paper/W2"}, book.Batch{Paper: "M1", Number: 1, Party: "Öz"},
		book.Credit{Sale: "S1", Number: 1}, book.Payment{Number: "PAY1", Parts: []book.PaymentPart{{For: "S1"}}},
		book.Claim{Number: "K1"},
		book.Period{Month: "2026-01", Closed: true},
		book.Alias{Name: "Acme Ltd", Into: "Acme"},
		book.Bid{Order: "O1", Number: 1, Cutter: "Vane"},
		picture("PIC1", "large", "small"),
	}
}

// header inserts the header of the next entry with its counts.
const header = `INSERT INTO entries (id, code, kind, posted_on, recorded_at, reason, who, posting_count, record_count,
		previous_hash, hash, body)
	SELECT id + 1, 'E' || (id + 1), 'adjust', posted_on, recorded_at, 'by hand', '', %d, %d, hash,
		'0000000000000000000000000000000000000000000000000000000000000000', '{}' FROM entries ORDER BY id DESC LIMIT 1`

// posting inserts one posting of the next entry for the first lot.
const posting = `INSERT INTO postings (entry_id, line, lot_id, place, pieces, carats, cost)
	SELECT max(id) + 1, %d, (SELECT min(id) FROM records WHERE kind = 'lot'), '%s', %d, %d, %d FROM entries`

// record inserts one record of an entry, %s, such as the next.
const record = `INSERT INTO records (id, kind, key, entry_id, line, previous, doc)
	SELECT (SELECT max(id) + 1 FROM records), '%s', 'x', %s, 1, %s, '%s' FROM entries`

// next is the entry of header and posting.
const next = "max(id) + 1"

func testGuards(t *testing.T, e Engine) {
	f := newFixture(t, e)
	first := buy(lot("P1", "A-1"), 10, 10000, cents(5000))
	first.Records = append(first.Records, everyKind()...)
	f.mustPost(first)
	f.mustPost(move(ledger.Issue, "A-1", book.Safe, "setter/Ito", 1, 1000, cents(500)))
	f.close()
	for _, kind := range book.Kinds {
		if !slices.ContainsFunc(first.Records, func(r book.Record) bool { return r.RecordKind() == kind }) {
			t.Errorf("no %s is tried: add one to everyKind", kind)
		}
	}
	db, err := e.Raw(f.address)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()

	post := func(line int, place string, pieces, carats, cost int64) string {
		return fmt.Sprintf(posting, line, place, pieces, carats, cost)
	}
	head := func(postings, records int) string { return fmt.Sprintf(header, postings, records) }
	write := func(kind, entry, previous, doc string) string { return fmt.Sprintf(record, kind, entry, previous, doc) }
	// What a right program does goes through, so that the refusals below mean something.
	for name, statements := range map[string][]string{
		"an entry":        {post(1, "safe", -1, -1000, 0), post(2, "loss/count", 1, 1000, 0), head(2, 0)},
		"a record":        {write("hold", next, "NULL", "{}"), head(0, 1)},
		"a newer version": {write("hold", next, theHold, "{}"), head(0, 1)},
		"places of papers": {post(1, "safe", -3, 0, 0), post(2, "paper/M1", 1, 0, 0), post(3, "safe/Porto", 1, 0, 0),
			post(4, "made/piece", 1, 0, 0), head(4, 0)},
	} {
		if err := rolledBack(db, statements...); err != nil {
			t.Errorf("%s is refused: %v", name, err)
		}
	}
	if err := commit(db, post(1, "safe", -1, -1000, 0), post(2, "loss/count", 1, 1000, 0), head(2, 0)); err != nil {
		t.Fatalf("a right entry is refused: %v", err)
	}
	for name, statements := range map[string][]string{
		"pieces do not balance":       {post(1, "safe", -1, 0, 0), head(1, 0)},
		"carats do not balance":       {post(1, "safe", 0, -1, 0), post(2, "loss/weighing", 0, 2, 0), head(2, 0)},
		"cost does not balance":       {post(1, "safe", 0, 0, 10000), head(1, 0)},
		"fewer postings than it says": {post(1, "safe", -1, 0, 0), post(2, "loss/count", 1, 0, 0), head(3, 0)},
		"more postings than it says":  {post(1, "safe", -1, 0, 0), post(2, "loss/count", 1, 0, 0), head(1, 1)},
		"records it does not have":    {post(1, "safe", -1, 0, 0), post(2, "loss/count", 1, 0, 0), head(2, 1)},
		"an empty entry":              {head(0, 0)},
		"postings without a header":   {post(1, "safe", -1, 0, 0), post(2, "loss/count", 1, 0, 0)},
		"pieces below zero":           {post(1, "safe", -10, 0, 0), post(2, "loss/count", 10, 0, 0), head(2, 0)},
		"carats below zero":           {post(1, "safe", 0, -9001, 0), post(2, "loss/count", 0, 9001, 0), head(2, 0)},
		"cost below zero": {post(1, "safe", 0, 0, -90000000), post(2, "loss/count", 0, 0, 90000000),
			head(2, 0)},
		"cost without pieces":    {post(1, "safe", -9, -9000, 0), post(2, "loss/count", 9, 9000, 0), head(2, 0)},
		"a place that is none":   {post(1, "safe", -1, 0, 0), post(2, "shelf", 1, 0, 0), head(2, 0)},
		"weight made by cutting": {post(1, "safe", 0, 1, 0), post(2, "made/cutting", 0, -1, 0), head(2, 0)},
		"a posting to a finished one": {
			`INSERT INTO postings SELECT 1, 99, lot_id, 'loss/count', 0, 0, 0 FROM postings LIMIT 1`},
		"a posting of nothing": {strings.Replace(post(1, "safe", 0, 0, 0), "min(id)", "max(id) + 9", 1), head(1, 0)},
		"a posting of no lot":  {strings.Replace(post(1, "safe", 0, 0, 0), "'lot'", "'hold'", 1), head(1, 0)},
		"a posting of a later version": {
			strings.Replace(write("lot", next, "(SELECT min(id) FROM records WHERE kind = 'lot')", "{}"),
				"'x'", "'A-1'", 1),
			strings.Replace(post(1, "safe", 0, 0, 0), "min(id)", "max(id)", 1), head(1, 1)},
		"a record to a finished one": {write("hold", "1", "NULL", "{}")},
		"a record without a header":  {write("hold", next, "NULL", "{}")},
		"a record without a key": {strings.Replace(write("hold", next, "NULL", "{}"), "'x'", "''", 1),
			head(0, 1)},
		"a version of another kind": {write("memo", next, theHold, "{}"), head(0, 1)},
		"a version of nothing":      {write("hold", next, "999999", "{}"), head(0, 1)},
		"a second version of one": {write("hold", next, theHold, "{}"),
			strings.Replace(write("hold", next, theHold, "{}"), "1, (", "2, (", 1), head(0, 2)},
		"a newer version of a reading": {write("reading", next, strings.Replace(theHold, "hold", "reading", 1), "{}"),
			head(0, 1)},
		"a second reading of a number": {strings.Replace(write("reading", next, "NULL", "{}"), "'x'", "'r1'", 1),
			head(0, 1)},
		"a gap in the numbers": {strings.Replace(head(1, 0), "id + 1, 'E' || (id + 1)",
			"id + 2, 'E' || (id + 2)", 1)},
		"a seal on nothing":        {strings.Replace(head(1, 0), ", hash,", ", 'x',", 1)},
		"a record that is no JSON": {write("hold", next, "NULL", "{"), head(0, 1)},
		"a file under no hash":     {`INSERT INTO files (sha256, bytes) SELECT 'x', bytes FROM files`},
		"text for a number":        {`INSERT INTO counters VALUES ('x', 'many')`},
		"a second reversal": {strings.Replace(strings.Replace(head(1, 0), "record_count,",
			"record_count, reverses,", 1), ", hash,", ", 1, hash,", 1)},
		"a balance set below zero":     {`UPDATE balances SET pieces = -1`},
		"a balance without its pieces": {`UPDATE balances SET pieces = 0`},
		"a second book":                {`INSERT INTO book SELECT 2, currency, zone, created_at FROM book`},
	} {
		if err := commit(db, statements...); err == nil {
			t.Fatalf("the database takes %s; it is spoilt for what is left to try", name)
		}
	}
	for _, table := range journalTables {
		var n int
		if err := db.QueryRow(`SELECT count(*) FROM ` + table).Scan(&n); err != nil || n == 0 {
			t.Errorf("%s: %d rows to try (%v)", table, n, err)
		}
		rows, err := db.Query(`SELECT * FROM ` + table + ` LIMIT 0`)
		if err != nil {
			t.Fatal(err)
		}
		columns, err := rows.Columns()
		if err != nil {
			t.Fatal(err)
		}
		if err := rows.Close(); err != nil {
			t.Fatal(err)
		}
		last := columns[len(columns)-1]
		statements := []string{`UPDATE ` + table + ` SET ` + last + ` = ` + last, `DELETE FROM ` + table}
		for _, s := range e.Overwrite {
			statements = append(statements, fmt.Sprintf(s, table))
		}
		for _, statement := range statements {
			if err := commit(db, statement); err == nil {
				t.Fatalf("the database takes %q; it is spoilt for what is left to try", statement)
			}
		}
	}
	// None of it left a trace; only the entry written by hand has no true seal.
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	f.reopen()
	for _, d := range f.differences() {
		if d.Table != "entries" || d.Ref != "E3" {
			t.Errorf("after the refusals: %+v", d)
		}
	}
	if got := f.balance("A-1", book.Safe); got.Pieces != 8 {
		t.Errorf("in the safe: %+v", got)
	}
}

// theHold is the hold of everyKind.
const theHold = `(SELECT min(id) FROM records WHERE kind = 'hold')`

// commit runs the statements in one transaction and returns the first error, of
// the commit too: some guards speak only then.
func commit(db *sql.DB, statements ...string) error {
	return inOne(db, (*sql.Tx).Commit, statements)
}

// rolledBack runs the statements in one transaction that leaves no trace.
func rolledBack(db *sql.DB, statements ...string) error {
	return inOne(db, (*sql.Tx).Rollback, statements)
}

func inOne(db *sql.DB, end func(*sql.Tx) error, statements []string) error {
	tx, err := db.Begin()
	if err != nil {
		return err
	}
	defer tx.Rollback()
	for _, s := range statements {
		if _, err := tx.Exec(s); err != nil {
			return err
		}
	}
	return end(tx)
}

func testTampering(t *testing.T, e Engine) {
	t.Run("an entry sealed anew", func(t *testing.T) { testResealed(t, e) })
	t.Run("a purchase dated after its sale", func(t *testing.T) { testPastDay(t, e) })
	for name, c := range map[string]struct {
		table, statement string
		want             []string // tables of the differences, at least
	}{
		"a body": {"entries", `UPDATE entries SET body = replace(body, 'bought', 'stolen') WHERE id = 1`,
			[]string{"entries"}},
		"a hash": {"entries",
			`UPDATE entries SET hash = replace(hash, substr(hash, 1, 1), 'x') WHERE id = 2`, []string{"entries"}},
		"a reason": {"entries", `UPDATE entries SET reason = 'other' WHERE id = 1`, []string{"entries"}},
		"a date": {"entries", `UPDATE entries SET posted_on = '2025-01-01' WHERE id = 1`,
			[]string{"entries"}},
		"a posting": {"postings", `UPDATE postings SET carats = carats + 1 WHERE entry_id = 1 AND line = 1`,
			[]string{"entries", "postings"}},
		"a balanced pair": {"postings", `UPDATE postings SET pieces = pieces * 2 WHERE entry_id = 1`,
			[]string{"entries", "balances"}},
		"a posting taken out": {"postings", `DELETE FROM postings WHERE entry_id = 2 AND line = 2`,
			[]string{"entries", "balances", "postings"}},
		"an entry taken out": {"entries", `DELETE FROM entries WHERE id = 1`, []string{"entries"}},
		"a lot": {"records", `UPDATE records SET doc = replace(doc, 'topaz', 'beryl')`,
			[]string{"entries"}},
		"a lot's parcel": {"records", `UPDATE records SET doc = replace(doc, 'P1', 'P2')`,
			[]string{"entries", "refs"}},
		"a lot's code": {"records", `UPDATE records SET key = 'B-1' WHERE kind = 'lot'`,
			[]string{"entries", "current_versions"}},
		"a version cut off": {"records", `UPDATE records SET previous = NULL`, []string{"records"}},
		"a reading added": {"records", `INSERT INTO records (id, kind, key, entry_id, line, doc)
			SELECT max(id) + 1, 'reading', 'R2', 1, 3, '{"lot":"A-1"}' FROM records`, []string{"entries",
			"current_versions", "counters", "refs"}},
		"a ref":               {"refs", `UPDATE refs SET ref = 'other'`, []string{"refs"}},
		"a ref taken out":     {"refs", `DELETE FROM refs`, []string{"refs"}},
		"a balance":           {"balances", `UPDATE balances SET carats = carats + 1`, []string{"balances"}},
		"a balance taken out": {"balances", `DELETE FROM balances WHERE place = 'safe'`, []string{"balances"}},
		"an old version": {"current_versions",
			`UPDATE current_versions SET version_id = first_id WHERE kind = 'setting'`, []string{"current_versions"}},
		"a key taken out": {"current_versions", `DELETE FROM current_versions WHERE kind = 'lot'`,
			[]string{"current_versions"}},
		"a counter":           {"counters", `UPDATE counters SET last = last + 1`, []string{"counters"}},
		"a counter taken out": {"counters", `DELETE FROM counters`, []string{"counters"}},
		"a file":              {"files", `UPDATE files SET bytes = substr(bytes, 2)`, []string{"files"}},
		"a file emptied":      {"files", `UPDATE files SET bytes = NULL`, []string{"files"}},
		"a file taken out":    {"files", `DELETE FROM files`, []string{"files"}},
	} {
		t.Run(name, func(t *testing.T) {
			f := newFixture(t, e)
			first := buy(lot("P1", "A-1"), 10, 10000, cents(5000))
			first.Records = append(first.Records, document("STOCK-2026-0001", "bytes"))
			f.mustPost(first)
			f.mustPost(move(ledger.Issue, "A-1", book.Safe, "setter/Ito", 1, 1000, cents(500)))
			for _, v := range []string{"a", "b"} {
				f.mustPost(ledger.Entry{Kind: ledger.Record, Records: []book.Record{book.Setting{Key: "k", Value: v}}})
			}
			f.mustCheck()
			f.close()
			db, err := e.Raw(f.address)
			if err != nil {
				t.Fatal(err)
			}
			defer db.Close()
			if err := e.Unguard(db, c.table); err != nil {
				t.Fatal(err)
			}
			if _, err := db.Exec(c.statement); err != nil {
				t.Fatal(err)
			}
			if err := db.Close(); err != nil {
				t.Fatal(err)
			}
			f.reopen()
			found := map[string]bool{}
			for _, d := range f.differences() {
				found[d.Table] = true
				if d.What == "" {
					t.Errorf("difference without words: %+v", d)
				}
			}
			for _, table := range c.want {
				if !found[table] {
					t.Errorf("the check finds nothing in %s, only in %v", table, found)
				}
			}
		})
	}
}

// testResealed: who changes an entry everywhere and seals it anew is found out
// by the next entry.
func testResealed(t *testing.T, e Engine) {
	f := newFixture(t, e)
	f.mustPost(buy(lot("P1", "A-1"), 10, 10000, cents(5000)))
	f.mustPost(move(ledger.Issue, "A-1", book.Safe, "setter/Ito", 1, 1000, cents(500)))
	f.close()
	db, err := e.Raw(f.address)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if err := e.Unguard(db, "entries"); err != nil {
		t.Fatal(err)
	}
	var body string
	if err := db.QueryRow(`SELECT body FROM entries WHERE id = 1`).Scan(&body); err != nil {
		t.Fatal(err)
	}
	body = strings.Replace(body, `"reason":"bought"`, `"reason":"found"`, 1)
	if _, err := db.Exec(`UPDATE entries SET reason = 'found', body = $1, hash = $2 WHERE id = 1`, body,
		sealOf("", body)); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	f.reopen()
	if d := f.differences(); len(d) != 1 || d[0].Table != "entries" || d[0].Ref != "E2" {
		t.Errorf("differences = %+v, want one, at E2", d)
	}
}

// testPastDay: entries that are dated anew and sealed anew, all of them, agree with
// themselves, but not with the law on the days between.
func testPastDay(t *testing.T, e Engine) {
	f := newFixture(t, e)
	on := func(d book.Date, x ledger.Entry) ledger.Entry {
		x.PostedOn = d
		return x
	}
	f.mustPost(on("2026-02-01", buy(lot("P1", "A-1"), 10, 10000, cents(5000))))
	f.mustPost(on("2026-02-10", move(ledger.Issue, "A-1", book.Safe, "setter/Ito", 4, 4000, cents(2000))))
	wrong := f.mustPost(on("2026-02-20", move(ledger.Issue, "A-1", book.Safe, "setter/Ito", 1, 1000, cents(500))))
	f.mustPost(wrong.Reversed("2026-02-20", "wrong setter", "")) // dated by what it reverses: no difference
	if d := f.differences(); len(d) != 0 {
		t.Fatalf("differences = %+v, want none", d)
	}
	f.close()
	db, err := e.Raw(f.address)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if err := e.Unguard(db, "entries"); err != nil {
		t.Fatal(err)
	}
	hash := ""
	for id := 1; id <= 4; id++ {
		var body, date string
		if err := db.QueryRow(`SELECT body, posted_on FROM entries WHERE id = $1`, id).Scan(&body, &date); err != nil {
			t.Fatal(err)
		}
		if id == 1 {
			body, date = strings.Replace(body, `"2026-02-01"`, `"2026-02-15"`, 1), "2026-02-15"
		}
		sealed := sealOf(hash, body)
		if _,
			err := db.Exec(`UPDATE entries SET body = $1, posted_on = $2, previous_hash = $3, hash = $4 WHERE id = $5`,
			body, date, hash, sealed, id); err != nil {
			t.Fatal(err)
		}
		hash = sealed
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	f.reopen()
	d := f.differences()
	if len(d) != 1 || d[0].Table != "days" || d[0].Ref != "A-1" || !strings.Contains(d[0].What,
		"2026-02-10 safe has -4") {
		t.Errorf("differences = %+v, want that of safe on 2026-02-10", d)
	}
}
