package stockroom_test

import (
	"bytes"
	"errors"
	"os"
	"strings"
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/testkit"
	"lotpaper/internal/testkit/books"
)

// Three hundred real stones (measurements of loose stones from a public
// listing dataset, Gemstone Online Analysis, 2023) come in whole.
func TestParcelImport_RealStones(t *testing.T) {
	raw, err := os.ReadFile("../../testdata/vectors/cutting/parcel300.csv")
	if err != nil {
		t.Fatal(err)
	}
	a := books.New(t)
	done, err := a.Stockroom.ParcelImport(t.Context(), stockroom.ParcelImport{Write: desk.Write{Who: "tester"},
		Vendor: "A listing", File: desk.Input{Reader: bytes.NewReader(raw), Size: int64(len(raw)),
			Name: "parcel300.csv"}})
	if err != nil {
		t.Fatal(err)
	}
	if done.Parcel.Lots != 300 || len(books.Stock(t, a)) != 300 {
		t.Errorf("%d lots came in, %d are in stock, want 300", done.Parcel.Lots, len(books.Stock(t, a)))
	}
	var carats num.Carat
	for _, s := range books.Stock(t, a) {
		carats += s.Carats
	}
	if carats != done.Parcel.Carats {
		t.Errorf("stock weighs %s ct, the parcel %s ct", carats, done.Parcel.Carats)
	}
	books.Sound(t, a)
}

// The price of a lot is shared over its listed stones and the rest by weight,
// and nothing of it is lost.
func TestParcelImport_StonesShareTheLotsPrice(t *testing.T) {
	const lots = "lot,species,shape,pieces,weight_ct,price,price_basis\nA,topaz,oval,4,8.00,100,total\nB,topaz,oval," +
		"2,3.00,10.01,total\n"
	const stones = "lot,stone,weight_ct\nA,S1,2.00\nA,S2,3.00\nB,T1,1.00\nB,T2,2.00\n"
	a := books.New(t)
	second := books.Text("s.csv", stones)
	if _, err := a.Stockroom.ParcelImport(t.Context(), stockroom.ParcelImport{Write: desk.Write{Who: "tester"},
		Vendor: "V", Currency: "EUR", File: books.Text("p.csv", lots), Stones: &second}); err != nil {
		t.Fatal(err)
	}
	got := books.Stock(t, a)
	for code, want := range map[string]string{"A": "37.50", "A.1": "25.00", "A.2": "37.50", "B.1": "3.34",
		"B.2": "6.67"} {
		if got[code].Cost.String() != want {
			t.Errorf("%s costs %s, want %s", code, got[code].Cost, want)
		}
	}
	if _, left := got["B"]; left {
		t.Error("B has pieces, but all of its stones are lots of their own")
	}
	books.Sound(t, a)
}

func TestParcelImport_CodeTaken(t *testing.T) {
	a := books.New(t)
	const csv = "lot,species,shape,pieces,weight_ct,price,price_basis\nA,topaz,oval,1,1.00,10,total\n"
	books.Buy(t, a, csv)
	done := books.Buy(t, a, strings.ReplaceAll(csv, "\nA,", "\na,"))
	if done.Lots[0] != "P2-1" || len(done.Warnings) != 1 || done.Warnings[0].Code != "lot-code-taken" {
		t.Errorf("lots %v, warnings %v", done.Lots, done.Warnings)
	}
}

// A dry run gives the same answer and writes nothing.
func TestParcelImport_DryRun(t *testing.T) {
	a := books.New(t)
	const csv = "lot,species,shape,pieces,weight_ct,price,price_basis\nA,topaz,oval,1,1.00,10,total\n"
	r := stockroom.ParcelImport{Write: desk.Write{Who: "tester", DryRun: true}, Vendor: "V", Currency: "EUR",
		File: books.Text("p.csv", csv)}
	dry, err := a.Stockroom.ParcelImport(t.Context(), r)
	if err != nil {
		t.Fatal(err)
	}
	if len(books.Stock(t, a)) != 0 {
		t.Error("a dry run wrote lots")
	}
	r.DryRun = false
	real, err := a.Stockroom.ParcelImport(t.Context(), r)
	if err != nil || real.Parcel != dry.Parcel || strings.Join(real.Lots, ",") != strings.Join(dry.Lots, ",") {
		t.Errorf("dry %+v, real %+v, %v", dry, real, err)
	}
}

// Goods on memo in are counted and weighed, cost nothing, and stay out of the
// valuation; a part of them becomes a purchase at its agreed price.
func TestMemoIn(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, "lot,owner,species,shape,pieces,weight_ct,price,price_basis\nM,memo-in/Lender,beryl,oval,4,4.00,"+
		"200,total\nO,own,topaz,oval,2,2.00,20,total\n")
	if s := books.Stock(t, a)["M"]; s.Pieces != 4 || !s.Cost.IsZero() || s.Agreed.String() != "200.00" {
		t.Fatalf("M = %+v", s)
	}
	v, err := a.Stockroom.StockValue(t.Context(), stockroom.StockValue{})
	if err != nil || v.Others != 1 || v.Cost.String() != "20.00" {
		t.Errorf("value = %+v, %v", v, err)
	}
	moved, err := a.Stockroom.MemoBuy(t.Context(), stockroom.MemoBuy{Movement: books.Moving,
		Moving: stockroom.Moving{Lot: "M", Pieces: 1, Carats: 1000}})
	if err != nil {
		t.Fatal(err)
	}
	got := books.Stock(t, a)
	if own := got[moved.Lots[0]]; own.Owner != book.Own || own.Cost.String() != "50.00" {
		t.Errorf("bought %+v", own)
	}
	if rest := got["M"]; rest.Pieces != 3 || rest.Agreed.String() != "150.00" {
		t.Errorf("rest %+v", rest)
	}
	if _, err := a.Stockroom.SaleAdd(t.Context(), stockroom.SaleAdd{Movement: stockroom.Movement{
		Write: desk.Write{Who: "tester"}}, Customer: "C",
		Lines: stockroom.Together(stockroom.Moving{Lot: "M"}), Bill: stockroom.Bill{Price: num.FromMinor(100,
			"EUR")}}); fault.KindOf(err) != fault.Refused {
		t.Errorf("selling a lender's stones: %v", err)
	}
	books.Sound(t, a)
}

// The generated parcel has every column of the template and comes in whole,
// also when it is longer than one entry.
func TestParcelImport_Generated(t *testing.T) {
	stones, entries := 2500, 3
	if testing.Short() {
		stones, entries = 1100, 2
	}
	var csv bytes.Buffer
	if err := (testkit.BigBook{Seed: 3, Stones: stones}).WriteParcelCSV(&csv); err != nil {
		t.Fatal(err)
	}
	a := books.New(t)
	done := books.Buy(t, a, csv.String())
	if done.Parcel.Lots != stones || len(done.Entries) != entries || len(books.Stock(t, a)) != stones {
		t.Errorf("%d lots in %v", done.Parcel.Lots, done.Entries)
	}
	held := num.Zero("EUR")
	for _, s := range books.Stock(t, a) {
		held = held.Add(s.Cost)
	}
	if held != done.Parcel.Price {
		t.Errorf("stock costs %s, the parcel %s", held, done.Parcel.Price)
	}
	books.Sound(t, a)
}

// slowFile fails when it is read while the book is open for writing.
type slowFile struct {
	*strings.Reader
	writing *bool
}

func (f slowFile) ReadAt(p []byte, at int64) (int, error) {
	if *f.writing {
		return 0, errors.New("the file is read while the book is open for writing")
	}
	return f.Reader.ReadAt(p, at)
}

// A file is read before the book is opened for writing: a slow one holds up no
// other work.
func TestFileIsReadBeforeTheWrite(t *testing.T) {
	a, store := books.Interrupted(t)
	file := func(csv string) *desk.Input {
		writing := false
		store.Before = func() { writing = true }
		return &desk.Input{Reader: slowFile{strings.NewReader(csv), &writing}, Size: int64(len(csv)), Name: "a.csv"}
	}
	who := desk.Write{Who: "tester"}
	if _, err := a.Stockroom.ParcelImport(t.Context(), stockroom.ParcelImport{Write: who, Vendor: "V",
		Currency: "EUR",
		File:     *file("lot,species,pieces,weight,price,price_basis\nA1,topaz,4,2.000,10,total\n")}); err != nil {
		t.Fatal(err)
	}
	if _, err := a.Stockroom.LotSort(t.Context(), stockroom.LotSort{Movement: stockroom.Movement{Write: who}, Lot: "A1",
		File: file("species,pieces,weight,price,price_basis\n" +
			"topaz,1,0.500,5,total\ntopaz,3,1.500,9,total\n")}); err != nil {
		t.Fatal(err)
	}
	if n := len(books.Stock(t, a)); n != 2 {
		t.Errorf("%d lots in stock, want the two parts", n)
	}
	books.Sound(t, a)
}

// An invoice is converted once and shared over its lots by largest remainder: 3.00 USD
// at 0.335 are 1.01 EUR (1.005, half up), 0.33 for each lot and the two cents that are
// left for the first two. By running totals the second lot would have 0.33.
func TestParcelImport_InvoiceConvertedOnce(t *testing.T) {
	a := books.New(t)
	rate, _ := num.ParseRate("0.335", 1)
	done, err := a.Stockroom.ParcelImport(t.Context(), stockroom.ParcelImport{Write: books.Who, Vendor: "V",
		Currency: "USD", Rate: rate, File: books.Text("p.csv", "lot,species,shape,pieces,weight_ct,price,price_basis\n"+
			"A,topaz,oval,1,1.00,1,total\nB,topaz,oval,1,1.00,1,total\nC,topaz,oval,1,1.00,1,total\n")})
	if err != nil || done.Parcel.Price.String() != "1.01" || done.Parcel.Invoice.Words() != "3.00 USD" {
		t.Fatalf("parcel %+v, %v", done.Parcel, err)
	}
	for code, want := range map[string]string{"A": "0.34", "B": "0.34", "C": "0.33"} {
		if got := books.Stock(t, a)[code]; got.Cost.String() != want || got.Foreign.Amount.String() != "1.00" {
			t.Errorf("%s costs %s of %s, want %s", code, got.Cost, got.Foreign.Amount, want)
		}
	}
	books.Sound(t, a)
}
