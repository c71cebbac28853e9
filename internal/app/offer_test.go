package app_test

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"lotpaper/internal/app"
	"lotpaper/internal/num"
)

// offerBook is a book that holds a parcel's list, but none of its stones.
func offerBook(t *testing.T, settings map[string]string) (*app.App, string) {
	t.Helper()
	a := lineBook(t, "", settings)
	p, err := a.ParcelImport(t.Context(), app.ParcelImport{Write: who, Vendor: "V", Currency: "EUR", Offer: true, File: text("list.csv", lineParcel)})
	if err != nil {
		t.Fatal(err)
	}
	return a, p.Parcel.Code
}

// The plan held fixed and certain: the parcel's stones cost in the book what
// they bring loose, so the offer's profit at that price is what line price
// says to the cent, and the price of no profit is that much higher.
func TestOffer_InvertsLinePrice(t *testing.T) {
	a := lineBook(t, lineParcel, nil)
	line, err := a.LinePrice(t.Context(), lineRequest())
	if err != nil {
		t.Fatal(err)
	}
	o, err := a.Offer(t.Context(), app.Offer{LinePlan: lineRequest(), Parcel: "P1", Per: "total", Runs: 10, Only: []string{"none"}, Whole: true})
	if err != nil {
		t.Fatal(err)
	}
	if got := o.Ask.Outcome.Mean.Value; o.Ask.Total.String() != "1080.00" || math.Abs(got-line.Earned.Float()) > 1e-6 {
		t.Errorf("at %s the offer earns %v, line price says %s", o.Ask.Total, got, line.Earned)
	}
	for _, l := range o.Limits { // certain: all three aims are one price
		if want := o.Ask.Total.Add(line.Earned); !l.Found || l.Met.Total.Cmp(want) != 0 {
			t.Errorf("%s: %v, want %s", l.Aim, l.Met, want)
		}
	}
	// Without the parcel nothing is made, so what it adds is the whole.
	added, err := a.Offer(t.Context(), app.Offer{LinePlan: lineRequest(), Parcel: "P1", Per: "total", Runs: 10, Only: []string{"none"}})
	if err != nil || added.Limits[0].Met.Total.Cmp(o.Limits[0].Met.Total) != 0 {
		t.Errorf("added %v, %v", added, err)
	}
}

// A parcel that is only on offer gives the same answer as when it is bought at
// the ask, and the book stays as it was.
func TestOffer_OnlyOnOffer(t *testing.T) {
	a, code := offerBook(t, nil)
	offer, err := a.Offer(t.Context(), app.Offer{LinePlan: lineRequest(), Parcel: code, Per: "total", Runs: 300})
	if err != nil {
		t.Fatal(err)
	}
	if len(stock(t, a)) != 0 || offer.Pieces != 32 || offer.Asked == nil || offer.Asked.Total.String() != "1080.00" {
		t.Errorf("stock %v, %d pieces, asked %v", stock(t, a), offer.Pieces, offer.Asked)
	}
	b := lineBook(t, lineParcel, nil)
	bought, err := b.Offer(t.Context(), app.Offer{LinePlan: lineRequest(), Parcel: "P1", Per: "total", Runs: 300})
	if err != nil {
		t.Fatal(err)
	}
	for i := range offer.Limits {
		if x, y := offer.Limits[i].Met, bought.Limits[i].Met; x.Total.Cmp(y.Total) != 0 {
			t.Errorf("%s: on offer %s, bought %s", offer.Limits[i].Aim, x.Total, y.Total)
		}
	}
	sound(t, a)
}

// Planned again at every price: the printed price meets its aim, the next
// minor unit was tried with the same random numbers and misses it, and a
// dearer parcel has fewer of its stones set.
func TestOffer_Replans(t *testing.T) {
	a, code := offerBook(t, map[string]string{"stone_value": "book_cost", "haircut": "30", "money_cost": "7", "sell_months": "8"})
	o, err := a.Offer(t.Context(), app.Offer{LinePlan: lineRequest(), Parcel: code, Target: money("300"), Runs: 400})
	if err != nil {
		t.Fatal(err)
	}
	for i, l := range o.Limits {
		if !l.Found || l.Missed.Price.Sub(l.Met.Price).Cmp(money("0.01")) != 0 {
			t.Fatalf("%s: %+v", l.Aim, l)
		}
		q := []float64{0, 0.5, 0.9}[i]
		met, missed := l.Met.Reached.Value >= q, l.Missed.Reached.Value >= q
		if i == 0 {
			met, missed = l.Met.Outcome.Mean.Value >= 0, l.Missed.Outcome.Mean.Value >= 0
		}
		if !met || missed {
			t.Errorf("%s: met %t at %s, met %t at %s", l.Aim, met, l.Met.Price, missed, l.Missed.Price)
		}
	}
	if o.Limits[2].Met.Price.Cmp(o.Limits[1].Met.Price) > 0 {
		t.Error("a surer profit allows a higher price")
	}
	first, last := o.Table[0].Data.(*app.OfferPlan), o.Table[len(o.Table)-1].Data.(*app.OfferPlan)
	if last.Used > first.Used {
		t.Errorf("%d stones set at %s, %d at %s", first.Used, o.Table[0].Price, last.Used, o.Table[len(o.Table)-1].Price)
	}
	again, err := a.Offer(t.Context(), app.Offer{LinePlan: lineRequest(), Parcel: code, Target: money("300"), Runs: 400})
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
	o, err := a.Offer(t.Context(), app.Offer{LinePlan: lineRequest(), Parcel: code, Per: "total", Ask: money("1000"), Runs: 50, Terms: app.OfferTerms{CashDiscount: &discount, MoneyCost: &interest, SellMonths: &months}})
	if err != nil {
		t.Fatal(err)
	}
	if o.Ask.Cost.String() != "1003.95" {
		t.Errorf("1000.00 costs %s", o.Ask.Cost)
	}
	doc, err := a.OfferDocument(t.Context(), o, "")
	if err != nil {
		t.Fatal(err)
	}
	wb, err := doc.Workbook() // checks its own formulas against the amounts
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := wb.Write(&out); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"the ask", "1003.95", "no appraisal"} {
		if !strings.Contains(doc.Text(), want) {
			t.Errorf("the text does not say %q", want)
		}
	}
}

func TestOffer_Refusals(t *testing.T) {
	a, code := offerBook(t, nil)
	ask := func(change func(*app.Offer)) error {
		r := app.Offer{LinePlan: lineRequest(), Parcel: code, Runs: 20}
		change(&r)
		_, err := a.Offer(t.Context(), r)
		return err
	}
	full, _ := num.ParsePercent("100")
	more, _ := num.ParsePercent("120")
	before := int64(-3)
	refused(t, ask(func(r *app.Offer) { r.Parcel = "P9" }), "parcel-unknown")
	refused(t, ask(func(r *app.Offer) { r.Line = "Land" }), "line-unknown")
	refused(t, ask(func(r *app.Offer) { r.Per = "dozen" }), "offer-per")
	refused(t, ask(func(r *app.Offer) { r.Terms.CashDiscount = &full }), "discount-range")
	refused(t, ask(func(r *app.Offer) { r.Terms.Haircut = &more }), "haircut-range")
	refused(t, ask(func(r *app.Offer) { r.Terms.PayDays = &before }), "terms-negative")
	refused(t, ask(func(r *app.Offer) { r.Only = []string{"weather"} }), "doubt-unknown")

	foreign, _ := num.ParseMoney("900", "GBP")
	_, err := a.OfferAdd(t.Context(), app.OfferAdd{Write: who, Parcel: code, Side: "bid", Total: foreign})
	refused(t, err, "fx-missing")
	_, err = a.OfferAdd(t.Context(), app.OfferAdd{Write: who, Parcel: code, Side: "bid"})
	refused(t, err, "offer-amount")
	dollars, _ := num.ParseMoney("900", "USD")
	bid, err := a.OfferAdd(t.Context(), app.OfferAdd{Write: who, Parcel: code, Side: "bid", Total: dollars, Party: "Me"})
	if err != nil || bid.Number != 2 || bid.Total.String() != "828.00" || bid.Foreign.Amount.Cmp(dollars) != 0 {
		t.Errorf("bid %+v, %v", bid, err)
	}
	_, list, err := a.OfferList(t.Context(), code)
	if err != nil || len(list) != 2 || list[0].Side != "ask" || len(list[0].Lots) != 2 {
		t.Errorf("kept %+v, %v", list, err)
	}
}

// A valuation by place splits a lot over its places and keeps its sum; stones
// of others stay outside.
func TestStockValuation(t *testing.T) {
	a := lineBook(t, lineParcel+"", map[string]string{"haircut": "25"})
	buy(t, a, "lot,owner,species,shape,pieces,weight,price,price_basis\nM,memo-in/Pellam,topaz,oval,3,4.00,99,total\n")
	if _, err := a.LotSplit(t.Context(), app.LotSplit{Write: who, Lot: "S", Pieces: 5, Carats: 1250}); err != nil {
		t.Fatal(err)
	}
	plain, err := a.StockValue(t.Context(), "2026-04-01")
	if err != nil {
		t.Fatal(err)
	}
	// Topaz: 12 ct x 40 x 75 % = 360 under its cost of 480; sapphire 5 ct x 120
	// x 75 % = 450 under 600: 270 are written down, item by item.
	if plain.WriteDown.String() != "270.00" || plain.Value.String() != "810.00" || plain.Others != 1 || plain.Unpriced != 0 || plain.Rows[0].Days != 30 {
		t.Errorf("%+v", plain)
	}
	for _, by := range app.ValuationBy {
		v, err := a.StockValuation(t.Context(), "2026-04-01", by)
		if err != nil {
			t.Fatal(err)
		}
		cost, down := num.Zero("EUR"), num.Zero("EUR")
		for _, r := range v.Rows {
			cost, down = cost.Add(r.Cost), down.Add(r.WriteDown())
		}
		if cost.Cmp(plain.Cost) != 0 || down.Cmp(plain.WriteDown) != 0 {
			t.Errorf("by %s: cost %s and write-down %s, want %s and %s", by, cost, down, plain.Cost, plain.WriteDown)
		}
		if _, err := v.Workbook(); err != nil {
			t.Error(err)
		}
	}
	_, err = a.StockValuation(t.Context(), "", "colour")
	refused(t, err, "value-by")
}
