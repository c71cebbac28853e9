// Package storetest is the suite that every store passes: what it keeps, what
// it refuses, what the database refuses by itself, what a check finds, and that
// a book stays right when processes write at once or die. It holds nothing of one
// engine. Only tests import it.
package storetest

import (
	"context"
	"database/sql"
	"errors"
	"slices"
	"testing"
	"time"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
	"lotpaper/internal/testkit"
)

// Engine opens books of one engine. An address is a text that only the engine
// reads.
type Engine struct {
	// Address returns an address at which there is no book yet.
	Address func(t testing.TB) string
	Create  func(ctx context.Context, address string, m store.Meta, now func() time.Time) (store.Store, error)
	Open    func(ctx context.Context, address string, now func() time.Time) (store.Store, error)
	// Restore returns the address of the book that a backup holds.
	Restore func(t testing.TB, backup []byte) (address string)
	// Raw opens the database under the guards that every connection has, to try
	// what no program of ours does.
	Raw func(address string) (*sql.DB, error)
	// Unguard takes the guards off a table, foreign keys too, to try what the
	// check then finds.
	Unguard func(db *sql.DB, table string) error
	// Overwrite are the engine's own ways to write over rows of a table, named %s.
	Overwrite []string
}

// Run runs the suite.
func Run(t *testing.T, e Engine) {
	for _, c := range []struct {
		name string
		test func(*testing.T, Engine)
	}{
		{"meta", testMeta},
		{"records", testRecords},
		{"pages", testPages},
		{"refs", testRefs},
		{"series", testSeries},
		{"documents", testDocuments},
		{"files", testFiles},
		{"pictures", testPictures},
		{"entries", testEntries},
		{"balances", testBalances},
		{"past balances", testPastBalances},
		{"reversals", testReversals},
		{"law", testLaw},
		{"codes", testCodes},
		{"dates", testDates},
		{"reversal", testReversal},
		{"rollback", testRollback},
		{"backup", testBackup},
		{"guards", testGuards},
		{"tampering", testTampering},
		{"processes", testProcesses},
		{"kill", testKill},
		{"histories", testHistories},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			c.test(t, e)
		})
	}
}

const (
	euro  = num.Currency("EUR")
	day   = book.Date("2026-01-05")
	later = book.Date("2026-01-06")
	acme  = book.Place("vendor/Acme")
)

// fixture is one open book.
type fixture struct {
	*testing.T
	engine  Engine
	address string
	clock   *testkit.Clock
	store   store.Store
}

func newFixture(t *testing.T, e Engine) *fixture {
	t.Helper()
	f := &fixture{T: t, engine: e, address: e.Address(t), clock: testkit.NewClock()}
	s, err := e.Create(t.Context(), f.address, store.Meta{Currency: euro, Zone: "Europe/Lisbon",
		Created: f.clock.Now()}, f.clock.Now)
	if err != nil {
		t.Fatal(err)
	}
	f.store = s
	t.Cleanup(func() { f.close() })
	return f
}

// reopen closes the book and opens it again.
func (f *fixture) reopen() {
	f.Helper()
	f.close()
	var err error
	if f.store, err = f.engine.Open(f.Context(), f.address, f.clock.Now); err != nil {
		f.Fatal(err)
	}
}

func (f *fixture) close() {
	f.Helper()
	if f.store == nil {
		return
	}
	if err := f.store.Close(); err != nil {
		f.Errorf("close: %v", err)
	}
	f.store = nil
}

// post posts one entry in its own transaction.
func (f *fixture) post(e ledger.Entry) (ledger.Entry, error) {
	f.Helper()
	if e.PostedOn == "" {
		e.PostedOn = day
	}
	if e.Reason == "" {
		e.Reason = "test"
	}
	err := f.store.Update(f.Context(), func(tx store.Tx) error { return tx.Post(f.Context(), &e) })
	return e, err
}

func (f *fixture) mustPost(e ledger.Entry) ledger.Entry {
	f.Helper()
	e, err := f.post(e)
	if err != nil {
		f.Fatalf("post %s: %v", e.Kind, err)
	}
	return e
}

// refused posts an entry and wants exactly these fault codes.
func (f *fixture) refused(e ledger.Entry, codes ...string) {
	f.Helper()
	_, err := f.post(e)
	l, ok := fault.From(err)
	if !ok {
		f.Fatalf("post %s: got %v, want faults %v", e.Kind, err, codes)
	}
	var got []string
	for _, x := range l {
		got = append(got, x.Code)
		if x.What == "" || x.Mend == "" {
			f.Errorf("fault %s says nothing or not how to mend: %+v", x.Code, x)
		}
	}
	slices.Sort(got)
	slices.Sort(codes)
	if !slices.Equal(got, codes) {
		f.Errorf("post %s: got faults %v, want %v", e.Kind, got, codes)
	}
}

func (f *fixture) view(do func(ctx context.Context, tx store.ReadTx)) {
	f.Helper()
	err := f.store.View(f.Context(), func(tx store.ReadTx) error {
		do(f.Context(), tx)
		return nil
	})
	if err != nil {
		f.Fatalf("view: %v", err)
	}
}

// differences runs the check.
func (f *fixture) differences() []store.Difference {
	f.Helper()
	var out []store.Difference
	f.view(func(ctx context.Context, tx store.ReadTx) {
		if err := tx.Check(ctx, func(d store.Difference) { out = append(out, d) }); err != nil {
			f.Fatalf("check: %v", err)
		}
	})
	return out
}

func (f *fixture) mustCheck() {
	f.Helper()
	if d := f.differences(); len(d) > 0 {
		f.Errorf("the check found %d differences, first: %+v", len(d), d[0])
	}
}

// balance is what a lot has at a place.
func (f *fixture) balance(code string, at book.Place) ledger.Total {
	f.Helper()
	var out ledger.Total
	f.view(func(ctx context.Context, tx store.ReadTx) {
		list, err := tx.Balances(ctx, store.BalanceFilter{Lot: code, Place: at})
		if err != nil || len(list) > 1 {
			f.Fatalf("balances of %s at %s: %v, %v", code, at, list, err)
		}
		for _, b := range list {
			out = out.Add(ledger.Posting(b))
		}
	})
	return out
}

// lot is a lot of an own parcel.
func lot(parcel, code string) book.Lot {
	return book.Lot{Code: code, Parcel: parcel, Owner: book.Own, Species: "topaz", Claim: "Topaz <\"é\">"}
}

func cents(n int64) num.Money { return num.FromMinor(n, euro) }

// buy is an entry that brings one new lot into the safe.
func buy(l book.Lot, pieces int64, carats num.Carat, cost num.Money) ledger.Entry {
	return ledger.Entry{Kind: ledger.Buy, PostedOn: day, Reason: "bought", Records: []book.Record{l},
		Postings: ledger.Move(l.Code, acme, book.Safe, pieces, carats, cost)}
}

// move is an entry that carries part of a lot.
func move(kind ledger.Kind, code string, from, to book.Place, pieces int64, carats num.Carat,
	cost num.Money) ledger.Entry {
	return ledger.Entry{Kind: kind, PostedOn: day, Reason: "moved", Postings: ledger.Move(code, from, to, pieces,
		carats, cost)}
}

func testMeta(t *testing.T, e Engine) {
	f := newFixture(t, e)
	want := store.Meta{Currency: euro, Zone: "Europe/Lisbon", Created: f.clock.Now()}
	f.view(func(ctx context.Context, tx store.ReadTx) {
		if got := tx.Meta(); got != want {
			t.Errorf("meta = %+v, want %+v", got, want)
		}
		if h, err := tx.Head(ctx); err != nil || h != (store.Head{}) {
			t.Errorf("head of an empty book = %+v, %v", h, err)
		}
	})
	f.mustCheck()
	if _, err := e.Create(t.Context(), f.address, want, f.clock.Now); !errors.Is(err, store.ErrExists) {
		t.Errorf("create over a book: %v, want %v", err, store.ErrExists)
	}
	missing := e.Address(t)
	for range 2 { // opening a missing book does not make one
		if _, err := e.Open(t.Context(), missing, nil); !errors.Is(err, store.ErrNotFound) {
			t.Errorf("open a missing book: %v", err)
		}
	}
}
