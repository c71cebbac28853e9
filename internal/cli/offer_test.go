package cli

import (
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/lines"
	"lotpaper/internal/num"
	"lotpaper/internal/testkit/books"
)

// Amounts are in the book's currency; terms that are not given keep the book's.
func TestOfferFlags_Request(t *testing.T) {
	var o offerFlags
	parsed(t, func(c *cobra.Command) { o.flags(c) }, "--line", "Sea", "--ask", "900", "--target", "150.50", "--per",
		"total", "--cash-discount", "3", "--pay-days", "60", "--months", "7.5", "--runs", "50", "--only",
		"metal,breakage", "--whole")
	got, err := o.request(&root{who: "me"}, "EUR", "P7")
	if err != nil {
		t.Fatal(err)
	}
	discount, days, months := num.Percent{Dec: num.Int(3)}, int64(60), num.MustDec("7.5")
	want := lines.Offer{Plan: lines.Plan{Line: "Sea", Seed: 1, Quantities: map[string]int64{}}, Parcel: "P7",
		Per: "total", Ask: books.Money("900"), Target: books.Money("150.50"), Runs: 50,
		Only: []string{"metal", "breakage"}, Whole: true,
		Terms: lines.OfferTerms{CashDiscount: &discount, PayDays: &days, SellMonths: &months}}
	want.Who = "me"
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
}

func TestOfferFlags_Faults(t *testing.T) {
	for _, c := range []struct{ flag, value, code string }{
		{"ask", "-1", "ask-negative"}, {"target", "-1", "target-negative"}, {"pay-days", "soon", "days-form"},
	} {
		var o offerFlags
		parsed(t, func(c *cobra.Command) { o.flags(c) }, "--line", "Sea", "--"+c.flag, c.value)
		if _, err := o.request(&root{}, "EUR", "P7"); faultCode(err) != c.code {
			t.Errorf("--%s %s: %v, want %s", c.flag, c.value, err, c.code)
		}
	}
	var o offerFlags
	parsed(t, func(c *cobra.Command) { o.flags(c) })
	if _, err := o.request(&root{}, "EUR", "P7"); faultCode(err) != "offer-line" {
		t.Errorf("without a line: %v", err)
	}
}

// One offer as text, JSON and workbook; asks and bids are kept and listed.
func TestOffer_Forms(t *testing.T) {
	p := lineBook(t)
	ask := []string{"offer", "P1", "--line", "Sea", "--date", "2026-02-03", "--runs", "50"}
	var offer answer.ParcelOffer
	readJSON(t, p.must(append(ask, "--json")...), &offer)
	if offer.Parcel != "P1" || offer.Ask == nil || offer.Ask.Mark != "its cost in the book" || len(offer.Limits) != 3 ||
		offer.Runs != 50 || len(offer.Book) != 64 {
		t.Errorf("offer %+v", offer)
	}
	book := filepath.Join(p.dir, "offer.xlsx")
	text := p.must(append(ask, "-o", book)...)
	if !strings.Contains(text, "Its cost in the book: "+offer.Ask.Price.Words()) {
		t.Errorf("text:\n%s", text)
	}
	wantFault(t, p.run(append(ask, "-o", book)...), 5, "exists already")

	p.must("offer", "ask", "P1", "--total", "1200", "--party", "V", "--date", "2026-02-03")
	p.must("offer", "bid", "P1", "--per-carat", "50", "--date", "2026-02-03")
	var list answer.Offers
	readJSON(t, p.must("offer", "list", "P1", "--json"), &list)
	if list.Parcel != "P1" || len(list.Offers) != 2 || list.Offers[1].Total.String() != "850.00" {
		t.Errorf("list %+v", list)
	}
	if table := p.must("offer", "list", "P1"); !strings.Contains(table, "ask\tV\t1200.00 EUR\t70.59") {
		t.Errorf("table:\n%s", table)
	}
	wantFault(t, p.run("offer", "bid", "P1"), 2, "--total")
}
