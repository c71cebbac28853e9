package storetest

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

func testRecords(t *testing.T, e Engine) {
	f := newFixture(t, e)
	first := f.mustPost(buy(lot("P1", "Öl-1"), 1, 2000, cents(1000)))
	l := lot("P1", "Öl-1")
	l.Species, l.Note = "beryl", "tested <&>\u2028"
	second := f.mustPost(ledger.Entry{Kind: ledger.Record, Records: []book.Record{&l, book.Setting{Key: "tolerance",
		Value: "0.02"}}})
	f.view(func(ctx context.Context, tx store.ReadTx) {
		got, err := store.Get[book.Lot](ctx, tx, "öL-1") // keys compare without case, in every alphabet
		if err != nil || got.Species != "beryl" || got.Note != l.Note {
			t.Errorf("newest = %+v, %v", got, err)
		}
		versions, err := store.Versions[book.Lot](ctx, tx, "ÖL-1")
		if err != nil || len(versions) != 2 || versions[0].Species != "topaz" || versions[1].Species != "beryl" {
			t.Errorf("versions = %+v, %v", versions, err)
		}
		rows, err := tx.History(ctx, book.KindLot, "Öl-1")
		if err != nil || len(rows) != 2 || rows[0].Entry != first.Code || rows[1].Entry != second.Code {
			t.Errorf("history = %+v, %v", rows, err)
		}
		if bytes.Contains(rows[1].Doc, []byte(`\u003c`)) {
			t.Errorf("the document escapes <: %s", rows[1].Doc)
		}
		for _, kind := range book.Kinds {
			if _, err := tx.Row(ctx, kind, "nothing"); !errors.Is(err, store.ErrNotFound) {
				t.Errorf("row of no %s: %v, want not found", kind, err)
			}
		}
	})
	f.refused(ledger.Entry{Kind: ledger.Record, Records: []book.Record{book.Setting{Key: "a"}, book.Setting{Key: "A"}}},
		"record-twice")
	f.refused(ledger.Entry{Kind: ledger.Record, Records: []book.Record{book.Setting{}}}, "record-key")
	f.refused(ledger.Entry{Kind: ledger.Record, Records: []book.Record{lot("P1", "öl-1")}}, "lot-case")
	reading := book.Reading{Number: 1, Lot: "Öl-1", Test: "ri", Low: "1.570", On: day}
	f.mustPost(ledger.Entry{Kind: ledger.Record, Records: []book.Record{reading}})
	f.refused(ledger.Entry{Kind: ledger.Record, Records: []book.Record{reading}}, "record-exists")
	f.mustCheck()
}

func testPages(t *testing.T, e Engine) {
	f := newFixture(t, e)
	const lots = 25
	for i := range lots {
		code := fmt.Sprintf("%c-%d", 'C'-rune(i%3), i) // first writing is not the order of the keys
		entry := buy(lot("P1", code), 2, 2000, cents(100))
		entry.Postings = append(entry.Postings, ledger.Move(code, book.Safe, "setter/Ito", 1, 1000, cents(50))...)
		f.mustPost(entry)
	}
	f.view(func(ctx context.Context, tx store.ReadTx) {
		for _, prefix := range []string{"", "b", "C-1"} {
			all, err := store.All[book.Lot](ctx, tx, prefix)
			if err != nil {
				t.Fatal(err)
			}
			for _, size := range []int{1, 3, lots, 100} {
				var paged []book.Lot
				err := store.Each(ctx, tx, store.RowFilter{Prefix: prefix, Limit: size}, func(l book.Lot) error {
					paged = append(paged, l)
					return nil
				})
				if err != nil || !slices.EqualFunc(all, paged, func(a, b book.Lot) bool { return a.Code == b.Code }) {
					t.Errorf("prefix %q by pages of %d gives %d lots, want %d (%v)", prefix, size, len(paged),
						len(all), err)
				}
			}
			if prefix == "" && (len(all) != lots || all[0].Code != "C-0" || all[1].Code != "B-1") {
				t.Errorf("lots are not in the order of first writing: %v", all)
			}
		}
		for _, filter := range []store.BalanceFilter{{}, {RealOnly: true}, {Place: "setter/Ito"}, {Place: acme}} {
			all, err := tx.Balances(ctx, filter)
			if err != nil {
				t.Fatal(err)
			}
			var paged []ledger.Balance
			seen := 0
			for filter.Limit = 4; ; filter.AfterLot = paged[len(paged)-1].Lot {
				page, err := tx.Balances(ctx, filter)
				if err != nil {
					t.Fatal(err)
				}
				if len(page) == 0 {
					break
				}
				onPage := map[string]bool{}
				for _, b := range page {
					onPage[b.Lot] = true
				}
				if len(onPage) != min(filter.Limit, lots-seen) {
					t.Errorf("a page of %+v has %d lots after %d", filter, len(onPage), seen)
				}
				seen += len(onPage)
				paged = append(paged, page...)
			}
			if !slices.Equal(all, paged) {
				t.Errorf("balances %+v by pages differ:\n%v\n%v", filter, all, paged)
			}
			if perLot := map[bool]int{true: 2, false: 1}[filter.RealOnly]; filter.Place == "" && filter.RealOnly &&
				len(all) != perLot*lots {
				t.Errorf("%d real balances, want %d", len(all), perLot*lots)
			}
		}
		var sequence int64
		for n := 0; ; n++ {
			page, err := tx.Entries(ctx, store.EntryFilter{After: sequence, Limit: 7})
			if err != nil {
				t.Fatal(err)
			}
			if len(page) == 0 {
				if sequence != lots || n != 4 {
					t.Errorf("%d entries in %d pages", sequence, n)
				}
				break
			}
			sequence = page[len(page)-1].Sequence
		}
	})
}

// testRefs: records are found by what they speak of, and balances by what their
// lots do.
func testRefs(t *testing.T, e Engine) {
	f := newFixture(t, e)
	child := lot("P1", "A-1.1")
	child.Parent = "A-1"
	lent := lot("P2", "B-1")
	lent.Owner = "memo-in/Öz"
	for _, l := range []book.Lot{lot("P1", "A-1"), child, lot("P2", "A-2"), lent} {
		f.mustPost(buy(l, 10, 10000, cents(0)))
	}
	for i, code := range []string{"A-1", "a-1", "A-2"} {
		f.mustPost(ledger.Entry{Kind: ledger.Record, Records: []book.Record{book.Reading{Number: int64(i + 1),
			Lot: code}}})
	}
	memo := book.Memo{Number: "M1", Party: "Öz", Lots: []book.SuppliedLot{{Lot: "A-1"}, {Lot: "A-2"}, {Lot: "A-1"}}}
	f.mustPost(ledger.Entry{Kind: ledger.Record, Records: []book.Record{memo}})
	keys := func(tx store.ReadTx, kind book.Kind, filter store.RowFilter) (out []string) {
		t.Helper()
		rows, err := tx.Rows(t.Context(), kind, filter)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range rows {
			out = append(out, r.Key)
		}
		return out
	}
	f.view(func(ctx context.Context, tx store.ReadTx) {
		for _, c := range []struct {
			kind   book.Kind
			filter store.RowFilter
			want   []string
		}{
			{book.KindLot, store.RowFilter{Ref: book.ToParcel("p1")}, []string{"A-1", "A-1.1"}},
			{book.KindLot, store.RowFilter{Ref: book.ToParcel("P1"), Limit: 1}, []string{"A-1"}},
			{book.KindLot, store.RowFilter{Ref: book.ToParcel("P1"), Prefix: "a-1."}, []string{"A-1.1"}},
			{book.KindLot, store.RowFilter{Ref: book.ToParcel("P")}, nil},
			{book.KindLot, store.RowFilter{Ref: book.ToLot("a-1")}, []string{"A-1.1"}},
			{book.KindLot, store.RowFilter{Ref: book.ToParty("öZ")}, []string{"B-1"}},
			{book.KindReading, store.RowFilter{Ref: book.ToLot("A-1")}, []string{"R1", "R2"}},
			{book.KindMemo, store.RowFilter{Ref: book.ToLot("A-2")}, []string{"M1"}},
			{book.KindMemo, store.RowFilter{Ref: book.ToParty("ÖZ")}, []string{"M1"}},
			{book.KindMemo, store.RowFilter{Ref: book.ToParcel("A-2")}, nil},
		} {
			if got := keys(tx, c.kind, c.filter); !slices.Equal(got, c.want) {
				t.Errorf("%s by %+v: %v, want %v", c.kind, c.filter, got, c.want)
			}
		}
		var paged []string
		err := store.Each(ctx, tx, store.RowFilter{Ref: book.ToLot("A-1"), Limit: 1}, func(r book.Reading) error {
			paged = append(paged, r.RecordKey())
			return nil
		})
		if err != nil || !slices.Equal(paged, []string{"R1", "R2"}) {
			t.Errorf("readings of A-1 by pages = %v, %v", paged, err)
		}
		balances, err := tx.Balances(ctx, store.BalanceFilter{Ref: book.ToParcel("P2"), RealOnly: true})
		if err != nil || len(balances) != 2 || balances[0].Lot != "A-2" || balances[1].Lot != "B-1" {
			t.Errorf("balances of P2 = %+v, %v", balances, err)
		}
	})
	// What the newest version no longer says is still found by Rows, not by Each.
	memo.Lots = memo.Lots[1:2]
	f.mustPost(ledger.Entry{Kind: ledger.Record, Records: []book.Record{memo}})
	f.view(func(ctx context.Context, tx store.ReadTx) {
		if got := keys(tx, book.KindMemo, store.RowFilter{Ref: book.ToLot("A-1")}); !slices.Equal(got, []string{"M1"}) {
			t.Errorf("memos that ever had A-1: %v", got)
		}
		for code, want := range map[string]int{"A-1": 0, "A-2": 1} {
			if memos, err := store.Of[book.Memo](ctx, tx, book.ToLot(code)); err != nil || len(memos) != want {
				t.Errorf("memos that have %s: %+v, %v", code, memos, err)
			}
		}
	})
	f.mustCheck()
}

func testSeries(t *testing.T, e Engine) {
	f := newFixture(t, e)
	next := func(series string) (n int64) {
		err := f.store.Update(t.Context(), func(tx store.Tx) error {
			var err error
			if n, err = tx.Next(t.Context(), series); err != nil {
				return err
			}
			return store.ErrRollback
		})
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	if n := next("parcel"); n != 1 {
		t.Errorf("first parcel = %d", n)
	}
	records := []book.Record{book.Parcel{Code: "P4"}, lot("P4", "P4-7"), lot("P4", "P4-7.2"), lot("P4", "red")}
	f.mustPost(ledger.Entry{Kind: ledger.Buy, Records: records})
	f.mustPost(ledger.Entry{Kind: ledger.Buy, Records: []book.Record{book.Parcel{Code: "P2"}}})
	for series, want := range map[string]int64{"parcel": 5, book.LotSeries("p4"): 8, book.LotSeries("P4-7"): 3,
		book.LotSeries("P4-8"): 1, "charge": 1} {
		if n := next(series); n != want {
			t.Errorf("next of %s = %d, want %d", series, n, want)
		}
	}
	f.mustCheck()
}

func document(number, content string) book.Document {
	sum := sha256.Sum256([]byte(content))
	return book.Document{Number: number, Kind: "STOCK", On: day, SHA256: hex.EncodeToString(sum[:]),
		Model: []byte(`{"a":1}`), Bytes: []byte(content)}
}

// picture is a picture of A-1 of two files.
func picture(number, large, small string) book.Picture {
	l, s := book.FileOf([]byte(large)), book.FileOf([]byte(small))
	return book.Picture{Number: number, Lot: "A-1", View: book.FaceView, On: day, SHA256: l.SHA256,
		SmallSHA256: s.SHA256,
		Large:       l.Bytes, Small: s.Bytes}
}

// testPictures: a picture that is removed is there no more, and its versions are;
// the same bytes of another number stay, and those of a document are refused.
func testPictures(t *testing.T, e Engine) {
	f := newFixture(t, e)
	one, two := picture("PIC1", "large", "small"), picture("PIC2", "issued", "little")
	f.mustPost(ledger.Entry{Kind: ledger.Record, Records: []book.Record{one, two,
		document("STOCK-2026-0001", "issued")}})
	there := func(want bool, sums ...string) {
		f.view(func(ctx context.Context, tx store.ReadTx) {
			for _, sum := range sums {
				if _, err := tx.File(ctx, sum); (err == nil) != want || err != nil &&
					!errors.Is(err, store.ErrNotFound) {
					t.Errorf("file %s: %v, wanted there: %v", sum, err, want)
				}
			}
		})
	}
	there(true, one.SHA256, one.SmallSHA256, two.SHA256, two.SmallSHA256)
	remove := func(p book.Picture) error {
		p.Removed = "blurred"
		return f.store.Update(t.Context(), func(tx store.Tx) error {
			e := ledger.Entry{Kind: ledger.Record, PostedOn: day, Reason: "removed", Records: []book.Record{p}}
			if err := tx.Post(t.Context(), &e); err != nil {
				return err
			}
			return tx.TakeOut(t.Context(), p.SHA256, p.SmallSHA256)
		})
	}
	if err := remove(one); err != nil {
		t.Fatal(err)
	}
	there(false, one.SHA256, one.SmallSHA256)
	f.mustCheck()
	if err := remove(two); err == nil {
		t.Error("the file of a document was taken out with a picture")
	}
	there(true, two.SHA256, two.SmallSHA256)
	f.mustPost(ledger.Entry{Kind: ledger.Record, Records: []book.Record{picture("PIC3", "large", "small")}})
	there(true, one.SHA256, one.SmallSHA256)
	f.mustCheck()
}

func testDocuments(t *testing.T, e Engine) {
	f := newFixture(t, e)
	first, empty := document("STOCK-2026-0001", "PK\x00\xff bytes"), document("STOCK-2026-0002", "")
	report := book.Report{Lab: "Lab", Number: "7", Lot: "A-1", On: day, File: "r.pdf", SHA256: first.SHA256,
		Bytes: first.Bytes}
	f.mustPost(ledger.Entry{Kind: ledger.Record, Records: []book.Record{first, &empty, report,
		book.Report{Lab: "Lab", Number: "8", Lot: "A-1", On: day}}})
	f.view(func(ctx context.Context, tx store.ReadTx) {
		for _, d := range []book.Document{first, empty} {
			if b, err := tx.File(ctx, d.SHA256); err != nil || !bytes.Equal(b, d.Bytes) {
				t.Errorf("file of %s = %q, %v", d.Number, b, err)
			}
		}
		if _, err := tx.File(ctx, document("STOCK-2026-0009", "nothing").SHA256); !errors.Is(err, store.ErrNotFound) {
			t.Errorf("file of no document: %v", err)
		}
		got, err := store.Get[book.Document](ctx, tx, first.Number)
		if err != nil || string(got.Model) != `{"a":1}` {
			t.Errorf("document = %+v, %v", got, err)
		}
	})
	// A number that is not the next one was taken from another state of the book.
	if _, err := f.post(ledger.Entry{Kind: ledger.Record, Records: []book.Record{document("STOCK-2026-0004",
		"x")}}); !errors.Is(err, store.ErrConflict) {
		t.Errorf("a gap in the numbers: %v, want a conflict", err)
	}
	wrong := document("STOCK-2026-0003", "x")
	wrong.Bytes = []byte("y")
	if _, err := f.post(ledger.Entry{Kind: ledger.Record, Records: []book.Record{wrong}}); err == nil {
		t.Error("bytes with another hash were kept")
	}
	f.mustCheck()
}

// testFiles: a file is kept once, by its hash. Only what no document holds may
// be taken out, and may come back.
func testFiles(t *testing.T, e Engine) {
	f := newFixture(t, e)
	f.mustPost(ledger.Entry{Kind: ledger.Record, Records: []book.Record{document("STOCK-2026-0001", "same"),
		document("STOCK-2026-0002", "same")}})
	picture := sha256.Sum256([]byte("a picture"))
	sum := hex.EncodeToString(picture[:])
	f.close()
	db, err := e.Raw(f.address)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var n int
	if err := db.QueryRow(`SELECT count(*) FROM files`).Scan(&n); err != nil || n != 1 {
		t.Errorf("%d files of the same bytes, %v", n, err)
	}
	if err := commit(db, `UPDATE files SET bytes = NULL`); err == nil {
		t.Error("the file of a document was taken out")
	}
	if _, err := db.Exec(`INSERT INTO files (sha256, bytes) VALUES ($1, $2)`, sum, []byte("a picture")); err != nil {
		t.Fatal(err)
	}
	if err := commit(db, `UPDATE files SET bytes = substr(bytes, 2) WHERE sha256 = '`+sum+`'`); err == nil {
		t.Error("a picture was written over")
	}
	if err := commit(db, `UPDATE files SET bytes = NULL WHERE sha256 = '`+sum+`'`); err != nil {
		t.Errorf("a picture that no document holds stays: %v", err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	f.reopen()
	f.mustCheck()
	f.mustPost(ledger.Entry{Kind: ledger.Record, Records: []book.Record{document("STOCK-2026-0003", "a picture")}})
	f.view(func(ctx context.Context, tx store.ReadTx) {
		if b, err := tx.File(ctx, sum); err != nil || string(b) != "a picture" {
			t.Errorf("file = %q, %v", b, err)
		}
	})
	f.mustCheck()
}

func testEntries(t *testing.T, e Engine) {
	f := newFixture(t, e)
	want := buy(lot("P1", "A-1"), 3, 4500, cents(3000))
	want.Who, want.Reason = "Ada", "parcel \"one\" — <first>"
	posted := f.mustPost(want)
	if posted.Code != "E1" || posted.Sequence != 1 || !posted.RecordedAt.Equal(f.clock.Now()) {
		t.Errorf("posted = %+v", posted)
	}
	f.clock.Advance(time.Hour + 300*time.Millisecond)
	f.mustPost(buy(lot("P1", "B-1"), 1, 500, cents(100)))
	// A code in another case is the same lot, and the entry says it as the book does.
	if x := f.mustPost(move(ledger.Issue, "a-1", book.Safe, "cutter/Okoro", 1, 1500,
		num.Money{})); x.Postings[0].Lot != "A-1" {
		t.Errorf("posting says %s", x.Postings[0].Lot)
	}
	f.view(func(ctx context.Context, tx store.ReadTx) {
		got, err := tx.Entry(ctx, "e1")
		if err != nil || got.Reason != want.Reason || got.Who != "Ada" || got.PostedOn != day ||
			!slices.Equal(got.Postings, want.Postings) {
			t.Errorf("entry = %+v, %v", got, err)
		}
		for _, code := range []string{"E9", "", "x", "E-1", "E0"} {
			if _, err := tx.Entry(ctx, code); !errors.Is(err, store.ErrNotFound) {
				t.Errorf("entry %q: %v, want not found", code, err)
			}
		}
		list, err := tx.Entries(ctx, store.EntryFilter{Lot: "a-1"})
		if err != nil || len(list) != 2 || list[0].Code != "E1" || list[1].Code != "E3" ||
			list[1].Kind != ledger.Issue {
			t.Errorf("entries of A-1 = %+v, %v", list, err)
		}
		if at := list[1].RecordedAt; !at.Equal(f.clock.Now().Truncate(time.Second)) {
			t.Errorf("recorded at %v", at)
		}
	})
	f.checkSeal()
}

// sealOf is the published rule of the seal, without the store's code.
func sealOf(previous, body string) string {
	sum := sha256.Sum256([]byte("lotpaper/entry/1\n" + previous + "\n" + body))
	return hex.EncodeToString(sum[:])
}

// checkSeal follows the chain.
func (f *fixture) checkSeal() {
	f.Helper()
	f.view(func(ctx context.Context, tx store.ReadTx) {
		bodies, err := tx.Bodies(ctx, 0, 0)
		if err != nil || len(bodies) == 0 {
			f.Fatalf("bodies: %d, %v", len(bodies), err)
		}
		previous := ""
		for _, b := range bodies {
			if b.Previous != previous || b.Hash != sealOf(previous, string(b.Body)) {
				f.Errorf("%s is not sealed by the rule", b.Code)
			}
			previous = b.Hash
			var e struct {
				ledger.Entry
				Records []struct {
					Kind book.Kind
					Key  string
					Doc  json.RawMessage
				}
			}
			if err := json.Unmarshal(b.Body, &e); err != nil {
				f.Fatalf("body of %s: %v", b.Code, err)
			}
			stored, err := tx.Entry(ctx, b.Code)
			if err != nil || e.Reason != stored.Reason || !e.RecordedAt.Equal(stored.RecordedAt) ||
				!slices.Equal(e.Postings, stored.Postings) {
				f.Errorf("body of %s says %+v, the tables %+v (%v)", b.Code, e.Entry, stored, err)
			}
			for _, r := range e.Records {
				history, err := tx.History(ctx, r.Kind, r.Key)
				if err != nil || !slices.ContainsFunc(history, func(row store.Row) bool {
					return row.Entry == b.Code &&
						bytes.Equal(row.Doc, r.Doc)
				}) {
					f.Errorf("body of %s has %s %s, which is not in the tables (%v)", b.Code, r.Kind, r.Key, err)
				}
			}
		}
		if head, err := tx.Head(ctx); err != nil || head.Hash != previous || head.Sequence != int64(len(bodies)) {
			f.Errorf("head = %+v, %v", head, err)
		}
	})
}

func testBalances(t *testing.T, e Engine) {
	f := newFixture(t, e)
	f.mustPost(buy(lot("P1", "A-1"), 10, 12345, cents(5000)))
	f.mustPost(move(ledger.Issue, "A-1", book.Safe, "cutter/Okoro", 4, 5000, cents(2000)))
	f.mustPost(ledger.Entry{Kind: ledger.Cut, Postings: []ledger.Posting{
		{Lot: "A-1", Place: "cutter/Okoro", Pieces: 1, Carats: -2000},
		{Lot: "A-1", Place: book.MadeCutting, Pieces: -1},
		{Lot: "A-1", Place: book.LossCutting, Carats: 2000},
	}})
	for place, want := range map[book.Place]ledger.Total{
		book.Safe:        {Pieces: 6, Carats: 7345, Cost: cents(3000)},
		"cutter/Okoro":   {Pieces: 5, Carats: 3000, Cost: cents(2000)},
		book.MadeCutting: {Pieces: -1, Cost: cents(0)},
		book.LossCutting: {Carats: 2000, Cost: cents(0)},
		acme:             {Pieces: -10, Carats: -12345, Cost: cents(-5000)},
		"memo/Nobody":    {},
	} {
		if got := f.balance("a-1", place); got != want {
			t.Errorf("at %s: %+v, want %+v", place, got, want)
		}
	}
	f.view(func(ctx context.Context, tx store.ReadTx) {
		real, err := tx.Balances(ctx, store.BalanceFilter{RealOnly: true})
		if err != nil || len(real) != 2 || real[0].Place != "cutter/Okoro" || real[1].Place != book.Safe {
			t.Errorf("real = %+v, %v", real, err)
		}
		all, err := tx.Balances(ctx, store.BalanceFilter{})
		if err != nil || len(all) != 5 {
			t.Errorf("all = %+v, %v", all, err)
		}
	})
	f.mustCheck()
}

func testRollback(t *testing.T, e Engine) {
	f := newFixture(t, e)
	f.mustPost(buy(lot("P1", "A-1"), 10, 12345, cents(5000)))
	boom := errors.New("boom")
	joined := errors.Join(boom, store.ErrRollback)
	for _, end := range []error{store.ErrRollback, boom, fmt.Errorf("wrapped: %w", store.ErrRollback), joined} {
		err := f.store.Update(t.Context(), func(tx store.Tx) error {
			for i := range 300 { // more than the engine's cache would hold back
				x := buy(lot("P2", fmt.Sprintf("P2-%d", i+1)), 1, 1000, cents(100))
				if err := tx.Post(t.Context(), &x); err != nil {
					return err
				}
			}
			return end
		})
		if failed := end == boom || end == joined; failed != errors.Is(err, boom) || !failed && err != nil {
			t.Errorf("update ended by %v returns %v", end, err)
		}
	}
	f.reopen()
	f.view(func(ctx context.Context, tx store.ReadTx) {
		if h, err := tx.Head(ctx); err != nil || h.Sequence != 1 {
			t.Errorf("head = %+v, %v", h, err)
		}
		if lots, err := tx.Rows(ctx, book.KindLot, store.RowFilter{}); err != nil || len(lots) != 1 {
			t.Errorf("%d lots, %v", len(lots), err)
		}
	})
	f.mustCheck()
}

func testBackup(t *testing.T, e Engine) {
	f := newFixture(t, e)
	f.mustPost(buy(lot("P1", "A-1"), 10, 12345, cents(5000)))
	var backup bytes.Buffer
	head, err := f.store.Backup(t.Context(), &backup)
	if err != nil {
		t.Fatal(err)
	}
	full := errors.New("the disk is full")
	if _, err := f.store.Backup(t.Context(), failing{full}); !errors.Is(err, full) {
		t.Errorf("backup to a full disk: %v", err)
	}
	f.mustPost(buy(lot("P1", "A-2"), 1, 1000, cents(100)))
	address := e.Restore(t, backup.Bytes())
	s, err := e.Open(t.Context(), address, f.clock.Now)
	if err != nil {
		t.Fatal(err)
	}
	g := &fixture{T: t, engine: e, address: address, clock: f.clock, store: s}
	defer g.close()
	g.mustCheck()
	g.view(func(ctx context.Context, tx store.ReadTx) {
		if have, err := tx.Head(ctx); err != nil || have != head || head.Sequence != 1 {
			t.Errorf("the copy's head is %+v, %v; the backup said %+v", have, err, head)
		}
	})
	if got := g.balance("A-1", book.Safe); got.Pieces != 10 {
		t.Errorf("the copy has %+v", got)
	}
	if got := g.balance("A-2", book.Safe); got.Pieces != 0 {
		t.Errorf("the copy has what came later: %+v", got)
	}
	g.mustPost(buy(lot("P1", "A-3"), 1, 1000, cents(100))) // a copy is a whole book
	g.mustCheck()
}

// failing is a writer that takes nothing.
type failing struct{ err error }

func (f failing) Write([]byte) (int, error) { return 0, f.err }
