package intake

import (
	"archive/zip"
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

var euros = Head{Book: "EUR", Currency: "EUR"}

func rateOf(t testing.TB, s string, per int64) func(num.Currency) (num.Rate, *fault.Fault) {
	return func(num.Currency) (num.Rate, *fault.Fault) { return num.ParseRate(s, per) }
}

const parcelCSV = `lot,owner,species,variety,treatment,shape,pieces,weight,length_mm,length_max_mm,width_mm,depth_mm,calibrated,colour,price,price_basis,note
A-1,,beryl,aquamarine,heat,oval,12,14.62,8.9,9.1,7,4.6,yes,light blue,45,per_carat,
A-2,own,Topaz,,,pear,3,6.005,10,,7,5,,blue,120.50,total,a note
A-3,memo-in/Kowal,kunzite,,unknown,cushion,1,3.25,9,,8,6,no,pink,18.5,per_piece,
A-4,customer/Berg,,,,,1,0.75,,,,,,red,,,
`

func TestReadParcel(t *testing.T) {
	want := func(t *testing.T, p Parcel, faults fault.List) {
		t.Helper()
		wantCodes(t, faults)
		if len(p.Lots) != 4 {
			t.Fatalf("%d lots", len(p.Lots))
		}
		if p.Pieces != 17 || p.Carats != 24_625 || p.Price.Words() != "778.40 EUR" {
			t.Errorf("%d pieces, %s ct, %s", p.Pieces, p.Carats, p.Price.Words())
		}
		a := p.Lots[0]
		got := fmt.Sprint(a.Label, a.Species, a.Variety, a.Claim, a.Facets.Treatment, a.Facets.Nature, a.Shape,
			a.Length, a.Width, a.Depth, a.Calibrated, a.Color, a.Agreed.Words(), a.Row)
		w := "A-1berylaquamarineberyl aquamarine{heat stated}{ }oval8.90-9.107.004.60truelight blue657.90 EUR2"
		if strings.ReplaceAll(got, " ", "") != strings.ReplaceAll(w, " ", "") {
			t.Errorf("got  %s\nwant %s", got, w)
		}
		b, c, d := p.Lots[1], p.Lots[2], p.Lots[3]
		if b.Species != "topaz" || b.Agreed.Words() != "120.50 EUR" || b.Note != "a note" ||
			b.Facets.Treatment.Basis != book.Unknown {
			t.Errorf("%+v", b)
		}
		if c.Species != "spodumene" || c.Variety != "kunzite" || c.Owner != "memo-in/Kowal" ||
			c.Agreed.Words() != "18.50 EUR" || c.Facets.Treatment.Basis != book.Unknown {
			t.Errorf("%+v", c)
		}
		if d.Species != "" || d.Facets.Species.Basis != book.Unknown || !d.Agreed.IsZero() {
			t.Errorf("%+v", d)
		}
	}
	csvParcel, faults := ReadParcel(table(t, parcelCSV), nil, euros)
	want(t, csvParcel, faults)
	bookParcel, faults := ReadParcel(workbook(t, map[string]string{"parcel": parcelCSV}, "parcel"), nil, euros)
	want(t, bookParcel, faults)
	if d := cmp.Diff(csvParcel, bookParcel, compare); d != "" {
		t.Errorf("CSV and XLSX differ: %s", d)
	}
}

// Every kind of bad input, with its place. The first lines are those that a
// spreadsheet gives most often.
func TestReadParcel_BadInput(t *testing.T) {
	const head = "lot,species,variety,pieces,weight,price,price_basis\n"
	for _, c := range []struct {
		name, body string
		want       []string
		mend       string // part of the first mend
	}{
		{"wrong header", "a,b,c\n1,2,3\n", []string{"header-unknown@1:"}, "start from an empty workbook"},
		{"missing header", "lot,species,weight\nA-1,topaz,1\n", []string{"column-missing@1:"}, "pieces"},
		{"no weight column", "lot,pieces\nA-1,1\n", []string{"column-missing@1:", "cell-missing@2:"}[:1], "weight"},
		{"no basis column", "lot,pieces,weight,price\nA-1,1,1,5\n", []string{"column-missing@1:D"}, "price_basis"},
		{"text in a number", head + "A-1,topaz,,3,abc,5,total\n", []string{"number-text@2:E"}, "12.5"},
		{"unit in a number", head + "A-1,topaz,,3,1.5 ct,5,total\n", []string{"number-text@2:E"}, "units"},
		{"1,234", head + "A-1,topaz,,3,\"1,234\",5,total\n", []string{"number-grouping@2:E"}, "1234.56"},
		{"1.234,56", head + "A-1,topaz,,3,5,\"1.234,56\",total\n", []string{"number-grouping@2:F"}, "1234.56"},
		{"exponent", head + "A-1,topaz,,3,1e3,5,total\n", []string{"number-text@2:E"}, ""},
		{"negative weight", head + "A-1,topaz,,3,-1.20,5,total\n", []string{"weight-negative@2:E"}, "1.20"},
		{"zero weight", head + "A-1,topaz,,3,0,5,total\n", []string{"weight-zero@2:E"}, ""},
		{"too fine", head + "A-1,topaz,,3,1.2345,5,total\n", []string{"weight-too-fine@2:E"}, "0.001"},
		{"zero pieces with weight", head + "A-1,topaz,,0,1.2,5,total\n", []string{"pieces-zero@2:D"}, "estimated"},
		{"zero pieces without weight", head + "A-1,topaz,,0,0,5,total\n", []string{"lot-empty@2:D"}, ""},
		{"negative pieces", head + "A-1,topaz,,-2,1.2,5,total\n", []string{"pieces-negative@2:D"}, ""},
		{"part of a piece", head + "A-1,topaz,,2.5,1.2,5,total\n", []string{"count-fraction@2:D"}, ""},
		{"pieces missing", head + "A-1,topaz,,,1.2,5,total\n", []string{"cell-missing@2:D"}, ""},
		{"weight missing", head + "A-1,topaz,,1,,5,total\n", []string{"cell-missing@2:E"}, ""},
		{"unknown species", head + "A-1,topas,,1,1.2,5,total\n", []string{"unknown-material@2:B"},
			"did you mean topaz"},
		{"variety of another species", head + "A-1,quartz,aquamarine,1,1.2,5,total\n", []string{"variety-species@2:C"},
			""},
		{"unknown variety", head + "A-1,topaz,bleu,1,1.2,5,total\n", []string{"warning variety-unknown@2:C"}, ""},
		{"duplicate lot", head + "A-1,topaz,,1,1.2,5,total\nB,topaz,,1,1,5,total\na-1,topaz,,1,1.2,5,total\n",
			[]string{"lot-twice@4:A"}, ""},
		{"bad lot code", head + "A/1,topaz,,1,1.2,5,total\n", []string{"code-bad@2:A"}, ""},
		{"no basis", head + "A-1,topaz,,1,1.2,5,\n", []string{"cell-missing@2:G"}, "per_carat"},
		{"unknown basis", head + "A-1,topaz,,1,1.2,5,per_ct\n", []string{"word-unknown@2:G"}, "per_carat"},
		{"basis in other marks", head + "A-1,topaz,,1,1.2,5,Per carat\n", nil, ""},
		{"negative price", head + "A-1,topaz,,1,1.2,-5,total\n", []string{"price-negative@2:F"}, ""},
		{"price too fine", head + "A-1,topaz,,1,1.2,5.123,total\n", []string{"money-too-fine@2:F"}, ""},
		{"price past any sense", head + "A-1,topaz,,1000000,1.2,5000,per_piece\n", []string{"money-too-large@2:F"}, ""},
		{"bytes that are not UTF-8", head + "A-1,topaz,caf\xe9,1,1.2,5,total\n", []string{"text-encoding@2:C"},
			"the encoding windows-1252"},
		{"two faults in a row, one in the next", head + "A-1,topas,,x,1.2,5,total\nA-2,topaz,,1,-1,5,total\n",
			[]string{"unknown-material@2:B", "number-text@2:D", "weight-negative@3:E"}, ""},
		{"sizes exchanged", "lot,pieces,weight,length_mm,length_max_mm\nA,1,1,9,8\n", []string{"size-order@2:E"}, ""},
		{"negative size", "lot,pieces,weight,length_mm\nA,1,1,-9\n", []string{"length-negative@2:D"}, ""},
		{"width over length", "lot,pieces,weight,length_mm,width_mm\nA,1,1,7,9\n",
			[]string{"warning width-over-length@2:E", "warning price-missing@2:"}, ""},
		{"owner", "lot,owner,pieces,weight\nA,mine,1,1\n", []string{"owner-unknown@2:B"}, ""},
		{"nature", "lot,nature,pieces,weight\nA,naturel,1,1\n", []string{"nature-unknown@2:B"}, "did you mean natural"},
		{"basis of pieces", "lot,pieces,pieces_basis,weight\nA,1,guessed,1\n", []string{"word-unknown@2:C"},
			"estimated"},
		{"calibrated", "lot,pieces,weight,calibrated\nA,1,1,maybe\n", []string{"yes-no@2:D"}, ""},
		{"weight unit", "lot,pieces,weight,weight_unit\nA,1,1,oz\n", []string{"weight-unit@2:D"}, "momme"},
		{"weight twice", "lot,pieces,weight,weight_ct\nA,1,1,1\n", []string{"weight-twice@2:D"}, ""},
		{"carats in grams", "lot,pieces,weight_unit,weight_ct\nA,1,g,1\n", []string{"weight-twice@2:D"}, ""},
		{"heavier than its block", "lot,species,pieces,weight_ct,length_mm,width_mm,depth_mm\nA,topaz,1,14,9,7,4.5\n",
			[]string{"warning weight-size@2:D", "warning price-missing@2:"}, "decimal point"},
		{"unknown shape", "lot,shape,pieces,weight\nA,rough,1,1\n", []string{"warning shape-unknown@2:B",
			"warning price-missing@2:"}, ""},
		{"customer's price", "lot,owner,pieces,weight,price,price_basis\nA,customer/Berg,1,1,5,total\n",
			[]string{"price-customer@2:E"}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, faults := ReadParcel(table(t, c.body), nil, euros)
			wantCodes(t, faults, c.want...)
			if faults.Blocks() && len(p.Lots) > 0 {
				t.Error("lots beside faults")
			}
			if len(faults) > 0 && !strings.Contains(faults[0].Mend, c.mend) {
				t.Errorf("mend %q lacks %q", faults[0].Mend, c.mend)
			}
		})
	}
}

func TestReadParcel_BadFile(t *testing.T) {
	var b sheet.Workbook
	s := sheet.Sheet{Name: "parcel", Columns: []sheet.Col{{Header: "lot"}, {Header: "pieces"}, {Header: "weight"}},
		Rows: [][]sheet.Cell{
			{sheet.Text("A-1").Span(2), sheet.Empty(), sheet.Int(3)},
			{sheet.Text("A-2"), sheet.Int(2), sheet.Formula("1+1", sheet.Int(2))},
		}}
	b.Sheets = []sheet.Sheet{s}
	var whole bytes.Buffer
	if err := b.Write(&whole); err != nil {
		t.Fatal(err)
	}
	var bomb bytes.Buffer
	z := zip.NewWriter(&bomb)
	w, err := z.Create("xl/worksheets/sheet1.xml")
	if err != nil {
		t.Fatal(err)
	}
	for range 64 {
		if _, err := w.Write(make([]byte, 1<<20)); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		body []byte
		want []string
	}{
		{"formula and merged cells", whole.Bytes(), []string{"cell-merged@2:A", "cell-formula@3:C"}},
		{"truncated zip", whole.Bytes()[:whole.Len()-40], []string{"zip-damaged@0:"}},
		{"renamed .xls", []byte("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1..."), []string{"file-xls@0:"}},
		{"empty file", nil, []string{"file-empty@0:"}},
		{"zip bomb", bomb.Bytes(), []string{"zip-too-large@0:"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, faults := sheet.Open(bytes.NewReader(c.body), int64(len(c.body)), "in.xlsx", sheet.Options{})
			if faults == nil {
				_, faults = ReadParcel(f, nil, euros)
			}
			wantCodes(t, faults, c.want...)
		})
	}
}

func TestReadParcel_Currency(t *testing.T) {
	const body = "lot,pieces,weight,price,price_basis,currency\nA,2,1.5,30,per_carat,usd\nB,1,1,10.01,total,USD\nC,1," +
		"1,10,total,\n"
	p, faults := ReadParcel(table(t, body), nil, Head{Book: "EUR", RateOf: rateOf(t, "0.9137", 1)})
	wantCodes(t, faults)
	// 45 x 0.9137 = 41.1165; 10.01 x 0.9137 = 9.146137; 10 x 0.9137 = 9.137
	if p.Currency != "USD" || p.Lots[0].Agreed.Words() != "41.12 EUR" || p.Lots[1].Agreed.Words() != "9.15 EUR" ||
		p.Lots[2].Agreed.Words() != "9.14 EUR" || p.Price.Words() != "59.41 EUR" {
		t.Errorf("%s: %s, %s, %s = %s", p.Currency, p.Lots[0].Agreed.Words(), p.Lots[1].Agreed.Words(),
			p.Lots[2].Agreed.Words(), p.Price.Words())
	}
	if f := p.Lots[1].Foreign; f == nil || f.Amount.Words() != "10.01 USD" || f.Rate.String() != "0.9137" {
		t.Errorf("foreign %+v", f)
	}
	yen, faults := ReadParcel(table(t, "lot,pieces,weight,price,price_basis\nA,1,1,10000,total\n"), nil,
		Head{Book: "EUR", Currency: "JPY", RateOf: rateOf(t, "0.6312", 100)})
	wantCodes(t, faults)
	if got := yen.Lots[0].Agreed.Words(); got != "63.12 EUR" {
		t.Errorf("10000 JPY = %s", got)
	}
	const plain = "lot,pieces,weight,price,price_basis\nA,1,1,10,total\nB,1,1,11,total\n"
	_, faults = ReadParcel(table(t, plain), nil, Head{Book: "EUR"})
	wantCodes(t, faults, "price-currency@2:D")
	_, faults = ReadParcel(table(t, plain), nil, Head{Book: "EUR", Currency: "USD"})
	wantCodes(t, faults, "rate-missing@rate")
	_, faults = ReadParcel(table(t, body), nil, Head{Book: "EUR", Currency: "EUR"})
	wantCodes(t, faults, "currency-mixed@2:F", "currency-mixed@3:F")
	_, faults = ReadParcel(table(t, strings.ReplaceAll(body, "usd", "USX")), nil, Head{Book: "EUR", Currency: "USD",
		RateOf: rateOf(t, "1.1", 1)})
	wantCodes(t, faults, "currency-unknown@2:F")
}

func TestReadParcel_Units(t *testing.T) {
	p, faults := ReadParcel(table(t, "lot,pieces,weight,weight_unit\nA,1,0.2,g\nB,1,1,momme\nC,1,1,ct\nD,1,1,\n"), nil,
		euros)
	wantCodes(t, faults, "warning price-missing@2:")
	var got []string
	for _, l := range p.Lots {
		got = append(got, l.Carats.String())
	}
	if d := cmp.Diff([]string{"1.000", "18.750", "1.000", "1.000"}, got); d != "" { // 1 g = 5 ct, 1 momme = 3.75 g
		t.Error(d)
	}
}

const stonesLots = "lot,species,pieces,weight,color,price,price_basis\nA-1,topaz,3,6,blue,100,total\nA-2,apatite,2,3," +
	"green,,\n"

func TestReadParcel_Stones(t *testing.T) {
	const stones = "lot,stone,weight_ct,length_mm,width_mm,depth_mm,color,price\na-1,1,2,9,7,4.5,,\n" +
		"A-1,2,1.998,9,7,4.5,deep blue,\n"
	check := func(f, s *sheet.File) Parcel {
		p, faults := ReadParcel(f, s, euros)
		wantCodes(t, faults, "warning price-missing@3:F")
		if len(p.Lots[0].Stones) != 2 || len(p.Lots[1].Stones) != 0 {
			t.Fatalf("%+v", p.Lots)
		}
		one, two := p.Lots[0].Stones[0], p.Lots[0].Stones[1]
		if one.Stone != "1" || one.Species != "topaz" || one.Color != "blue" || one.Carats != 2000 ||
			one.Length.String() != "9.00" || one.Parent != "A-1" || two.Color != "deep blue" || !two.Agreed.IsZero() {
			t.Errorf("%+v\n%+v", one, two)
		}
		return p
	}
	a := check(table(t, stonesLots), table(t, stones))
	b := check(workbook(t, map[string]string{"lots": stonesLots, "stones": stones}, "lots", "stones"), nil)
	c := check(workbook(t, map[string]string{"Sheet1": stonesLots, "Sheet2": stones}, "Sheet1", "Sheet2"), nil)
	if d := cmp.Diff(a, b, compare) + cmp.Diff(b, c, compare); d != "" {
		t.Error(d)
	}
}

func TestReadParcel_StonesPriced(t *testing.T) {
	const stones = "lot,stone,weight_ct,price\nA-2,1,1.4,20\nA-2,2,1.6,20.01\n"
	p, faults := ReadParcel(table(t, stonesLots), table(t, stones), Head{Book: "EUR", Currency: "USD",
		RateOf: rateOf(t, "0.9", 1)})
	wantCodes(t, faults)
	lot := p.Lots[1]
	// 40.01 x 0.9 = 36.009; shared by 20 : 20.01
	if lot.Agreed.Words() != "36.01 EUR" || lot.Foreign.Amount.Words() != "40.01 USD" ||
		lot.Stones[0].Agreed.Words() != "18.00 EUR" || lot.Stones[1].Agreed.Words() != "18.01 EUR" {
		t.Errorf("%s of %s: %s and %s", lot.Agreed.Words(), lot.Foreign.Amount.Words(), lot.Stones[0].Agreed.Words(),
			lot.Stones[1].Agreed.Words())
	}
}

func TestReadParcel_StonesBad(t *testing.T) {
	for _, c := range []struct {
		name, body string
		want       []string
	}{
		{"no such lot", "lot,stone,weight_ct\nA-11,1,2\n", []string{"lot-unknown@2:A"}},
		{"tag twice", "lot,stone,weight_ct\nA-1,1,2\na-1,1,2\n", []string{"stone-twice@3:B"}},
		{"same tag in two lots", "lot,stone,weight_ct\nA-1,1,2\nA-2,1,1\n", nil},
		{"no tag", "lot,stone,weight_ct\nA-1,,2\n", []string{"cell-missing@2:B"}},
		{"negative", "lot,stone,weight_ct\nA-1,1,-2\n", []string{"weight-negative@2:C"}},
		{"too many", "lot,stone,weight_ct\nA-2,1,1\nA-2,2,1\nA-2,3,1\n", []string{"stones-many@2:A"}},
		{"too heavy", "lot,stone,weight_ct\nA-2,1,2\nA-2,2,1.5\n", []string{"stones-weight@2:A"}},
		{"too light", "lot,stone,weight_ct\nA-2,1,1\nA-2,2,1\n", []string{"stones-weight@2:A"}},
		{"within the scale", "lot,stone,weight_ct\nA-2,1,1.495\nA-2,2,1.51\n", nil},
		{"nothing left", "lot,stone,weight_ct\nA-2,1,3\n", []string{"stones-weight@2:A"}},
		{"some priced", "lot,stone,weight_ct,price\nA-2,1,1.5,5\nA-2,2,1.5,\n", []string{"stones-priced@2:A"}},
		{"other sum", "lot,stone,weight_ct,price\nA-1,1,2,40\nA-1,2,2,30\nA-1,3,2,31\n", []string{"stones-price@2:A"}},
		{"same sum", "lot,stone,weight_ct,price\nA-1,1,2,40\nA-1,2,2,30\nA-1,3,2,30\n", nil},
		{"missing column", "lot,stone\nA-1,1\n", []string{"column-missing@1:"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, faults := ReadParcel(table(t, stonesLots), table(t, c.body), euros)
			wantCodes(t, except(faults, "price-missing"), c.want...)
		})
	}
}

// 300 measured stones of a published list of asking data ("Gemstone Online
// Analysis raw listing data", ushertpain, 2023; measures only) come in whole,
// by CSV and by XLSX alike.
func TestReadParcel_RealStones(t *testing.T) {
	body := string(read300(t))
	p, faults := ReadParcel(table(t, body), nil, euros)
	if faults.Blocks() || len(p.Lots) != 300 {
		t.Fatalf("%d lots, %v", len(p.Lots), codes(faults))
	}
	var sum num.Carat
	for line := range strings.Lines(body) {
		fields := strings.Split(line, ",")
		if w, bad := num.ParseCarat(fields[10]); bad == nil {
			sum += w
		}
	}
	if p.Carats != sum || p.Pieces != 300 {
		t.Errorf("%s ct in %d pieces, want %s", p.Carats, p.Pieces, sum)
	}
	for _, l := range p.Lots {
		if l.Species == "" {
			t.Errorf("lot %s (%s) has no species", l.Label, l.Claim)
		}
	}
	q, more := ReadParcel(workbook(t, map[string]string{"parcel": body}, "parcel"), nil, euros)
	if d := cmp.Diff(p, q, compare) + cmp.Diff(codes(faults), codes(more)); d != "" {
		t.Errorf("CSV and XLSX differ: %s", d)
	}
}

// Law: whatever the rows, the lots' prices in the book's currency add up to
// the parcel's, each a whole number of cents, and each is its foreign amount at
// the rate; the columns' order does not matter.
func TestReadParcel_Law(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(1, 8).Draw(rt, "rows")
		columns := rapid.Permutation([]int{0, 1, 2, 3, 4}).Draw(rt, "order")
		names := []string{"lot", "pieces", "weight_ct", "price", "price_basis"}
		var straight, mixed strings.Builder
		row := func(b *strings.Builder, cells []string, order []int) {
			for i, at := range order {
				if i > 0 {
					b.WriteByte(';')
				}
				b.WriteString(cells[at])
			}
			b.WriteString("\n")
		}
		row(&straight, names, []int{0, 1, 2, 3, 4})
		row(&mixed, names, columns)
		for i := range n {
			cells := []string{fmt.Sprintf("L%d", i), fmt.Sprint(rapid.IntRange(1, 500).Draw(rt, "pieces")),
				num.Carat(rapid.Int64Range(1, 900_000).Draw(rt, "weight")).String(),
				num.Scaled(rapid.Int64Range(0, 5_000_000).Draw(rt, "price"), 2).String(),
				rapid.SampledFrom([]string{"total", "per_carat", "per_piece"}).Draw(rt, "basis")}
			row(&straight, cells, []int{0, 1, 2, 3, 4})
			row(&mixed, cells, columns)
		}
		head := Head{Book: "EUR", Currency: "USD", RateOf: rateOf(t, "0.9137", 1)}
		p, faults := ReadParcel(table(t, straight.String()), nil, head)
		if len(faults) > 0 {
			rt.Fatal(codes(faults))
		}
		q, _ := ReadParcel(table(t, mixed.String()), nil, head)
		if d := cmp.Diff(p, q, compare); d != "" {
			rt.Fatal(d)
		}
		sum := num.Zero("EUR")
		for _, l := range p.Lots {
			if !l.Agreed.IsWhole() || !l.Foreign.Amount.IsWhole() || l.Agreed != l.Foreign.Amount.Convert(p.Rate, "EUR",
				num.HalfUp) {
				rt.Fatalf("%s from %s", l.Agreed, l.Foreign.Amount)
			}
			sum = sum.Add(l.Agreed)
		}
		if sum != p.Price {
			rt.Fatalf("lots %s, parcel %s", sum, p.Price)
		}
	})
}

func BenchmarkReadParcel(b *testing.B) {
	var body strings.Builder
	body.WriteString("lot,owner,species,variety,nature,treatment,shape,pieces,weight,length_mm,width_mm,depth_mm," +
		"color,price,price_basis\n")
	for i := range 100_000 {
		fmt.Fprintf(&body, "L-%d,own,beryl,aquamarine,natural,heat,oval,%d,%d.%03d,9.0,7.0,4.5,light "+
			"blue,%d,per_carat\n", i, i%40+1, i%90+1, i%1000, i%200+5)
	}
	text := body.String()
	for b.Loop() {
		f, _ := sheet.Open(strings.NewReader(text), int64(len(text)), "in.csv", sheet.Options{})
		if p, faults := ReadParcel(f, nil, euros); faults.Blocks() || len(p.Lots) != 100_000 {
			b.Fatal(codes(faults))
		}
	}
}
