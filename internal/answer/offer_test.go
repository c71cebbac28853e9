package answer

import (
	"encoding/json"
	"strings"
	"testing"

	"lotpaper/internal/costing"
	"lotpaper/internal/num"
)

// sampleOffer is an invented offer whose amounts are costing's own.
func sampleOffer() *ParcelOffer {
	h := sampleHead
	h.Number, h.Title = "", "Offer for parcel P7, line Tideline"
	terms := costing.Terms{CashDiscount: pct("3"), PayDays: 14, SellMonths: num.MustDec("7.5"), MoneyCost: pct("6.5")}
	weight := ct("153.271")
	row := func(price, earns, mark string) OfferRow {
		r := OfferRow{Price: eur(price), Earns: eur(earns), Error: eur("1.18"), P10: eur("-120.00"), P90: eur("310.40"),
			Loss: pct("12.4"), Reached: pct("50.3"), Plan: "30 pieces made", Made: 30, Set: 75, Left: 195,
			Brings: eur("3653.67"), Mark: mark}
		r.Total = r.Price.Times(weight.Dec(), num.HalfUp)
		r.Cost = terms.Cost(r.Total)
		r.Profit = r.Earns.Sub(r.Cost)
		return r
	}
	o := &ParcelOffer{Head: h, Parcel: "P7", Vendor: "Okoro (invented)", Kind: "offer", Line: "Tideline", Lots: 18,
		Pieces: 270, Weight: weight, Per: "carat",
		Terms: OfferTerms{CashDiscount: terms.CashDiscount, PayDays: terms.PayDays, SellMonths: terms.SellMonths,
			MoneyCost: terms.MoneyCost}, Target: eur("300.00"),
		Table: []OfferRow{row("0.00", "6812.33", ""), row("30.62", "6812.33", "the ask"), row("44.37", "6801.05",
			"zero expected profit"), row("53.00", "6790.90", "")},
		Designs: []OfferDesign{{"Tide", 6, 4, 0}}, Uses: []OfferUse{{Lot: "P7-1", Name: "topaz", Pieces: 12, Set: 8,
			Each: eur("8.25"), Left: eur("33.00"), Known: true}, {Lot: "P7-2", Name: "zircon", Pieces: 3, Set: 0,
			Each: eur("0.00"), Left: eur("0.00")}},
		History: []OfferHistory{{On: "2026-03-05", Party: "Okoro (invented)", Side: "ask", Total: eur("4693.16"),
			Note: "the vendor's list"}},
		Runs: 10000, Seed: 1, Counted: []string{"breakage in setting"}, NotCounted: []string{"sales"},
		Notes: []string{"leftovers bring the loose price"}}
	o.Ask = &o.Table[1]
	o.Limits = []OfferLimit{{Aim: "zero expected profit", Found: true, Met: &o.Table[2], Missed: &o.Table[3],
		PerCarat: num.MustDec("44.37"), PerPiece: num.MustDec("25.19")},
		{Aim: "target at 90 %", Reason: "the line misses it even if the parcel is a gift"}}
	return o
}

// The workbook follows a changed price as costing reckons the terms, another
// program agrees with it, and its caution is said once.
func TestParcelOffer_Workbook(t *testing.T) {
	b, err := sampleOffer().Workbook()
	if err != nil {
		t.Fatal(err)
	}
	raw := writeBook(t, b)
	keep(t, "offer", raw)
	ours := readXLSX(t, raw)
	if n := strings.Count(ours.dump(), cautionValue); n != 1 {
		t.Errorf("the caution is said %d times", n)
	}
}

// An amount that does not follow from its price is never printed.
func TestParcelOffer_RefusesWrongAmount(t *testing.T) {
	o := sampleOffer()
	o.Table[0].Cost = eur("0.01")
	if _, err := o.Workbook(); err == nil || !strings.Contains(err.Error(), "cost") {
		t.Errorf("got %v", err)
	}
}

func TestParcelOffer_JSONRoundTrip(t *testing.T) {
	o := sampleOffer()
	raw, err := o.JSON()
	if err != nil {
		t.Fatal(err)
	}
	var back ParcelOffer
	if err := json.Unmarshal(raw, &back); err != nil {
		t.Fatal(err)
	}
	again, err := back.JSON()
	if err != nil || string(again) != string(raw) || !strings.HasPrefix(string(raw), `{"schema":"lotpaper/offer/1",`) {
		t.Errorf("the model does not survive its own JSON: %v", err)
	}
	for _, want := range []string{"We pay, we earn", "The ask: 30.62 EUR a carat", "none: the line misses it",
		cautionValue} {
		if !strings.Contains(o.Text(), want) {
			t.Errorf("the text does not say %q", want)
		}
	}
}
