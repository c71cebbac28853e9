package sqlite

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
	"lotpaper/internal/testkit"
)

// frozenBook is a book as the first release wrote it; every later version opens
// it. -update writes it only when it is not there.
const frozenBook = "schema-1.db.gz"

func TestFrozenBook(t *testing.T) {
	packed := testkit.Testdata(t, "books", frozenBook)
	if _, err := os.Stat(packed); errors.Is(err, fs.ErrNotExist) && testkit.Updating() {
		writeFrozen(t, packed)
	}
	path := filepath.Join(t.TempDir(), "book.db")
	unpack(t, packed, path)
	s, err := Open(t.Context(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	err = s.View(t.Context(), func(tx store.ReadTx) error {
		if err := tx.Check(t.Context(), func(d store.Difference) { t.Errorf("check: %+v", d) }); err != nil {
			return err
		}
		return readFrozen(t, tx)
	})
	if err != nil {
		t.Error(err)
	}
}

// readFrozen asks the old book for what a dealer would look up.
func readFrozen(t *testing.T, tx store.ReadTx) error {
	ctx := t.Context()
	if m := tx.Meta(); m.Currency != "EUR" || m.Zone != "Europe/Lisbon" || m.Created.Year() != 2026 {
		t.Errorf("meta = %+v", m)
	}
	lot, err := store.Get[book.Lot](ctx, tx, "p1-1")
	if err != nil {
		return err
	}
	if lot.Code != "P1-1" || lot.Species != "topaz" || lot.Facets.Species != (book.Facet{Value: "topaz", Basis: book.Tested}) ||
		lot.Length.Min.String() != "9.00" || lot.Agreed.Words() != "120.50 EUR" || lot.Color != "sky blue" {
		t.Errorf("lot = %+v", lot)
	}
	versions, err := store.Versions[book.Lot](ctx, tx, "P1-1")
	if err != nil || len(versions) != 2 || versions[0].Facets.Species.Basis != book.Stated {
		t.Errorf("versions = %+v, %v", versions, err)
	}
	parcel, err := store.Get[book.Parcel](ctx, tx, "P1")
	if err != nil || parcel.Vendor != "Silva" || parcel.Kind != book.Purchase || parcel.Price.Words() != "120.50 EUR" {
		t.Errorf("parcel = %+v, %v", parcel, err)
	}
	reading, err := store.Get[book.Reading](ctx, tx, "R1")
	if err != nil || reading.Test != "ri" || reading.Low != "1.609" || reading.Lot != "P1-1" {
		t.Errorf("reading = %+v, %v", reading, err)
	}
	setting, err := store.Get[book.Setting](ctx, tx, "weighing_tolerance")
	if err != nil || setting.Value != "0.03" {
		t.Errorf("setting = %+v, %v", setting, err)
	}
	rate, err := store.Get[book.Rate](ctx, tx, "fx/USD/2026-01-05")
	if err != nil || rate.Value.String() != "0.9234" || rate.Per != 1 {
		t.Errorf("rate = %+v, %v", rate, err)
	}
	doc, err := store.Get[book.Document](ctx, tx, "STOCK-2026-0001")
	if err != nil || string(doc.Model) != `{"lots":1}` {
		t.Errorf("document = %+v, %v", doc, err)
	}
	if file, err := tx.File(ctx, doc.Number); err != nil || string(file) != "the stock list as issued\n" {
		t.Errorf("file = %q, %v", file, err)
	}
	entries, err := tx.Entries(ctx, store.EntryFilter{Lot: "P1-1"})
	if err != nil || len(entries) != 4 || entries[0].Kind != ledger.Buy || entries[3].Reverses != entries[2].Code {
		t.Errorf("entries = %+v, %v", entries, err)
	}
	balances, err := tx.Balances(ctx, store.BalanceFilter{RealOnly: true})
	if err != nil {
		return err
	}
	want := map[book.Place]ledger.Total{
		book.Safe:      {Pieces: 7, Carats: 14035, Cost: num.FromMinor(8435, "EUR")},
		"cutter/Okoro": {Pieces: 3, Carats: 6015, Cost: num.FromMinor(3615, "EUR")},
	}
	for _, b := range balances {
		if got := (ledger.Total{Pieces: b.Pieces, Carats: b.Carats, Cost: b.Cost}); got != want[b.Place] {
			t.Errorf("at %s: %+v, want %+v", b.Place, got, want[b.Place])
		}
		delete(want, b.Place)
	}
	if len(want) > 0 {
		t.Errorf("no balances for %v", want)
	}
	return nil
}

// writeFrozen makes the book, only from what will mean the same for ever.
func writeFrozen(t *testing.T, packed string) {
	path := filepath.Join(t.TempDir(), "new.db")
	clock := testkit.NewClock()
	s, err := Create(t.Context(), path, store.Meta{Currency: "EUR", Zone: "Europe/Lisbon", Created: clock.Now()}, Options{Now: clock.Now})
	if err != nil {
		t.Fatal(err)
	}
	price := num.FromMinor(12050, "EUR")
	size := func(mm num.Millimetre) book.Size { return book.Size{Min: mm, Max: mm} }
	lot := book.Lot{Code: "P1-1", Parcel: "P1", Owner: book.Own, Species: "topaz", Claim: "Topas", Facets: book.Facets{Species: book.StatedFacet("topaz")},
		Shape: "oval", Length: size(900), Width: size(700), Color: "sky blue", Agreed: price}
	tested := lot
	tested.Facets.Species.Basis = book.Tested
	content := []byte("the stock list as issued\n")
	sum := sha256.Sum256(content)
	var sold ledger.Entry
	for _, e := range []ledger.Entry{
		{Kind: ledger.Buy, Reason: "parcel from Silva", Records: []book.Record{
			book.Parcel{Code: "P1", Kind: book.Purchase, Vendor: "Silva", On: "2026-01-05", Currency: "EUR", Lots: 1, Pieces: 10, Carats: 20050, Price: price}, lot},
			Postings: ledger.Move("P1-1", "vendor/Silva", book.Safe, 10, 20050, price)},
		{Kind: ledger.Issue, Reason: "to be recut", Postings: ledger.Move("P1-1", book.Safe, "cutter/Okoro", 3, 6015, num.FromMinor(3615, "EUR"))},
		{Kind: ledger.Record, Reason: "tested", Records: []book.Record{book.Reading{Number: 1, Lot: "P1-1", Drawn: "random", Test: "ri", Low: "1.609", High: "1.617", On: "2026-01-05"}, tested}},
		{Kind: ledger.Sell, Reason: "sold", Postings: ledger.Move("P1-1", book.Safe, "customer/Lind", 1, 2005, num.FromMinor(1205, "EUR"))},
		{Kind: ledger.Reverse, Reason: "not sold after all"},
		{Kind: ledger.Record, Reason: "rates and settings", Records: []book.Record{
			book.Rate{Kind: "fx", Name: "USD", Value: num.MustDec("0.9234"), Per: 1, Unit: "EUR/USD", On: "2026-01-05", Source: "invented"},
			book.Setting{Key: "weighing_tolerance", Value: "0.03"}}},
		{Kind: ledger.Record, Reason: "stock list", Records: []book.Record{book.Document{Number: "STOCK-2026-0001", Kind: "STOCK", Title: "Stock", On: "2026-01-05",
			SHA256: hex.EncodeToString(sum[:]), Model: []byte(`{"lots":1}`), Bytes: content}}},
	} {
		if e.Kind == ledger.Reverse {
			e = sold.Reversed("", e.Reason, "")
		}
		e.PostedOn, e.Who = "2026-01-05", "Ada"
		err := s.Update(t.Context(), func(tx store.Tx) error { return tx.Post(context.Background(), &e) })
		if err != nil {
			t.Fatal(err)
		}
		if e.Kind == ledger.Sell {
			sold = e
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := z.Write(raw); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(filepath.Dir(packed), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(packed, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

func unpack(t *testing.T, packed, path string) {
	t.Helper()
	f, err := os.Open(packed)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	raw, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, raw, 0o600); err != nil {
		t.Fatal(err)
	}
}
