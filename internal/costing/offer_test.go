package costing

import (
	"errors"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"lotpaper/internal/chance"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/testkit/draw"
)

func TestTerms(t *testing.T) {
	// 10,000 less 3 % = 9,700 paid at once; sold after 6 months at 8 %: 9,700 x 0.08 x 182.5 / 365 = 388.00.
	terms := Terms{CashDiscount: percent("3"), SellMonths: num.Int(6), MoneyCost: percent("8")}
	if got := terms.Cost(eur(t, "10000.00")); got.String() != "10088.00" {
		t.Errorf("cost %s", got)
	}
	late := Terms{PayDays: 200, SellMonths: num.Int(6), MoneyCost: percent("8")}
	if got := late.Cost(eur(t, "10000.00")); got.String() != "10000.00" {
		t.Errorf("paid after it is sold: %s", got)
	}
	if len((Terms{CashDiscount: percent("100"), PayDays: -1}).Check()) != 2 {
		t.Error("terms that cannot be pass")
	}
}

// The plan held fixed and certain: the offer inverts the line's profit exactly.
func TestOfferOf_InvertsAFixedPlan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		profit := num.FromMinor(int64(rapid.IntRange(1, 3000000).Draw(t, "profit")), "EUR")
		left := num.FromMinor(int64(rapid.IntRange(0, 100000).Draw(t, "left")), "EUR")
		terms := Terms{CashDiscount: percent(strconv.Itoa(rapid.IntRange(0, 5).Draw(t, "discount"))),
			SellMonths: num.Int(int64(rapid.IntRange(0, 18).Draw(t, "months"))),
			MoneyCost:  percent(strconv.Itoa(rapid.IntRange(0, 12).Draw(t, "interest")))}
		m := &Model{Currency: "EUR", Designs: []ModelDesign{{Name: "a", Quantity: 1, Price: profit}}}
		in := OfferInput{Carats: num.Carat(rapid.IntRange(100, 500000).Draw(t, "carats")), Pieces: 100,
			Per: rapid.SampledFrom([]string{"carat", "piece", "total"}).Draw(t, "per"), Terms: terms,
			Runs: Runs{First: 8}, Currency: "EUR", Plan: func(num.Money) (Planned, error) {
				return Planned{Model: m,
					Leftovers: left}, nil
			}}
		o, err := OfferOf(in)
		if err != nil {
			t.Fatal(err)
		}
		earn := profit.Add(left)
		for _, l := range o.Limits { // certain: all three aims are the same price
			if !l.Found || l.Met.Cost.Cmp(earn) > 0 || l.Missed.Cost.Cmp(earn) <= 0 {
				t.Fatalf("%s: pays %s, next %s, earns %s", l.Aim, l.Met.Cost, l.Missed.Cost, earn)
			}
			if l.Missed.Price.Sub(l.Met.Price).Cmp(num.FromMinor(1, "EUR")) != 0 {
				t.Fatalf("%s and %s are not neighbours", l.Met.Price, l.Missed.Price)
			}
			if terms == (Terms{}) && in.Per == "total" && l.Met.Total.Cmp(earn) != 0 {
				t.Fatalf("offers %s of %s", l.Met.Total, earn)
			}
		}
	})
}

// Re-planned: the dearer the parcel, the fewer of its stones are set. The
// printed price meets the aim, the next minor unit was tried and misses it.
func TestOfferOf_Replans(t *testing.T) {
	asked := map[string]int{}
	in := OfferInput{
		Carats: 250000, Pieces: 150, Per: "carat", Currency: "EUR", Target: eur(t, "2000.00"), Ask: eur(t, "40.00"),
		Runs:  Runs{Seed: 6, First: 600},
		Terms: Terms{SellMonths: num.Int(6), MoneyCost: percent("6")},
		Plan: func(total num.Money) (Planned, error) {
			asked[total.String()]++
			designs := 10
			for designs > 2 && total.Float() > 1500*float64(14-designs) { // a plan that thins out in jumps
				designs--
			}
			return Planned{Model: bigModel(designs), Leftovers: num.FromMinor(int64(10-designs)*20000, "EUR"),
				Words: strconv.Itoa(designs) + " designs"}, nil
		},
	}
	in.Plan = func(plan func(num.Money) (Planned, error)) func(num.Money) (Planned, error) {
		return func(total num.Money) (Planned, error) {
			p, err := plan(total)
			p.Model.Shared = num.Money{}
			return p, err
		}
	}(in.Plan)
	o, err := OfferOf(in)
	if err != nil {
		t.Fatal(err)
	}
	zero, half, sure := o.Limits[0], o.Limits[1], o.Limits[2]
	for _, l := range o.Limits {
		if !l.Found || l.Missed.Price.Minor(num.HalfUp) != l.Met.Price.Minor(num.HalfUp)+1 || l.Met.Words == "" {
			t.Fatalf("%+v", l)
		}
	}
	if zero.Met.Outcome.Mean.Value < 0 || zero.Missed.Outcome.Mean.Value >= 0 || half.Met.Reached.Value < 0.5 ||
		half.Missed.Reached.Value >= 0.5 || sure.Met.Reached.Value < 0.9 || sure.Missed.Reached.Value >= 0.9 {
		t.Error("a limit does not meet its aim, or the next price does not miss it")
	}
	if sure.Met.Price.Cmp(half.Met.Price) > 0 || half.Met.Price.Cmp(zero.Met.Price) > 0 {
		t.Errorf("90 %% %s, 50 %% %s, zero %s", sure.Met.Price, half.Met.Price, zero.Met.Price)
	}
	if o.Ask == nil || o.Ask.Total.String() != "10000.00" || len(o.Table) < 7 {
		t.Errorf("ask %+v, table of %d", o.Ask, len(o.Table))
	}
	for total, n := range asked {
		if n > 1 {
			t.Errorf("planned %d times at %s", n, total)
		}
	}
	if o.Tried > 60 {
		t.Errorf("%d plans were made for one offer", o.Tried)
	}
	t.Logf("%d plans made", o.Tried)
	again, _ := OfferOf(in)
	if again.Limits[2].Met.Price.Cmp(sure.Met.Price) != 0 || again.Limits[2].Met.Outcome.Mean != sure.Met.Outcome.Mean {
		t.Error("the same question has another answer")
	}
}

// A plan that jumps as it likes: the answer still meets its aim and the next
// minor unit misses it; and few prices are tried.
func TestOfferOf_AnyPlan(t *testing.T) {
	most := 0
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		steps := rapid.IntRange(0, 6).Draw(t, "steps")
		worth := rapid.IntRange(1, 5000000).Draw(t, "worth")
		in := OfferInput{
			Carats: num.Carat(rapid.IntRange(1000, 900000).Draw(t, "carats")), Per: "carat", Currency: "EUR",
			Target: num.FromMinor(int64(worth/10), "EUR"), Runs: Runs{Seed: seed, First: 40},
			Plan: func(total num.Money) (Planned, error) {
				luck := chance.NewStream(seed, "plan")
				value := worth
				for range steps { // each threshold changes the plan's worth, mostly down
					at := int64(luck.IntN(worth + 1))
					change := int(draw.Normal(luck.Rand, -float64(worth)/20, float64(worth)/15))
					if total.Minor(num.HalfUp) > at {
						value += change
					}
				}
				return Planned{Model: &Model{Currency: "EUR", Drivers: map[string]Driver{"gold": {0.2, 6}},
					Designs: []ModelDesign{{Name: "a", Quantity: 1, Price: num.FromMinor(int64(value), "EUR"),
						Exposed: []Exposed{{"gold", num.FromMinor(int64(worth/8), "EUR")}}}}}}, nil
			},
		}
		o, err := OfferOf(in)
		if err != nil {
			t.Fatal(err)
		}
		for i, l := range o.Limits {
			if !l.Found {
				continue
			}
			meets := func(v *Evaluation) bool {
				switch i {
				case 0:
					return v.Outcome.Mean.Value >= -1e-9
				case 1:
					return v.Reached.Value >= 0.5
				}
				return v.Reached.Value >= 0.9
			}
			if !meets(l.Met) || meets(l.Missed) || l.Missed.Price.Minor(num.HalfUp) != l.Met.Price.Minor(num.HalfUp)+1 {
				t.Fatalf("%s: %s meets %v, %s meets %v", l.Aim, l.Met.Price, meets(l.Met), l.Missed.Price,
					meets(l.Missed))
			}
		}
		most = max(most, o.Tried)
	})
	t.Logf("at most %d prices tried for three limits and the table", most)
	if most > 90 {
		t.Errorf("%d prices tried", most)
	}
}

func TestOfferOf_NoPrice(t *testing.T) {
	poor := &Model{Currency: "EUR", Shared: eur(t, "10.00")}
	in := OfferInput{Carats: 1000, Pieces: 1, Per: "total", Currency: "EUR", Runs: Runs{First: 8},
		Plan: func(num.Money) (Planned, error) { return Planned{Model: poor}, nil }}
	o, err := OfferOf(in)
	if err != nil || o.Limits[0].Found || o.Limits[0].Reason == "" {
		t.Errorf("a line that loses as a gift: %+v %v", o.Limits, err)
	}
	in.Plan = func(total num.Money) (Planned, error) { return Planned{}, errors.New("no stones") }
	if _, err := OfferOf(in); err == nil {
		t.Error("a failed plan is no offer")
	}
	in.Per = "gram"
	if l, ok := fault.From(func() error { _, err := OfferOf(in); return err }()); !ok || l[0].Code != "offer-per" {
		t.Errorf("%v", l)
	}
}
