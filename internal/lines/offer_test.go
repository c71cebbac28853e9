package lines_test

import (
	"bytes"
	"strings"
	"testing"

	"lotpaper/internal/desk"
	"lotpaper/internal/house"
	"lotpaper/internal/lines"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/testkit/books"
)

// offerBook is a book that holds a parcel's list, but none of its stones.
func offerBook(t *testing.T, settings map[string]string) (*house.House, string) {
	t.Helper()
	a := books.Line(t, "", settings)
	p, err := a.Stockroom.ParcelImport(t.Context(), stockroom.ParcelImport{Write: books.Who, Vendor: "V",
		Currency: "EUR", Offer: true, File: books.Text("list.csv", books.Parcel)})
	if err != nil {
		t.Fatal(err)
	}
	return a, p.Parcel.Code
}

// The plan held fixed and certain: the parcel's stones cost in the book what
// they bring loose, so the offer's profit at that price is what line price
// says to the cent, and the price of no profit is that much higher.
func TestOffer_InvertsLinePrice(t *testing.T) {
	a := books.Line(t, books.Parcel, nil)
	line, err := a.Lines.Price(t.Context(), lines.Price{Plan: books.LineRequest()})
	if err != nil {
		t.Fatal(err)
	}
	o, err := a.Lines.Offer(t.Context(), lines.Offer{Plan: books.LineRequest(), Parcel: "P1", Per: "total",
		Runs: 10, Only: []string{"none"}, Whole: true})
	if err != nil {
		t.Fatal(err)
	}
	if got := o.Ask.Profit; o.Ask.Total.String() != "1080.00" || got.Cmp(line.Earned.Money) != 0 {
		t.Errorf("at %s the offer earns %s, line price says %s", o.Ask.Total, got, line.Earned)
	}
	for _, l := range o.Limits { // certain: all three aims are one price
		if want := o.Ask.Total.Add(line.Earned.Money); !l.Found || l.Met.Total.Cmp(want) != 0 {
			t.Errorf("%s: %v, want %s", l.Aim, l.Met, want)
		}
	}
	// Without the parcel nothing is made, so what it adds is the whole.
	added, err := a.Lines.Offer(t.Context(), lines.Offer{Plan: books.LineRequest(), Parcel: "P1", Per: "total",
		Runs: 10, Only: []string{"none"}})
	if err != nil || added.Limits[0].Met.Total.Cmp(o.Limits[0].Met.Total) != 0 {
		t.Errorf("added %v, %v", added, err)
	}
}

// A parcel that is only on offer gives the same answer as when it is bought at
// the ask, and the book stays as it was.
func TestOffer_OnlyOnOffer(t *testing.T) {
	a, code := offerBook(t, nil)
	offer, err := a.Lines.Offer(t.Context(), lines.Offer{Plan: books.LineRequest(), Parcel: code,
		Per: "total", Runs: 300})
	if err != nil {
		t.Fatal(err)
	}
	if len(books.Stock(t, a)) != 0 || offer.Pieces != 32 || offer.Ask == nil ||
		offer.Ask.Mark != "the ask" || offer.Ask.Total.String() != "1080.00" {
		t.Errorf("stock %v, %d pieces, asked %v", books.Stock(t, a), offer.Pieces, offer.Ask)
	}
	b := books.Line(t, books.Parcel, nil)
	bought, err := b.Lines.Offer(t.Context(), lines.Offer{Plan: books.LineRequest(), Parcel: "P1",
		Per: "total", Runs: 300})
	if err != nil {
		t.Fatal(err)
	}
	for i := range offer.Limits {
		if x, y := offer.Limits[i].Met, bought.Limits[i].Met; x.Total.Cmp(y.Total) != 0 {
			t.Errorf("%s: on offer %s, bought %s", offer.Limits[i].Aim, x.Total, y.Total)
		}
	}
	books.Sound(t, a)
}

// Planned again at every price: the printed price meets its aim, the next
// minor unit was tried with the same random numbers and misses it, and a
// dearer parcel has fewer of its stones set.
func TestOffer_Replans(t *testing.T) {
	a, code := offerBook(t, map[string]string{"stone_value": "book_cost", "haircut": "30", "money_cost": "7",
		"sell_months": "8"})
	o, err := a.Lines.Offer(t.Context(), lines.Offer{Plan: books.LineRequest(), Parcel: code,
		Target: books.Money("300"), Runs: 400})
	if err != nil {
		t.Fatal(err)
	}
	for i, l := range o.Limits {
		if !l.Found || l.Missed.Price.Sub(l.Met.Price).Cmp(books.Money("0.01")) != 0 {
			t.Fatalf("%s: %+v", l.Aim, l)
		}
		q := []float64{0, 50, 90}[i] // percent
		met, missed := l.Met.Reached.Float() >= q, l.Missed.Reached.Float() >= q
		if i == 0 {
			met, missed = l.Met.Profit.Sign() >= 0, l.Missed.Profit.Sign() >= 0
		}
		if !met || missed {
			t.Errorf("%s: met %t at %s, met %t at %s", l.Aim, met, l.Met.Price, missed, l.Missed.Price)
		}
	}
	if o.Limits[2].Met.Price.Cmp(o.Limits[1].Met.Price) > 0 {
		t.Error("a surer profit allows a higher price")
	}
	first, last := o.Table[0], o.Table[len(o.Table)-1]
	if last.Set > first.Set {
		t.Errorf("%d stones set at %s, %d at %s", first.Set, first.Price, last.Set, last.Price)
	}
	again, err := a.Lines.Offer(t.Context(), lines.Offer{Plan: books.LineRequest(), Parcel: code,
		Target: books.Money("300"), Runs: 400})
	if err != nil || again.Limits[2].Met.Price.Cmp(o.Limits[2].Met.Price) != 0 {
		t.Errorf("the same question has another answer: %v", err)
	}
}

// The terms: 1,000.00 less 3 % is 970.00; 7 % over 6 months of 365/12 days is
// 970 x 0.07 x 182.5 / 365 = 33.95.
func TestOffer_Terms(t *testing.T) {
	a, code := offerBook(t, nil)
	discount, _ := num.ParsePercent("3")
	interest, _ := num.ParsePercent("7")
	months := num.Int(6)
	o, err := a.Lines.Offer(t.Context(), lines.Offer{Plan: books.LineRequest(), Parcel: code, Per: "total",
		Ask: books.Money("1000"), Runs: 50, Terms: lines.OfferTerms{CashDiscount: &discount, MoneyCost: &interest,
			SellMonths: &months}})
	if err != nil {
		t.Fatal(err)
	}
	if o.Ask.Cost.String() != "1003.95" {
		t.Errorf("1000.00 costs %s", o.Ask.Cost)
	}
	wb, err := o.Workbook() // checks its own formulas against the amounts
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := wb.Write(&out); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"the ask", "1003.95", "no appraisal"} {
		if !strings.Contains(o.Text(), want) {
			t.Errorf("the text does not say %q", want)
		}
	}
}

func TestOffer_Refusals(t *testing.T) {
	a, code := offerBook(t, nil)
	ask := func(change func(*lines.Offer)) error {
		r := lines.Offer{Plan: books.LineRequest(), Parcel: code, Runs: 20}
		change(&r)
		_, err := a.Lines.Offer(t.Context(), r)
		return err
	}
	full, _ := num.ParsePercent("100")
	more, _ := num.ParsePercent("120")
	before := int64(-3)
	books.Refused(t, ask(func(r *lines.Offer) { r.Parcel = "P9" }), "parcel-unknown")
	books.Refused(t, ask(func(r *lines.Offer) { r.Line = "Land" }), "line-unknown")
	books.Refused(t, ask(func(r *lines.Offer) { r.Per = "dozen" }), "offer-per")
	books.Refused(t, ask(func(r *lines.Offer) { r.Terms.CashDiscount = &full }), "discount-range")
	books.Refused(t, ask(func(r *lines.Offer) { r.Terms.Haircut = &more }), "haircut-range")
	books.Refused(t, ask(func(r *lines.Offer) { r.Terms.PayDays = &before }), "terms-negative")
	books.Refused(t, ask(func(r *lines.Offer) { r.Only = []string{"weather"} }), "doubt-unknown")

	foreign, _ := num.ParseMoney("900", "GBP")
	_, err := a.Lines.OfferAdd(t.Context(), lines.OfferAdd{Write: books.Who, Parcel: code, Side: "bid", Total: foreign})
	books.Refused(t, err, "fx-missing")
	_, err = a.Lines.OfferAdd(t.Context(), lines.OfferAdd{Write: books.Who, Parcel: code, Side: "bid"})
	books.Refused(t, err, "offer-amount")
	dollars, _ := num.ParseMoney("900", "USD")
	bid, err := a.Lines.OfferAdd(t.Context(), lines.OfferAdd{Write: books.Who, Parcel: code, Side: "bid",
		Total: dollars, Party: "Me"})
	if err != nil || bid.Number != 2 || bid.Total.String() != "828.00" || bid.Foreign.Amount.Cmp(dollars) != 0 {
		t.Errorf("bid %+v, %v", bid, err)
	}
	kept, err := a.Lines.OfferList(t.Context(), lines.OfferList{Parcel: code})
	list := kept.Offers
	if err != nil || len(list) != 2 || list[0].Side != "ask" || len(list[0].Lots) != 2 {
		t.Errorf("kept %+v, %v", list, err)
	}
}

// A valuation by place splits a lot over its places and keeps its sum; stones
// of others stay outside.
func TestStockValue(t *testing.T) {
	a := books.Line(t, books.Parcel+"", map[string]string{"haircut": "25"})
	books.Buy(t, a, "lot,owner,species,shape,pieces,weight,price,price_basis\nM,memo-in/Pellam,topaz,oval,3,4.00,99,"+
		"total\n")
	if _, err := a.Stockroom.LotSplit(t.Context(), stockroom.LotSplit{Movement: books.Moving, Lot: "S", Pieces: 5,
		Carats: 1250}); err != nil {
		t.Fatal(err)
	}
	plain, err := a.Stockroom.StockValue(t.Context(), stockroom.StockValue{AsOf: desk.AsOf{On: "2026-04-01"}})
	if err != nil {
		t.Fatal(err)
	}
	// Topaz: 12 ct x 40 x 75 % = 360 under its cost of 480; sapphire 5 ct x 120
	// x 75 % = 450 under 600: 270 are written down, item by item.
	if plain.WriteDown.String() != "270.00" || plain.Value.String() != "810.00" || plain.Others != 1 ||
		plain.Unpriced != 0 || plain.Rows[0].Days != 30 {
		t.Errorf("%+v", plain)
	}
	for _, by := range (stockroom.StockValue{}).Groups() {
		v, err := a.Stockroom.StockValue(t.Context(), stockroom.StockValue{AsOf: desk.AsOf{On: "2026-04-01"}, By: by})
		if err != nil {
			t.Fatal(err)
		}
		cost, down := num.Zero("EUR"), num.Zero("EUR")
		for _, r := range v.Rows {
			cost, down = cost.Add(r.Cost), down.Add(r.WriteDown)
		}
		if cost.Cmp(plain.Cost) != 0 || down.Cmp(plain.WriteDown) != 0 {
			t.Errorf("by %s: cost %s and write-down %s, want %s and %s", by, cost, down, plain.Cost, plain.WriteDown)
		}
		if _, err := v.Workbook(); err != nil {
			t.Error(err)
		}
	}
	_, err = a.Stockroom.StockValue(t.Context(), stockroom.StockValue{By: "colour"})
	books.Refused(t, err, "value-by")
}
