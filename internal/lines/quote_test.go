package lines_test

import (
	"archive/zip"
	"bytes"
	"io"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"lotpaper/internal/answer"
	"lotpaper/internal/costing"
	"lotpaper/internal/house"
	"lotpaper/internal/lines"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/testkit/books"
	"lotpaper/internal/testkit/office"
)

// ordered fills the order cells of a quote's workbook, and takes the values of all
// formulas out.
func ordered(t *testing.T, raw []byte, pieces []int) []byte {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	cells, err := f.SearchSheet("Quote", "Your order (pieces)")
	if err != nil || len(cells) != 1 {
		t.Fatalf("order column %v, %v", cells, err)
	}
	column, header, _ := excelize.CellNameToCoordinates(cells[0])
	for i, n := range pieces {
		cell, _ := excelize.CoordinatesToCellName(column, header+1+i)
		if err := f.SetCellValue("Quote", cell, n); err != nil {
			t.Fatal(err)
		}
	}
	if err := f.UpdateLinkedValue(); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := f.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// besides is the number in the row of a label.
func besides(t *testing.T, raw []byte, label string) string {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := f.GetRows("Quote", excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows {
		at := -1
		for j, v := range row {
			if v == label {
				at = j
			}
			if n, err := strconv.ParseFloat(v, 64); at >= 0 && err == nil {
				return strconv.FormatFloat(n, 'f', 2, 64)
			}
		}
	}
	t.Fatalf("the sheet has no %q with a number", label)
	return ""
}

// charged is what line price charges for pieces of each design.
func charged(p answer.LinePrice, tier string, pieces []int) num.Money {
	total := num.Zero("EUR")
	for i, n := range pieces {
		for _, o := range p.Designs[i].Prices {
			if o.Tier != tier {
				continue
			}
			each := o.List
			for _, b := range o.Broken {
				if int64(n) >= b.From {
					each = b.Price
				}
			}
			total = total.Add(each.Times(num.Int(int64(n)), num.HalfUp))
		}
	}
	return total
}

// What a customer enters in the workbook of a quote adds up to what line price
// charges, at ten orders of each tier; LibreOffice is the judge.
func TestQuote_OrderAddsUp(t *testing.T) {
	if testing.Short() {
		t.Skip("a spreadsheet program is started")
	}
	a := books.Line(t, books.Parcel, map[string]string{"margin": "55", "retail_markup": "110", "tax": "19",
		"price_breaks": "3:5; 5:7.5"})
	price, err := a.Lines.Price(t.Context(), lines.Price{Plan: books.LineRequest()})
	if err != nil {
		t.Fatal(err)
	}
	orders := [][]int{{0, 0, 0}, {1, 0, 0}, {2, 2, 2}, {3, 0, 1}, {4, 8, 6}, {0, 5, 0}, {0, 4, 5}, {1, 3, 6}, {2, 6, 3},
		{3, 7, 4}}
	files := map[string][]byte{}
	for _, tier := range []string{answer.TradeTier, answer.RetailTier} {
		r := lines.Quote{Plan: books.LineRequest(), Customer: "A Jeweller", Tier: tier}
		done, err := a.Lines.Quote(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		for i, o := range orders {
			files[tier+strconv.Itoa(i)] = ordered(t, done.Document.Bytes, o)
		}
	}
	results := office.Recalculate(t, files)
	for i, o := range orders {
		net := charged(price, answer.TradeTier, o)
		pay := net.Add(net.Times(num.MustDec("0.19"), num.HalfUp))
		for at, want := range map[[2]string]num.Money{{answer.TradeTier, "Total without tax"}: net,
			{answer.TradeTier, "Total to pay, EUR"}:  pay,
			{answer.RetailTier, "Total to pay, EUR"}: charged(price, answer.RetailTier, o)} {
			if got := besides(t, results[at[0]+strconv.Itoa(i)], at[1]); got != want.Dec().Fixed(2) {
				t.Errorf("%v at %s prices: %s %s, line price charges %s", o, at[0], at[1], got, want)
			}
		}
	}
}

// A quote holds nothing of what the house keeps to itself: odd costs, the vendor, the
// lender, other customers and the lots are in no stream of it.
func TestQuote_Keeps(t *testing.T) {
	a := books.Line(t, "", map[string]string{"margin": "53.19", "retail_markup": "110", "tax": "19",
		"price_breaks": "3:5"})
	secrets := plant(t, a)
	price, err := a.Lines.Price(t.Context(), lines.Price{Plan: books.LineRequest()})
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range price.Designs {
		d.Cost.Walk(func(_ int, n *costing.Node) {
			if s := n.Amount.Dec().Fixed(2); len(s) > 4 { // a shorter one may be a measure too
				secrets = append(secrets, s)
			}
		})
		secrets = append(secrets, d.TradeMargin.Fixed(2), d.Fixed.Dec().Fixed(2))
	}
	done, err := a.Lines.Quote(t.Context(), lines.Quote{Plan: books.LineRequest(), Customer: "A Jeweller"})
	if err != nil {
		t.Fatal(err)
	}
	model, err := done.Quote.JSON()
	if err != nil {
		t.Fatal(err)
	}
	streams := map[string]string{"the model": string(model), "the kept model": string(done.Document.Model),
		"the PDF": string(office.Poppler(t, done.Document.PDF, "pdftotext", "-layout"))}
	z, err := zip.NewReader(bytes.NewReader(done.Document.Bytes), int64(len(done.Document.Bytes)))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		raw, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		streams[f.Name] = string(raw)
	}
	for name, stream := range streams {
		for _, secret := range secrets {
			if strings.Contains(strings.ToLower(stream), strings.ToLower(secret)) {
				t.Errorf("%s holds %q", name, secret)
			}
		}
	}
	if len(streams) < 8 || len(secrets) < 20 || !strings.Contains(streams["the PDF"], "A Jeweller") {
		t.Errorf("%d streams were searched for %d secrets", len(streams), len(secrets))
	}
}

// plant fills a book with what no customer may see, and returns it.
func plant(t *testing.T, a *house.House) []string {
	t.Helper()
	const vendor, lender, other = "Vera Vendorsson", "Lena Lenderly", "Otto Otherwise"
	list := func(vendor, rows string) {
		t.Helper()
		_, err := a.Stockroom.ParcelImport(t.Context(), stockroom.ParcelImport{Write: books.Who, Vendor: vendor,
			Currency: "EUR", File: books.Text("p.csv", "lot,species,variety,treatment,shape,pieces,weight,length_mm,"+
				"width_mm,depth_mm,calibrated,color,price,price_basis,owner\n"+rows)})
		if err != nil {
			t.Fatal(err)
		}
	}
	list(vendor, "OddTopaz,topaz,,none,oval,12,12.00,8.0,6.0,4.0,yes,light blue,5417.31,total,\n"+
		"OddSapph,corundum,sapphire,heating,round,11,2.75,4.0,4.0,2.6,yes,blue,6133.77,total,\n")
	list(lender, "LentSapph,corundum,sapphire,heating,round,9,2.25,4.1,4.0,2.6,yes,deep blue,4277.33,total,memo-in/"+
		lender+"\n")
	_, err := a.Stockroom.HoldAdd(t.Context(), stockroom.HoldAdd{Write: books.Who, Lot: "OddTopaz", Pieces: 3,
		For: "customer/" + other})
	if err != nil {
		t.Fatal(err)
	}
	return []string{vendor, lender, other, "OddTopaz", "OddSapph", "LentSapph", "5417.31", "5,417.31", "6133.77",
		"4277.33", "451.44", "557.62", "475.26"}
}
