package costing

import (
	"encoding/json"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

func TestShareCost_AddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		total := num.FromMinor(int64(rapid.IntRange(0, 100000000).Draw(t, "total")), "EUR")
		var parts []Part
		for i := range rapid.IntRange(1, 12).Draw(t, "parts") {
			parts = append(parts, Part{"p" + strconv.Itoa(i),
				num.Scaled(int64(rapid.IntRange(1, 90000).Draw(t, "quantity")), 3),
				num.Scaled(int64(rapid.IntRange(1, 90000).Draw(t, "price")), 2), num.Dec{}})
		}
		s, faults := ShareCost(total, rapid.SampledFrom([]book.ShareKey{book.ByValue, book.ByNRV, book.ByCarats,
			book.ByPieces}).Draw(t, "by"), parts)
		if faults != nil {
			t.Fatal(faults)
		}
		sum := num.Zero("EUR")
		for _, p := range s.Parts {
			sum = sum.Add(p.Amount)
		}
		if sum.Cmp(total) != 0 {
			t.Fatalf("parts add up to %s, not %s", sum, total)
		}
	})
}

func TestParsePart(t *testing.T) {
	p, f := ParsePart("I=70x800-250")
	if f != nil || p.Name != "I" || p.Quantity.String() != "70" || p.Price.String() != "800" ||
		p.Further.String() != "250" {
		t.Errorf("%+v %v", p, f)
	}
	if p, f := ParsePart("melee=12.5"); f != nil || p.Quantity.String() != "12.5" || !p.Price.IsZero() {
		t.Errorf("%+v %v", p, f)
	}
	for _, bad := range []string{"", "=3", "A", "A=", "A=3x", "A=x5", "A=1,234x5"} {
		if p, f := ParsePart(bad); f == nil {
			t.Errorf("%q read as %+v", bad, p)
		}
	}
}

func TestExchange(t *testing.T) {
	usd, _ := num.ParseMoney("1999.99", "USD")
	rate, _ := num.ParseRate("0.9231", 1)
	if e, f := Exchange(usd, rate, "EUR"); f != nil || e.Amount.Words() != "1846.19 EUR" || e.Foreign != usd {
		t.Errorf("%+v %v", e, f)
	}
	per, _ := num.ParseRate("0.6312", 100)
	if e, f := Exchange(num.FromMinor(10000, "JPY"), per, "EUR"); f != nil || e.Amount.Words() != "63.12 EUR" {
		t.Errorf("%+v %v", e, f)
	}
	if _, f := Exchange(usd, num.Rate{}, "EUR"); f == nil || f.Code != "fx-missing" {
		t.Errorf("no rate: %v", f)
	}
}

func TestAlloy_Faults(t *testing.T) {
	for _, c := range []struct {
		name  string
		parts []AlloyPart
		code  string
	}{
		{"not 1000", []AlloyPart{{Metal: "Au", Parts: num.Int(750)}, {Metal: "Cu", Parts: num.Int(249)}}, "alloy-sum"},
		{"negative", []AlloyPart{{Metal: "Au", Parts: num.Int(1100)}, {Metal: "Cu", Parts: num.Int(-100)}},
			"alloy-part"},
		{"unknown", []AlloyPart{{Metal: "Xx", Parts: num.Int(1000)}}, ""},
		{"denser than any metal", []AlloyPart{{Metal: "Xx", Parts: num.Int(1000),
			Density: num.MustDec("100000000000000000000000000000")}}, "density-range"},
	} {
		if _, faults := AlloyOf(c.parts); len(faults) == 0 || c.code != "" && faults[0].Code != c.code ||
			faults[0].Mend == "" {
			t.Errorf("%s: %v", c.name, faults)
		}
	}
	// 1000 / (750 / 19.32 + 250 / 9.5) = 1000 / (38.8199 + 26.3158) = 15.3526.
	own := []AlloyPart{{Metal: "Au", Parts: num.Int(750)}, {Metal: "mix", Parts: num.Int(250),
		Density: num.MustDec("9.5")}}
	if a, faults := AlloyOf(own); faults != nil || a.Density.String() != "15.35" || a.Fineness.String() != "750" ||
		a.Of != "gold" {
		t.Errorf("%+v %v", a, faults)
	}
}

// Every alloy that follows from a published recipe stays within the published
// range or 3 percent of it (a judgement on how far recipes differ).
func TestWax_TableMultipliers(t *testing.T) {
	for _, c := range []struct{ source, density, low, high string }{
		{"Wax to cast gold conversions (Ganoksin Orchid): 14K x 13.5", "13.07", "13", "13.5"},
		{"the same: 18K x 15", "15.58", "15", "16"},
		{"the same: silver x 10", "10.40", "10", "10.5"},
	} {
		w, f := Wax(1000, num.Dec{}, num.MustDec(c.density))
		if f != nil || w.Metal.Dec().Cmp(num.MustDec(c.low)) < 0 || w.Metal.Dec().Cmp(num.MustDec(c.high)) > 0 {
			t.Errorf("%s: %s g (%v)", c.source, w.Metal, f)
		}
	}
}

func TestRing(t *testing.T) {
	for _, c := range []struct {
		source, system, size string
		want                 map[string]string
	}{
		{"Ring size systems table (Wikipedia)", "US", "7", map[string]string{"ISO": "54", "US": "7", "IT": "14"}},
		{"JP: d = 13 + (n - 1) / 3 mm (common practice)", "jp", "14", map[string]string{"JP": "14", "US": "7",
			"ISO": "54"}},
		{"unverified: BS 6820: C = 40.0 mm", "UK", "C", map[string]string{"UK": "C", "ISO": "40"}},
		{"half letters", "UK", "N 1/2", map[string]string{"UK": "N1/2"}},
		{"half sizes", "US", "6 1/2", map[string]string{"US": "6.5"}},
	} {
		r, f := RingBySize(c.system, c.size)
		if f != nil {
			t.Fatal(c.source, f)
		}
		for k, v := range c.want {
			if r.Sizes[k] != v {
				t.Errorf("%s: %s %s is %s %q, want %q", c.source, c.system, c.size, k, r.Sizes[k], v)
			}
		}
	}
	for _, bad := range [][2]string{{"US", "x"}, {"US", "40"}, {"UK", "7"}, {"XX", "7"}, {"ISO", "7"}} {
		if _, f := RingBySize(bad[0], bad[1]); f == nil || f.Where.Field == "" {
			t.Errorf("%v: no fault", bad)
		}
	}
	rapid.Check(t, func(t *rapid.T) { // every size in use comes back from its own circumference
		n := rapid.IntRange(0, 64).Draw(t, "quarters")
		size := num.Scaled(int64(25*n), 2).String()
		r, f := RingBySize("US", size)
		if f != nil || r.Sizes["US"] != num.MustDec(size).String() {
			t.Fatalf("US %s comes back as %q (%v)", size, r.Sizes["US"], f)
		}
		back, f := RingByDiameter(r.Diameter)
		if f != nil || back.Sizes["US"] != r.Sizes["US"] {
			t.Fatalf("diameter %s is %q", r.Diameter, back.Sizes["US"])
		}
	})
}

// The foreign amount and the rate are kept as text and give the same book
// amount again.
func TestExchange_RoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := rapid.SampledFrom([]num.Currency{"USD", "JPY", "KWD", "CHF"}).Draw(t, "from")
		amount := num.FromMinor(int64(rapid.IntRange(-1000000000, 1000000000).Draw(t, "amount")), from)
		per := rapid.SampledFrom([]int64{1, 100, 1000}).Draw(t, "per")
		x, f := num.ParseRate(num.Scaled(int64(rapid.IntRange(1, 2000000000).Draw(t, "rate")), rapid.IntRange(0, 9).
			Draw(t, "places")).String(), per)
		if f != nil {
			t.Fatal(f)
		}
		e, f := Exchange(amount, x, "EUR")
		if f != nil {
			t.Fatal(f)
		}
		text, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		var back Exchanged
		if err := json.Unmarshal(text, &back); err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		again, f := Exchange(back.Foreign, back.Rate, back.Amount.Currency())
		if f != nil || again.Amount.Cmp(e.Amount) != 0 || back.Foreign.Cmp(amount) != 0 {
			t.Fatalf("%s at %s is %s, after the round trip %s", amount.Words(), x, e.Amount.Words(),
				again.Amount.Words())
		}
	})
}

// A parcel's cost, shared, and its parts shared again as often as one likes,
// still adds up.
func TestShareCost_AfterAnySorts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		total := num.FromMinor(int64(rapid.IntRange(0, 5000000).Draw(t, "total")),
			rapid.SampledFrom([]num.Currency{"EUR", "JPY", "KWD"}).Draw(t, "currency"))
		lots := []num.Money{total}
		for range rapid.IntRange(1, 8).Draw(t, "sorts") {
			i := rapid.IntRange(0, len(lots)-1).Draw(t, "lot")
			var parts []Part
			for range rapid.IntRange(1, 5).Draw(t, "parts") {
				parts = append(parts, Part{Name: "p", Quantity: num.Scaled(int64(rapid.IntRange(1, 9999).
					Draw(t, "quantity")), 3), Price: num.Int(int64(rapid.IntRange(1, 500).Draw(t, "price")))})
			}
			s, faults := ShareCost(lots[i], book.ByValue, parts)
			if faults != nil {
				t.Fatal(faults)
			}
			lots = append(lots[:i:i], lots[i+1:]...)
			for _, p := range s.Parts {
				lots = append(lots, p.Amount)
			}
		}
		sum := num.Money{}
		for _, l := range lots {
			sum = sum.Add(l)
		}
		if sum.Cmp(total) != 0 {
			t.Fatalf("%s became %s", total.Words(), sum.Words())
		}
	})
}

func TestDefaultRates(t *testing.T) {
	for _, r := range DefaultRates() {
		if f := checkRate(r); f != nil || r.Source == "" || r.Note == "" {
			t.Errorf("%s/%s: %v", r.Kind, r.Name, f)
		}
		s, ok := DefaultSwing(r.Kind + "/" + r.Name)
		if !ok || s.Low.Cmp(s.Base) > 0 || s.Base.Cmp(s.High) > 0 || s.Base.Cmp(r.Value) != 0 {
			t.Errorf("%s/%s has no range around it", r.Kind, r.Name)
		}
	}
	// A rate of the book stands before a default; without one the default counts.
	card := handCard(t)
	card.Rates = append(DefaultRates(), card.Rates...)
	card.Rates = append(card.Rates, book.Rate{Kind: RateLoss, Name: "palladium", Value: num.Int(1), Unit: "%",
		On: "1999-01-01"})
	if r, _ := card.Find(RateLoss, "palladium"); r.Value.String() != "1" {
		t.Errorf("loss of palladium %s, the book said 1 long before the default", r.Value)
	}
	if r, _ := card.Find(RateLoss, "silver"); r.Value.String() != "3" {
		t.Errorf("loss of silver %s, the book says 3", r.Value)
	}
	if r, ok := card.Find(RateLoss, "platinum"); !ok || r.Value.String() != "2.8" {
		t.Errorf("loss of platinum %s", r.Value)
	}
	if r, ok := card.Find(RateSprue, "all"); !ok || r.On != "" {
		t.Errorf("the undated default %v is not found", r)
	}
}

func TestWaxOf(t *testing.T) {
	// Wax to cast gold conversions (Ganoksin Orchid): sterling x 10 to 10.5.
	w, f := WaxOf(2400, "sterling")
	if f != nil || w.Metal.String() != "24.960" || w.ThumbLow.String() != "24.000" ||
		w.ThumbHigh.String() != "25.200" || w.Low > w.Metal || w.High < w.Metal {
		t.Errorf("%+v %v", w, f)
	}
	if _, f := WaxOf(2400, "stirling"); f == nil || f.Where.Field != "metal" {
		t.Errorf("an unknown alloy: %v", f)
	}
	if _, f := WaxOf(0, "sterling"); f == nil || f.Where.Field != "wax" {
		t.Errorf("no wax: %v", f)
	}
}
