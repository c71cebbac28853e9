package sqlite

import (
	"crypto/sha256"
	"encoding/hex"
	"os"
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
	"lotpaper/internal/testkit"
)

// frozenBooks are books as released versions wrote them, and their heads, which
// no upgrade changes. Every later version opens them; they are never made anew.
var frozenBooks = []struct {
	file string
	head store.Head
	read func(*testing.T, store.ReadTx) error
}{
	{"schema-1.db.gz", store.Head{Sequence: 7,
		Hash: "e6a3f783802a40d4aa1195d8d8f803c8117812e4641bb0cf07e4b40468b28f0f"}, readFrozen},
	{testkit.EveryKind, store.Head{Sequence: 91,
		Hash: "88564866df31d3c34a9c327bfdf2be6b21298748de07564265906e1df73959a0"}, readEveryKind},
}

func TestFrozenBooks(t *testing.T) {
	for _, c := range frozenBooks {
		t.Run(c.file, func(t *testing.T) {
			path := testkit.FrozenBook(t, c.file)
			s, err := Open(t.Context(), path, Options{})
			if err != nil {
				t.Fatal(err)
			}
			defer s.Close()
			err = s.View(t.Context(), func(tx store.ReadTx) error {
				if err := tx.Check(t.Context(), func(d store.Difference) { t.Errorf("check: %+v", d) }); err != nil {
					return err
				}
				if head, err := tx.Head(t.Context()); err != nil || head != c.head {
					t.Errorf("head = %+v, %v, want %+v", head, err, c.head)
				}
				return c.read(t, tx)
			})
			if err != nil {
				t.Error(err)
			}
			if _, err := os.Stat(path + ".schema-1"); err != nil {
				t.Errorf("no copy of the book as it was: %v", err)
			}
		})
	}
}

// newer are the kinds that schema 1 did not have.
var newer = map[book.Kind]bool{book.KindVoid: true, book.KindTicket: true, book.KindBatch: true,
	book.KindCredit: true, book.KindPayment: true, book.KindClaim: true, book.KindPeriod: true, book.KindTransfer: true,
	book.KindAlias: true, book.KindBid: true, book.KindPicture: true}

// readEveryKind asks for all that schema-1-every-kind.sh put into the book.
func readEveryKind(t *testing.T, tx store.ReadTx) error {
	ctx := t.Context()
	for _, kind := range book.Kinds {
		if newer[kind] {
			continue
		}
		if rows, err := tx.Rows(ctx, kind, store.RowFilter{}); err != nil || len(rows) == 0 {
			t.Errorf("%d records of kind %s, %v", len(rows), kind, err)
		}
	}
	entries, err := tx.Entries(ctx, store.EntryFilter{})
	if err != nil {
		return err
	}
	places, kinds, reversed := map[string]bool{}, map[string]ledger.Kind{}, map[ledger.Kind]bool{}
	for _, e := range entries {
		kinds[e.Code] = e.Kind
		reversed[kinds[e.Reverses]] = true
		for _, p := range e.Postings {
			places[p.Place.Kind()] = true
			places[string(p.Place)] = true
		}
	}
	for _, place := range []book.Place{
		book.Safe, book.AtCutter, book.AtSetter, book.AtMemo, book.AtPiece, book.AtVendor, book.AtCustomer,
		book.AtCharge,
		book.LossCutting, book.LossBreakage, book.LossCount, book.LossWeighing, book.MadeCutting, book.ChargeVariance,
	} {
		if !places[string(place)] {
			t.Errorf("no entry moves anything at %s", place)
		}
	}
	for _, kind := range []ledger.Kind{
		ledger.Buy, ledger.MemoIn, ledger.Charge, ledger.Sort, ledger.Split, ledger.Merge, ledger.Adjust, ledger.Issue,
		ledger.Return, ledger.Cut, ledger.Break, ledger.Lose, ledger.Set, ledger.Sell,
	} {
		if !reversed[kind] {
			t.Errorf("no %s is reversed", kind)
		}
	}
	for place, want := range map[book.Place]int64{ // pieces
		"memo/Galerie Sandbar": 7, "cutter/Osric Vane": 2, "setter/Ines Roake": 4, "piece/R1": 2,
	} {
		balances, err := tx.Balances(ctx, store.BalanceFilter{Place: place})
		if err != nil {
			return err
		}
		var got int64
		for _, b := range balances {
			got += b.Pieces
		}
		if got != want {
			t.Errorf("%s has %d pieces, want %d", place, got, want)
		}
	}
	for number, state := range map[string]string{"M2": "out", "M3": "out", "M1": "closed"} {
		memo, err := store.Get[book.Memo](ctx, tx, number)
		if err != nil || memo.State != state || memo.Party != "Galerie Sandbar" {
			t.Errorf("memo %s = %+v, %v, want it %s", number, memo, err, state)
		}
	}
	for number, state := range map[string]string{"O1": "received", "O2": "sent", "O3": "draft", "O4": "sent"} {
		if order, err := store.Get[book.Order](ctx, tx, number); err != nil || order.State != state {
			t.Errorf("order %s = %+v, %v, want it %s", number, order, err, state)
		}
	}
	documents, err := store.All[book.Document](ctx, tx, "")
	if err != nil || len(documents) != 6 {
		t.Errorf("%d documents, %v", len(documents), err)
	}
	for _, d := range documents {
		if file, err := tx.File(ctx, d.SHA256); err != nil ||
			hex.EncodeToString(sum256(file)) != d.SHA256 {
			t.Errorf("file of %s: %d bytes, %v", d.Number, len(file), err)
		}
	}
	return nil
}

func sum256(b []byte) []byte {
	sum := sha256.Sum256(b)
	return sum[:]
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
	if lot.Code != "P1-1" || lot.Species != "topaz" ||
		lot.Facets.Species != (book.Facet{Value: "topaz", Basis: book.Tested}) ||
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
	if file, err := tx.File(ctx, doc.SHA256); err != nil ||
		string(file) != "the stock list as issued\n" {
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
