package intake

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/sheet"
)

const readingsCSV = `lot,stone,drawn,test,low,high,plus_minus,result,strength,colour,weight_air_ct,weight_water_ct,water_c,balance_ct,observer,date,note
P1-1,1,random,ri,1.619,1.627,0.001,,,,,,,,MK,2026-03-30,
P1-1,1,random,hydrostatic,,,,,,,4.02,3.02,21,0.01,MK,,
P1-1,2,,optic,,,,biaxial+,,,,,,,,,
P1-1,2,,ri,>1.79,,,,,,,,,,,,
P1-1,2,,lw,,,,,weak,orange,,,,,,,
P1-1,2,,spectrum,,,,430;460,,,,,,,,,
P1-1,2,,liquid,3.32,,,sinks,,,,,,,,,
`

func TestReadReadings(t *testing.T) {
	a, faults := ReadReadings(table(t, readingsCSV), "2026-04-01")
	wantCodes(t, faults)
	if len(a) != 7 {
		t.Fatalf("%d readings", len(a))
	}
	want := Reading{book.Reading{Lot: "P1-1", Stone: "1", Drawn: "random", Test: "hydrostatic", Air: 4020, Water: 3020,
		WaterC: "21", Resolution: "0.01", Observer: "MK", On: "2026-04-01"}, fault.Where{File: a[1].Where.File, Row: 3,
		Column: "A", Header: "lot"}}
	if d := cmp.Diff(want, a[1]); d != "" {
		t.Error(d)
	}
	if a[0].On != "2026-03-30" || a[0].Low != "1.619" || a[3].Low != ">1.79" || a[2].Drawn != "picked" {
		t.Errorf("%+v", a)
	}
	b, faults := ReadReadings(workbook(t, map[string]string{"readings": readingsCSV}, "readings"), "2026-04-01")
	wantCodes(t, faults)
	for i := range b { // the same rows, each in its own file
		if b[i].Where.Row != a[i].Where.Row || b[i].Where.Sheet != "readings" {
			t.Errorf("row %d of the workbook: %s", i, b[i].Where)
		}
		b[i].Where = a[i].Where
	}
	if d := cmp.Diff(a, b); d != "" {
		t.Errorf("CSV and XLSX differ: %s", d)
	}
}

func TestReadReadings_Bad(t *testing.T) {
	for _, c := range []struct{ header, row, want string }{
		{"lot,test,low", ",ri,1.62", "cell-missing@2:A"},
		{"lot,test,low", "A,,1.62", "cell-missing@2:B"},
		{"lot,test,low", "A,refraction,1.62", "word-unknown@2:B"},
		{"lot,test,low", "A,ri,", "cell-missing@2:C"},
		{"lot,test,low", "A,ri,16.2", "reading-range@2:C"},
		{"lot,test,low", "A,ri,1.6x", "number-text@2:C"},
		{"lot,test,low,high", "A,ri,1.63,1.62", "reading-order@2:D"},
		{"lot,test,low", "A,sg,>3", "number-text@2:C"},
		{"lot,test,low", "A,sg,352", "reading-range@2:C"},
		{"lot,test,low,plus_minus", "A,sg,3.52,-1", "reading-range@2:D"},
		{"lot,test,result", "A,optic,", "cell-missing@2:C"},
		{"lot,test,result", "A,optic,biaxal+", "word-unknown@2:C"},
		{"lot,test,weight_air_ct,weight_water_ct", "A,hydrostatic,4,", "cell-missing@2:D"},
		{"lot,test,weight_air_ct,weight_water_ct", "A,hydrostatic,3,4", "weighing-order@2:D"},
		{"lot,test,result", "A,spectrum,430;blue", "reading-range@2:C"},
		{"lot,test,strength,color,result", "A,lw,,,", "cell-missing@2:C"},
		{"lot,test,low,drawn", "A,ri,1.62,blindly", "word-unknown@2:D"},
		{"lot,test,low,date", "A,ri,1.62,31.03.2026", "date-format@2:D"},
		{"lot,test,low,water_c", "A,ri,1.62,210", "reading-range@2:D"},
	} {
		t.Run(c.row, func(t *testing.T) {
			_, faults := ReadReadings(table(t, c.header+"\n"+c.row+"\n"), "2026-04-01")
			wantCodes(t, faults, c.want)
		})
	}
}

const (
	designsCSV = `design,piece,metal,fineness,metal_g,quantity,price_trade,price_retail,labour_min,findings,fixed_cost,wear,lux,hours_per_day,bench,identity
Shore ring,rings,silver,925,4.2,10,95,210,25,0,180,daily,1500,10,pickle;plating,supported
Tide drops,earrings,sterling,,3.1,6,120.50,260,30,4.2,90,evening,,,,
`
	positionsCSV = `design,position,setting,shape,species,treatment,length_min,length_max,width_min,width_max,depth_min,depth_max,count,match,tolerance_mm,color,clarity,price_max,accept
shore ring,center,claw,oval,topaz;aquamarine,none;heat,8.8,9.2,6.8,7.2,,5,1,none,,blue,,60,care
Tide drops,drop,bezel,pear,tourmaline,,9,10,6,7,,,2,pair,0.1,green,,,caution
`
)

func TestReadLine(t *testing.T) {
	a, faults := ReadLine(table(t, designsCSV), table(t, positionsCSV), "Sea", "EUR")
	wantCodes(t, faults)
	b, faults := ReadLine(workbook(t, map[string]string{"designs": designsCSV, "positions": positionsCSV}, "designs",
		"positions"), nil, "Sea", "EUR")
	wantCodes(t, faults)
	if d := cmp.Diff(a, b, compare); d != "" {
		t.Errorf("CSV and XLSX differ: %s", d)
	}
	ring, drops := a.Designs[0], a.Designs[1]
	got := fmt.Sprint(ring.Line, "|", ring.Name, "|", ring.Piece, "|", ring.Metal, ring.Fineness, "|", ring.MetalWeight,
		"|", ring.Quantity, "|", ring.PriceTrade.Words(), "|", ring.Labour, "|", ring.Bench, "|", ring.Identity, "|",
		len(ring.Positions))
	if want := "Sea|Shore ring|ring|silver925|4.200|10|95.00 EUR|25|[pickle plating]|supported|1"; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if drops.Metal != "silver sterling" || drops.Fineness.String() != "925" || drops.Identity != "stated" ||
		drops.Wear != "evening" {
		t.Errorf("%+v", drops)
	}
	p := ring.Positions[0]
	if p.Setting != "prong" || p.Shape != "oval" || fmt.Sprint(p.Species) != "[topaz aquamarine]" ||
		p.LengthMin != 880 || p.DepthMax != 500 || p.PriceMax.Words() != "60.00 EUR" || p.Count != 1 {
		t.Errorf("%+v", p)
	}
	if d := drops.Positions[0]; fmt.Sprint(d.Species) != "[tourmaline]" || d.Match != "pair" || d.Accept != "caution" ||
		d.Tolerance != 10 {
		t.Errorf("%+v", d)
	}
}

func TestReadLine_Bad(t *testing.T) {
	design := func(from, to string) string { return strings.Replace(designsCSV, from, to, 1) }
	position := func(from, to string) string { return strings.Replace(positionsCSV, from, to, 1) }
	for _, c := range []struct {
		name, designs, positions string
		want                     []string
	}{
		{"piece", design("rings", "toe ring"), positionsCSV, []string{"unknown-piece@2:B"}},
		{"metal", design("silver,925", "tin,925"), positionsCSV, []string{"unknown-metal@2:C"}},
		{"no fineness", design("silver,925", "silver,"), positionsCSV, []string{"fineness-missing@2:D"}},
		{"fineness over 1000", design("silver,925", "silver,9250"), positionsCSV, []string{"fineness-range@2:D"}},
		{"fineness of another alloy", design("sterling,,", "sterling,800,"), positionsCSV,
			[]string{"fineness-alloy@3:D"}},
		{"no quantity", design("4.2,10,", "4.2,,"), positionsCSV, []string{"cell-missing@2:F"}},
		{"quantity zero", design("4.2,10,", "4.2,0,"), positionsCSV, []string{"quantity-zero@2:F"}},
		{"negative price", design("95,210", "-95,210"), positionsCSV, []string{"money-negative@2:G"}},
		{"design twice", design("Tide drops", "shore RING"), position("Tide drops", "Shore ring"),
			[]string{"design-twice@3:A"}},
		{"wear", design("daily", "hourly"), positionsCSV, []string{"unknown-wear@2:L"}},
		{"bench", design("pickle;plating", "pickle;platting"), positionsCSV, []string{"word-unknown@2:O"}},
		{"hours", design("1500,10", "1500,25"), positionsCSV, []string{"hours-day@2:N"}},
		{"identity", design("supported", "proven"), positionsCSV, []string{"word-unknown@2:P"}},
		{"no such design", designsCSV, position("shore ring", "shore rings"), []string{"design-unknown@2:A"}},
		{"setting", designsCSV, position("claw", "clow"), []string{"unknown-setting@2:C"}},
		{"shape", designsCSV, position("oval", "ovall"), []string{"shape-unknown@2:D"}},
		{"species", designsCSV, position("topaz;", "topas;"), []string{"unknown-material@2:E"}},
		{"sizes", designsCSV, position("8.8,9.2", "9.2,8.8"), []string{"size-order@2:H"}},
		{"no count", designsCSV, position("5,1,none", "5,,none"), []string{"cell-missing@2:M"}},
		{"pair of three", designsCSV, position("2,pair", "3,pair"), []string{"count-pair@3:M"}},
		{"match", designsCSV, position("2,pair", "2,twins"), []string{"word-unknown@3:N"}},
		{"accept", designsCSV, position("caution", "avoid"), []string{"word-unknown@3:S"}},
		{"position twice", designsCSV, position("Tide drops,drop", "Shore ring,Center"),
			[]string{"position-twice@3:B"}},
		{"design without a stone", designsCSV, position("Tide drops,drop", "Shore ring,side"),
			[]string{"design-bare@3:"}},
		{"both tables", design("rings", "toe ring"), position("claw", "clow"), []string{"unknown-piece@2:B",
			"unknown-setting@2:C"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, faults := ReadLine(table(t, c.designs), table(t, c.positions), "Sea", "EUR")
			wantCodes(t, faults, c.want...)
		})
	}
	_, faults := ReadLine(table(t, designsCSV), nil, "Sea", "EUR")
	wantCodes(t, faults, "positions-missing@0:")
	_, faults = ReadLine(table(t, designsCSV), nil, "Sea/Sky", "EUR")
	wantCodes(t, faults, "name-bad@line")
}

func TestReadRates(t *testing.T) {
	rates, faults := ReadRates(table(t, `kind,name,value,per,unit,date,source,note
fx,usd,0.9137,,EUR/USD,2026-03-31,central bank,
FX,JPY,0.6312,100,EUR/JPY,2026-03-31,central bank,
metal,Gold,61.20,,EUR/g fine,2026-03-31,refiner's list,
loss,gold,2.25%,,%,2026-03-31,own record,
premium,gold,0,,%,2026-03-31,refiner's list,
setting,Claw small,4.50,,EUR/stone,2026-03-31,setter's list,
labour,bench,48,,EUR/h,2026-03-31,own,
overhead,hour,12,,EUR/h,2026-03-31,own,
`), "EUR")
	wantCodes(t, faults)
	var got []string
	for _, r := range rates {
		got = append(got, fmt.Sprintf("%s=%s/%d %s", r.RecordKey(), r.Value, r.Per, r.Unit))
	}
	want := []string{"fx/USD/2026-03-31=0.9137/1 EUR/USD", "fx/JPY/2026-03-31=0.6312/100 EUR/JPY",
		"metal/gold/2026-03-31=61.2/1 EUR/g fine", "loss/gold/2026-03-31=2.25/1 %",
		"premium/gold/2026-03-31=0/1 %", "setting/prong small/2026-03-31=4.5/1 EUR/stone",
		"labour/bench/2026-03-31=48/1 EUR/h", "overhead/hour/2026-03-31=12/1 EUR/h"}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}

func TestReadRates_Bad(t *testing.T) {
	for _, c := range []struct{ row, want string }{
		{"fees,gold,1,,EUR/g,2026-03-31,x", "word-unknown@2:A"},
		{"metal,,1,,EUR/g,2026-03-31,x", "cell-missing@2:B"},
		{"fx,US,1,,EUR/USD,2026-03-31,x", "currency-unknown@2:B"},
		{"fx,EUR,1,,EUR/EUR,2026-03-31,x", "fx-same@2:B"},
		{"metal,gold,,,EUR/g,2026-03-31,x", "cell-missing@2:C"},
		{"metal,gold,0,,EUR/g,2026-03-31,x", "rate-not-positive@2:C"},
		{"metal,gold,-1,,EUR/g,2026-03-31,x", "rate-negative@2:C"},
		{"metal,gold,5%,,EUR/g,2026-03-31,x", "rate-percent@2:C"},
		{"loss,gold,-1,,%,2026-03-31,x", "rate-negative@2:C"},
		{"fx,USD,0.12345678901234,,EUR/USD,2026-03-31,x", "rate-too-fine@2:C"},
		{"fx,JPY,0.63,10,EUR/JPY,2026-03-31,x", "rate-per@2:D"},
		{"metal,gold,61,100,EUR/g,2026-03-31,x", "rate-per@2:D"},
		{"metal,gold,61,,,2026-03-31,x", "cell-missing@2:E"},
		{"metal,gold,61,,USD/g,2026-03-31,x", "rate-unit@2:E"},
		{"metal,gold,61,,%,2026-03-31,x", "rate-unit@2:E"},
		{"loss,gold,2,,EUR,2026-03-31,x", "rate-unit@2:E"},
		{"metal,gold,61,,EUR/g,,x", "cell-missing@2:F"},
		{"metal,gold,61,,EUR/g,31/03/2026,x", "date-format@2:F"},
		{"metal,gold,61,,EUR/g,2026-03-31,", "cell-missing@2:G"},
	} {
		t.Run(c.row, func(t *testing.T) {
			_, faults := ReadRates(table(t, "kind,name,value,per,unit,date,source\n"+c.row+"\n"), "EUR")
			wantCodes(t, faults, c.want)
		})
	}
	_, faults := ReadRates(table(t, "kind,name,value,unit,date,source\nmetal,gold,61,EUR/g,2026-03-31,x\nmetal,GOLD,"+
		"62,EUR/g,2026-03-31,x\nmetal,gold,62,EUR/g,2026-04-30,x\n"), "EUR")
	wantCodes(t, faults, "rate-twice@3:B")
}

func TestReadPrices(t *testing.T) {
	const head = "species,variety,shape,length_min,length_max,grade,loose,replacement,date,source\n"
	prices, faults := ReadPrices(table(t, head+"topaz,,oval,8,9.99,eye clean,35,48.5,2026-03-31,own sales\n"+
		"kunzite,,,,,,22.125,,2026-03-31,own sales\n"), "EUR")
	wantCodes(t, faults)
	if p := prices[0]; p.Species != "topaz" || p.Shape != "oval" || p.LengthMin != 800 || p.LengthMax != 999 ||
		p.Loose.Words() != "35.00 EUR" || p.Replacement.Words() != "48.50 EUR" {
		t.Errorf("%+v", p)
	}
	if p := prices[1]; p.Species != "spodumene" || p.Variety != "kunzite" || p.Loose.Dec().String() != "22.125" ||
		!p.Replacement.IsZero() {
		t.Errorf("%+v", p)
	}
	for _, c := range []struct{ row, want string }{
		{",,,,,,35,,2026-03-31,x", "cell-missing@2:A"},
		{"topas,,,,,,35,,2026-03-31,x", "unknown-material@2:A"},
		{"topaz,,,9,8,,35,,2026-03-31,x", "size-order@2:E"},
		{"topaz,,,,,,,,2026-03-31,x", "cell-missing@2:G"},
		{"topaz,,,,,,0,,2026-03-31,x", "price-zero@2:G"},
		{"topaz,,,,,,-3,,2026-03-31,x", "price-negative@2:G"},
		{"topaz,,,,,,35,-1,2026-03-31,x", "price-negative@2:H"},
		{"topaz,,,,,,35,,,x", "cell-missing@2:I"},
		{"topaz,,,,,,35,,2026-03-31,", "cell-missing@2:J"},
		{"topaz,,,,,,35,,2026-03-31,x\nTopaz,,,,,,36,,2026-03-31,x", "price-twice@3:A"},
	} {
		t.Run(c.row, func(t *testing.T) {
			_, faults := ReadPrices(table(t, head+c.row+"\n"), "EUR")
			wantCodes(t, faults, c.want)
		})
	}
}

func TestReadPairs(t *testing.T) {
	const head = "pair,species,variety,treatment,shape,length_mm,width_mm,setting,piece,wear,lux,hours_per_day,bench\n"
	pairs, faults := ReadPairs(table(t, head+"1,kyanite,,None,oval,8,6,bezel,ring,daily,1500,10,ultrasonic;torch\n,,"+
		"aquamarine,,,,,claw,earrings,,,,\n"))
	wantCodes(t, faults)
	if p := pairs[0]; p.Name != "1" || p.Species != "kyanite" || p.Treatment != "none" || p.Setting.Name != "bezel" ||
		p.Piece != "ring" || p.Lux.String() != "1500" || fmt.Sprint(p.Bench) != "[ultrasonic torch]" {
		t.Errorf("%+v", p)
	}
	if p := pairs[1]; p.Name != "3" || p.Species != "beryl" || p.Variety != "aquamarine" || p.Named.Variety == nil ||
		p.Setting.Name != "prong" || p.Wear != "daily" {
		t.Errorf("%+v", p)
	}
	for _, c := range []struct{ row, want string }{
		{"1,,,,,,,bezel,ring,,,,", "cell-missing@2:B"},
		{"1,kyanit,,,,,,bezel,ring,,,,", "unknown-material@2:B"},
		{"1,kyanite,,,,,,,ring,,,,", "cell-missing@2:H"},
		{"1,kyanite,,,,,,bezzle,ring,,,,", "unknown-setting@2:H"},
		{"1,kyanite,,,,,,bezel,,,,,", "cell-missing@2:I"},
		{"1,kyanite,,,,,,bezel,ring,,-5,,", "number-negative@2:K"},
		{"1,kyanite,,,,,,bezel,ring,,,,torsch", "word-unknown@2:M"},
		{"1,kyanite,,,,,,bezel,ring,,,,\n1,opal,,,,,,bezel,ring,,,,", "pair-twice@3:A"},
	} {
		t.Run(c.row, func(t *testing.T) {
			_, faults := ReadPairs(table(t, head+c.row+"\n"))
			wantCodes(t, faults, c.want)
		})
	}
}

// readCases keeps every case of a file without faults.
func readCases(f *sheet.File) (out []Case, faults fault.List) {
	if faults = EachCase(f, func(k Case) { out = append(out, k) }); faults.Blocks() {
		return nil, faults
	}
	return out, faults
}

func TestEachCase(t *testing.T) {
	const head = "case,color,ri_low,ri_high,ri_spot,ri_u,birefringence,birefringence_max,optic,sg,sg_u,weight_air_ct," +
		"weight_water_ct,water_c,balance_ct,lw,sw,pleochroism\n"
	cases,
		faults := readCases(table(t,
		head+"C1,violet-blue,1.635,1.647,,0.002,0.012,yes,Biaxial+,3.22,0.02,,,,,inert,weak orange,very distinct "+
			"purple / blue\n,red,>1.79,,,,,,,,,4.57,3.43,21,0.01,,,\n,,,,1.66,,,,,,,,,,,,,\n"))
	wantCodes(t, faults)
	want := []book.Reading{
		{Test: "ri", Low: "1.635", High: "1.647", PlusMinus: "0.002"}, {Test: "birefringence", Low: "0.012",
			Result: "maximum"}, {Test: "optic", Result: "biaxial+"}, {Test: "sg", Low: "3.22", PlusMinus: "0.02"},
		{Test: "lw", Strength: "inert"}, {Test: "sw", Strength: "weak", Color: "orange"}, {Test: "pleochroism",
			Strength: "strong", Color: "purple / blue"},
	}
	for i := range want {
		want[i].Lot, want[i].Drawn = "C1", "picked"
	}
	if d := cmp.Diff(want, cases[0].Readings); d != "" || cases[0].Color != "violet-blue" {
		t.Error(d)
	}
	if c := cases[1]; c.Name != "3" || len(c.Readings) != 2 || c.Readings[1].Air != 4570 ||
		c.Readings[0].Low != ">1.79" {
		t.Errorf("%+v", c)
	}
	for _, c := range []struct{ row, want string }{
		{"C1,,1.7,1.6,,,,,,,,,,,,,,", "reading-order@2:D"},
		{"C1,,17,,,,,,,,,,,,,,,", "reading-range@2:C"},
		{"C1,,,,,,0.9,,,,,,,,,,,", "reading-range@2:G"},
		{"C1,,,,,,,,double,,,,,,,,,", "word-unknown@2:I"},
		{"C1,,,,,,,,,,,4,5,,,,,", "weighing-order@2:M"},
		{"C1,,,,,,,,,,,4,,,,,,", "cell-missing@2:M"},
		{"C1,red,1.6,,,,,,,,,,,,,,,\nc1,red,1.6,,,,,,,,,,,,,,,", "case-twice@3:A"},
	} {
		t.Run(c.row, func(t *testing.T) {
			_, faults := readCases(table(t, head+c.row+"\n"))
			wantCodes(t, faults, c.want)
		})
	}
}

func TestReadCount(t *testing.T) {
	counts, faults := ReadCount(table(t, "lot,place,pieces,weight_ct\nP1-1,,12,14.61\nP1-1,cutter/Okoro,0,\n"))
	wantCodes(t, faults)
	if d := cmp.Diff([]Count{{Where: counts[0].Where, Lot: "P1-1", Pieces: 12, Carats: 14610, Weighed: true},
		{Where: counts[1].Where, Lot: "P1-1", Place: "cutter/Okoro"}}, counts); d != "" {
		t.Error(d)
	}
	for _, c := range []struct{ row, want string }{
		{",,1,", "cell-missing@2:A"}, {"A,,,", "cell-missing@2:C"}, {"A,,-1,", "pieces-negative@2:C"},
		{"A,,0,1", "pieces-zero@2:C"},
		{"A,,1,0", "weight-zero@2:D"}, {"A,,1,-1", "weight-negative@2:D"}, {"A,,1,1\na,,1,1", "lot-twice@3:A"},
	} {
		t.Run(c.row, func(t *testing.T) {
			_, faults := ReadCount(table(t, "lot,place,pieces,weight_ct\n"+c.row+"\n"))
			wantCodes(t, faults, c.want)
		})
	}
}

// Law: any bytes under a parcel's header are lots, or faults with a place; and
// lots obey what the ledger needs of them.
func FuzzParcel(f *testing.F) {
	f.Add("A-1,topaz,3,1.5,5,total\n")
	f.Add("A-1,topas,0,-1.5,1e9,per_carat\nA-1,,,,,\n")
	f.Add("\"A\n1\",beryl,1,0.001,0.000001,per_piece\n")
	f.Add("x,garnet,99999999999999,999999999,999999999999,total\n")
	f.Fuzz(func(t *testing.T, rows string) {
		body := "lot,species,pieces,weight_ct,price,price_basis\n" + rows
		file, faults := sheet.Open(strings.NewReader(body), int64(len(body)), "f.csv", sheet.Options{})
		var p Parcel
		if faults == nil {
			p, faults = ReadParcel(file, nil, euros)
		}
		checkFaults(t, faults)
		if faults.Blocks() {
			return
		}
		seen := map[string]bool{}
		for _, l := range p.Lots {
			key := strings.ToLower(l.Label)
			if l.Pieces < 1 || l.Carats < 1 || l.Agreed.Sign() < 0 || !l.Agreed.IsWhole() || key != "" && seen[key] {
				t.Fatalf("lot %+v", l)
			}
			seen[key] = true
		}
	})
}

func checkFaults(t *testing.T, faults fault.List) {
	for _, x := range faults {
		if x.Code == "" || x.Mend == "" || x.Where.File == "" {
			t.Fatalf("fault without code, mend or file: %s", x.JSON())
		}
	}
}

func TestReadReturn(t *testing.T) {
	const head = "Item,Lot,Wanted,Size (mm),Sent pieces,Sent (ct),Cut pieces,Cut (ct),Length (mm),Width (mm),Depth " +
		"(mm),Broken pieces,Uncut pieces back,Uncut back (ct),Powder and chips back (ct),Remarks\n"
	back, faults := ReadReturn(table(t, head+"1,P1-1,12 oval,9 x 7,12,30,9,14.205,8.95-9.05,7,4.5,2,1,2.5,1.1,one "+
		"twinned\n2,P1-2,4 pear,,4,6,,,,,,,,,,\n"))
	wantCodes(t, faults)
	if len(back) != 1 {
		t.Fatalf("%d lines came", len(back))
	}
	if w, ok := back[0].Sheet.At("uncut"); !ok || w.Column != "N" || w.Row != 2 {
		t.Errorf("the uncut weight stands at %+v", w)
	}
	back[0].Sheet = ReturnRow{}
	want := []Came{{Item: "1", Lot: "P1-1", Weighed: book.Weighed{Pieces: 9, Carats: 14205},
		Length: book.Size{Min: 895, Max: 905},
		Width:  book.Size{Min: 700, Max: 700}, Depth: book.Size{Min: 450, Max: 450},
		Broken: 2, Uncut: book.Weighed{Pieces: 1, Carats: 2500}, Chips: 1100, Remarks: "one twinned"}}
	if d := cmp.Diff(want, back, cmp.AllowUnexported(ReturnRow{})); d != "" {
		t.Error(d)
	}
	for _, c := range []struct{ row, want string }{
		{"1,P1-1,,,12,30,9,,,,,,,,,", "cell-missing@2:H"},
		{"1,P1-1,,,12,30,,9,,,,,,,,", "pieces-zero@2:G"},
		{"1,P1-1,,,12,30,9,31,,,,,,,,", "return-heavier@2:H"},
		{"1,P1-1,,,12,30,9,14,,,,13,,,,", "return-pieces@2:L"},
		{"1,P1-1,,,12,30,9,-14,,,,,,,,", "weight-negative@2:H"},
		{"1,P1-1,,,12,30,9,14,9.05-8.95,,,,,,,", "size-order@2:I"},
		{"1,P1-1,,,12,30,9,14,about 9,,,,,,,", "size-text@2:I"},
	} {
		t.Run(c.row, func(t *testing.T) {
			_, faults := ReadReturn(table(t, head+c.row+"\n"))
			wantCodes(t, faults, c.want)
		})
	}
}
