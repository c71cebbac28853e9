package app_test

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lotpaper/internal/app"
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
	"lotpaper/internal/store/sqlite"
	"lotpaper/internal/testkit"
)

// newBook opens a book in EUR with a fixed clock.
func newBook(t *testing.T) *app.App {
	t.Helper()
	now := func() time.Time { return time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC) }
	s, err := sqlite.Create(t.Context(), filepath.Join(t.TempDir(), "b.db"), store.Meta{Currency: "EUR", Zone: "UTC", Created: now()}, sqlite.Options{Now: now})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	a := app.New(s, now)
	if err := a.Init(t.Context(), app.Write{Who: "tester"}, nil); err != nil {
		t.Fatal(err)
	}
	return a
}

func text(name, s string) app.Input {
	return app.Input{Reader: strings.NewReader(s), Size: int64(len(s)), Name: name}
}

func buy(t *testing.T, a *app.App, csv string) app.ParcelImported {
	t.Helper()
	done, err := a.ParcelImport(t.Context(), app.ParcelImport{Write: app.Write{Who: "tester"}, Vendor: "V", Currency: "EUR", File: text("p.csv", csv)})
	if err != nil {
		t.Fatal(err)
	}
	return done
}

func stock(t *testing.T, a *app.App) map[string]app.StockLot {
	t.Helper()
	out := map[string]app.StockLot{}
	if err := a.StockEach(t.Context(), app.StockFilter{}, func(s app.StockLot) error { out[s.Code] = s; return nil }); err != nil {
		t.Fatal(err)
	}
	return out
}

func sound(t *testing.T, a *app.App) {
	t.Helper()
	check, err := a.LedgerCheck(context.Background())
	if err != nil || len(check.Differences) > 0 {
		t.Fatalf("ledger check: %v, %v", check.Differences, err)
	}
}

// Three hundred real stones (measurements of loose stones from a public
// listing dataset, Gemstone Online Analysis, 2023) come in whole.
func TestParcelImport_RealStones(t *testing.T) {
	raw, err := os.ReadFile("../../testdata/vectors/cutting/parcel300.csv")
	if err != nil {
		t.Fatal(err)
	}
	a := newBook(t)
	done, err := a.ParcelImport(t.Context(), app.ParcelImport{Write: app.Write{Who: "tester"}, Vendor: "A listing", File: app.Input{Reader: bytes.NewReader(raw), Size: int64(len(raw)), Name: "parcel300.csv"}})
	if err != nil {
		t.Fatal(err)
	}
	if done.Parcel.Lots != 300 || len(stock(t, a)) != 300 {
		t.Errorf("%d lots came in, %d are in stock, want 300", done.Parcel.Lots, len(stock(t, a)))
	}
	var carats num.Carat
	for _, s := range stock(t, a) {
		carats += s.Carats
	}
	if carats != done.Parcel.Carats {
		t.Errorf("stock weighs %s ct, the parcel %s ct", carats, done.Parcel.Carats)
	}
	sound(t, a)
}

// The price of a lot is shared over its listed stones and the rest by weight,
// and nothing of it is lost.
func TestParcelImport_StonesShareTheLotsPrice(t *testing.T) {
	const lots = "lot,species,shape,pieces,weight_ct,price,price_basis\nA,topaz,oval,4,8.00,100,total\nB,topaz,oval,2,3.00,10.01,total\n"
	const stones = "lot,stone,weight_ct\nA,S1,2.00\nA,S2,3.00\nB,T1,1.00\nB,T2,2.00\n"
	a := newBook(t)
	second := text("s.csv", stones)
	if _, err := a.ParcelImport(t.Context(), app.ParcelImport{Write: app.Write{Who: "tester"}, Vendor: "V", Currency: "EUR", File: text("p.csv", lots), Stones: &second}); err != nil {
		t.Fatal(err)
	}
	got := stock(t, a)
	for code, want := range map[string]string{"A": "37.50", "A.1": "25.00", "A.2": "37.50", "B.1": "3.34", "B.2": "6.67"} {
		if got[code].Cost.String() != want {
			t.Errorf("%s costs %s, want %s", code, got[code].Cost, want)
		}
	}
	if _, left := got["B"]; left {
		t.Error("B has pieces, but all of its stones are lots of their own")
	}
	sound(t, a)
}

func TestParcelImport_CodeTaken(t *testing.T) {
	a := newBook(t)
	const csv = "lot,species,shape,pieces,weight_ct,price,price_basis\nA,topaz,oval,1,1.00,10,total\n"
	buy(t, a, csv)
	done := buy(t, a, strings.ReplaceAll(csv, "\nA,", "\na,"))
	if done.Lots[0] != "P2-1" || len(done.Warnings) != 1 || done.Warnings[0].Code != "lot-code-taken" {
		t.Errorf("lots %v, warnings %v", done.Lots, done.Warnings)
	}
}

// A dry run gives the same answer and writes nothing.
func TestParcelImport_DryRun(t *testing.T) {
	a := newBook(t)
	const csv = "lot,species,shape,pieces,weight_ct,price,price_basis\nA,topaz,oval,1,1.00,10,total\n"
	r := app.ParcelImport{Write: app.Write{Who: "tester", DryRun: true}, Vendor: "V", Currency: "EUR", File: text("p.csv", csv)}
	dry, err := a.ParcelImport(t.Context(), r)
	if err != nil {
		t.Fatal(err)
	}
	if len(stock(t, a)) != 0 {
		t.Error("a dry run wrote lots")
	}
	r.DryRun = false
	real, err := a.ParcelImport(t.Context(), r)
	if err != nil || real.Parcel != dry.Parcel || strings.Join(real.Lots, ",") != strings.Join(dry.Lots, ",") {
		t.Errorf("dry %+v, real %+v, %v", dry, real, err)
	}
}

// Goods on memo in are counted and weighed, cost nothing, and stay out of the
// valuation; a part of them becomes a purchase at its agreed price.
func TestMemoIn(t *testing.T) {
	a := newBook(t)
	buy(t, a, "lot,owner,species,shape,pieces,weight_ct,price,price_basis\nM,memo-in/Lender,beryl,oval,4,4.00,200,total\nO,own,topaz,oval,2,2.00,20,total\n")
	if s := stock(t, a)["M"]; s.Pieces != 4 || !s.Cost.IsZero() || s.Agreed.String() != "200.00" {
		t.Fatalf("M = %+v", s)
	}
	v, err := a.StockValue(t.Context(), "")
	if err != nil || v.Others != 1 || v.Cost.String() != "20.00" {
		t.Errorf("value = %+v, %v", v, err)
	}
	moved, err := a.MemoBuy(t.Context(), app.Write{Who: "tester"}, app.Moving{Lot: "M", Pieces: 1, Carats: 1000})
	if err != nil {
		t.Fatal(err)
	}
	got := stock(t, a)
	if own := got[moved.Lots[0]]; own.Owner != book.Own || own.Cost.String() != "50.00" {
		t.Errorf("bought %+v", own)
	}
	if rest := got["M"]; rest.Pieces != 3 || rest.Agreed.String() != "150.00" {
		t.Errorf("rest %+v", rest)
	}
	if _, err := a.SaleAdd(t.Context(), app.SaleAdd{Write: app.Write{Who: "tester"}, Customer: "C", Lots: []app.Moving{{Lot: "M"}}, Price: num.FromMinor(100, "EUR")}); fault.KindOf(err) != fault.Refused {
		t.Errorf("selling a lender's stones: %v", err)
	}
	sound(t, a)
}

// The generated parcel has every column of the template and comes in whole,
// also when it is longer than one entry.
func TestParcelImport_Generated(t *testing.T) {
	var csv bytes.Buffer
	if err := (testkit.BigBook{Seed: 3, Stones: 2500}).WriteParcelCSV(&csv); err != nil {
		t.Fatal(err)
	}
	a := newBook(t)
	done := buy(t, a, csv.String())
	if done.Parcel.Lots != 2500 || len(done.Entries) != 3 || len(stock(t, a)) != 2500 {
		t.Errorf("%d lots in %v", done.Parcel.Lots, done.Entries)
	}
	held := num.Zero("EUR")
	for _, s := range stock(t, a) {
		held = held.Add(s.Cost)
	}
	if held != done.Parcel.Price {
		t.Errorf("stock costs %s, the parcel %s", held, done.Parcel.Price)
	}
	sound(t, a)
}
