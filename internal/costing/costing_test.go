package costing

import (
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lotpaper/internal/book"
	"lotpaper/internal/chance"
	"lotpaper/internal/num"
	"lotpaper/internal/testkit/vectors"
)

func eur(t interface{ Fatal(...any) }, s string) num.Money {
	m, f := num.ParseMoney(s, "EUR")
	if f != nil {
		t.Fatal(f)
	}
	return m
}

func percent(s string) num.Percent { return num.Percent{Dec: num.MustDec(s)} }

func handCard(t testing.TB) RateCard {
	c := RateCard{Currency: "EUR", On: "2026-03-31"}
	for _, r := range vectors.Read(t, "costing/rates.csv") {
		per, _ := strconv.ParseInt(r["per"], 10, 64)
		c.Rates = append(c.Rates, book.Rate{Kind: r["kind"], Name: r["name"], Value: num.MustDec(r["value"]), Per: per,
			Unit: r["unit"], On: book.Date(r["on"]), Source: r["source"]})
	}
	return c
}

func handRing(t testing.TB) PieceInput {
	return PieceInput{
		Design: "Shore ring", Piece: "ring", Metal: "gold", Fineness: num.Int(750), MetalWeight: 4200,
		Labour: num.Int(75),
		Stones: []StoneInput{
			{Position: "center", Lot: "P1-1", Name: "topaz", Pieces: 1, Carats: 1500, Cost: eur(t, "48.00"),
				Basis: "book cost", Setting: "prong", Length: 800, Breakage: chance.BetaOf(0.04, 50),
				BreakageSource: "estimate"},
			{Position: "halo", Lot: "P1-2", Name: "topaz", Pieces: 6, Carats: 210, Cost: eur(t, "21.60"),
				Basis: "book cost", Setting: "bead", Length: 200, Breakage: chance.BetaOf(0.005, 50),
				BreakageSource: "estimate"},
		},
	}
}

func handEarrings(t testing.TB) PieceInput {
	return PieceInput{
		Design: "Tide earrings", Piece: "earrings", Metal: "silver", Fineness: num.Int(925), MetalWeight: 3600,
		Labour: num.Int(40), Findings: eur(t, "4.20"), Plated: true, Returns: chance.BetaOf(0.04, 50),
		ReturnsSource: "estimate",
		Stones: []StoneInput{
			{Position: "drops", Lot: "P2-4", Name: "apatite", Pieces: 2, Carats: 1100, Cost: eur(t, "36.00"),
				Basis: "book cost", Setting: "bezel", Length: 500, Breakage: chance.BetaOf(0.15, 20),
				BreakageSource: "estimate"},
		},
	}
}

// The two pieces were costed by hand, every step in testdata/vectors/costing.
func TestPieceCost_ByHand(t *testing.T) {
	for _, c := range []struct {
		file  string
		in    PieceInput
		tiers []Tier
	}{
		{"ring.csv", handRing(t), []Tier{{Name: "trade", Basis: Margin, Percent: percent("45"),
			Points: Points{Step: eur(t, "5"), Below: eur(t, "0.05"), Up: true}, Tax: percent("19")}}},
		{"earrings.csv", handEarrings(t), []Tier{
			{Name: "trade", Basis: Markup, Percent: percent("100")},
			{Name: "retail", Basis: Margin, Percent: percent("50"), From: "trade", Points: Points{Step: eur(t, "10"),
				Below: eur(t, "1")}, TaxIn: true, Tax: percent("19")},
		}},
	} {
		tree, faults := PieceCost(c.in, handCard(t))
		if faults.Blocks() {
			t.Fatal(faults)
		}
		offered, faults := Prices(1, tree.Amount, c.tiers)
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		steps := 0
		for _, row := range vectors.Read(t, "costing/"+c.file) {
			got := ""
			path := strings.Split(row["path"], "/")
			if tier, found := strings.CutPrefix(path[0], "price "); found {
				o := offered[indexOf(offered, tier)]
				switch path[1] {
				case "computed":
					base := tree.Amount
					if tier == "retail" {
						base = offered[0].Price
					}
					p, _ := PriceBy(base, c.tiers[indexOf(offered, tier)].Basis,
						c.tiers[indexOf(offered, tier)].Percent)
					got = p.Price.String()
				case "list":
					got = o.List.String()
				case "tax":
					got = o.Tax.String()
				case "gross":
					got = o.Gross.String()
				case "profit":
					got = o.Profit.String()
				case "margin":
					got = o.Margin.String()
				}
			} else {
				n := tree
				if row["path"] != "" {
					n = tree.Part(path...)
				}
				if n == nil {
					t.Errorf("%s: no node %s", c.file, row["path"])
					continue
				}
				got = n.Amount.String()
			}
			if got != row["amount"] {
				t.Errorf("%s %s: %s, want %s (%s)", c.file, row["path"], got, row["amount"], row["working"])
			}
			steps++
		}
		nodes := 0
		tree.Walk(func(int, *Node) { nodes++ })
		if steps < 19 || nodes < 15 {
			t.Errorf("%s: %d steps checked against %d nodes", c.file, steps, nodes)
		}
		if f := tree.Check(); f != nil {
			t.Error(f)
		}
	}
}

func TestNode_Text(t *testing.T) {
	tree, _ := PieceCost(handRing(t), handCard(t))
	text := tree.Text()
	for _, want := range []string{
		"Shore ring  502.86 EUR  100.0%  = stones + metal + making + overhead\n",
		"    metal in the piece  300.51 EUR  59.8%  = finished weight x fineness / 1000 x fine price\n        with " +
			"finished weight 4.2 g, fineness 750 per mille, metal gold 95.4 EUR/g fine (2026-03-02)\n",
		"      cost  48.00 EUR  9.6%  = 1 stone, 1.500 ct, at book cost\n",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
}

func drawPiece(t *rapid.T) (PieceInput, RateCard) {
	dec := func(name string, low, high int, places int) num.Dec {
		return num.Scaled(int64(rapid.IntRange(low, high).Draw(t, name)), places)
	}
	c := RateCard{Currency: rapid.SampledFrom([]num.Currency{"EUR", "JPY", "KWD"}).Draw(t, "currency"),
		On: "2026-01-01"}
	for _, r := range []book.Rate{
		{Kind: RateMetal, Name: "gold", Value: dec("gold", 1, 20000000, 3),
			Unit: rapid.SampledFrom([]string{"EUR/g fine", "EUR/ozt", "EUR/kg"}).Draw(t, "unit")},
		{Kind: RateLoss, Name: "gold", Value: dec("loss", 0, 600, 2), Unit: "%"}, {Kind: RatePremium, Name: "gold",
			Value: dec("premium", 0, 800, 2), Unit: "%"},
		{Kind: RateSprue, Name: "gold", Value: dec("sprue", 0, 60, 0), Unit: "%"}, {Kind: RateRefining, Name: "gold",
			Value: dec("refining", 0, 5, 0), Unit: "%"},
		{Kind: RateCasting, Name: "gold", Value: dec("casting", 1, 500, 2), Unit: "EUR/g"}, {Kind: RateLabour,
			Name: "bench", Value: dec("labour", 1, 9000, 2), Unit: "EUR/h"},
		{Kind: RateSetting, Name: "prong", Value: dec("prong", 1, 3000, 2), Unit: "EUR/stone"}, {Kind: RateFinishing,
			Name: "unit", Value: dec("finishing", 1, 3000, 2), Unit: "EUR/unit"},
		{Kind: RateMarking, Name: "unit", Value: dec("marking", 1, 999, 2), Unit: "EUR/unit"}, {Kind: RatePacking,
			Name: "unit", Value: dec("packing", 1, 999, 2), Unit: "EUR/unit"},
		{Kind: RateOverhead, Name: rapid.SampledFrom([]string{"conversion", "cost", "hour"}).Draw(t, "base"),
			Value: dec("overhead", 0, 60, 0), Unit: "%"},
	} {
		r.On = "2025-06-01"
		c.Rates = append(c.Rates, r)
	}
	in := PieceInput{Design: "D", Piece: "ring", Metal: "gold", Fineness: dec("fineness", 1, 1000, 0),
		MetalWeight: num.Gram(rapid.IntRange(0, 40000).Draw(t, "grams")), Labour: dec("minutes", 0, 600, 0),
		Returns: chance.BetaOf(rapid.Float64Range(0, 0.3).Draw(t, "returns"), 50)}
	for i := range rapid.IntRange(0, 4).Draw(t, "stones") {
		in.Stones = append(in.Stones, StoneInput{Position: "p" + strconv.Itoa(i/2), Lot: "L" + strconv.Itoa(i),
			Name: "topaz", Pieces: int64(rapid.IntRange(1, 30).Draw(t, "pieces")),
			Cost: num.FromMinor(int64(rapid.IntRange(0, 5000000).Draw(t, "cost")), c.Currency), Setting: "prong",
			Length: 500, Breakage: chance.BetaOf(rapid.Float64Range(0.001, 0.4).Draw(t, "p"), 50)})
	}
	return in, c
}

func TestPieceCost_PartsAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in, c := drawPiece(t)
		n, faults := PieceCost(in, c)
		if faults.Blocks() {
			t.Fatal(faults)
		}
		if f := n.Check(); f != nil {
			t.Fatal(f)
		}
		tenths := num.Dec{}
		for _, l := range n.leaves() {
			if !l.Amount.IsWhole() {
				t.Fatalf("%s is %s: not whole minor units", l.Name, l.Amount)
			}
			if l.Formula == "" {
				t.Fatalf("%s has no formula", l.Name)
			}
			tenths = tenths.Add(l.Share.Dec)
		}
		if n.Amount.Sign() > 0 && (tenths.Cmp(num.Int(100)) != 0 || n.Share.Cmp(num.Int(100)) != 0) {
			t.Fatalf("shares add up to %s, root %s", tenths, n.Share)
		}
	})
}

func TestPieceCost_NeverFallsWhenARateRises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in, c := drawPiece(t)
		before, faults := PieceCost(in, c)
		if faults.Blocks() {
			t.Fatal(faults)
		}
		r := rapid.SampledFrom(c.Rates).Draw(t, "rate")
		r.Value = r.Value.Add(num.Scaled(int64(rapid.IntRange(1, 500).Draw(t, "more")), 2))
		after, faults := PieceCost(in, c.With(r))
		if faults.Blocks() {
			return // a loss of 100 % or more
		}
		// A higher net loss leaves less scrap to refine: rounding may take back one minor unit, no more.
		slack := int64(0)
		if r.Kind == RateLoss {
			slack = 1
		}
		if after.Amount.Minor(num.HalfUp)+slack < before.Amount.Minor(num.HalfUp) {
			t.Fatalf("%s/%s up: cost fell from %s to %s", r.Kind, r.Name, before.Amount, after.Amount)
		}
		basis := rapid.SampledFrom([]Basis{Margin, Markup}).Draw(t, "basis")
		p := percent(strconv.Itoa(rapid.IntRange(0, 99).Draw(t, "percent")))
		low, _ := PriceBy(before.Amount, basis, p)
		high, _ := PriceBy(after.Amount, basis, p)
		if after.Amount.Cmp(before.Amount) >= 0 && high.Price.Cmp(low.Price) < 0 {
			t.Fatalf("price fell from %s to %s", low.Price, high.Price)
		}
	})
}

// A stone that breaks at nearly every try is hardly ever set: what its
// replacements cost must be seen, and rise with the rate up to there.
func TestPieceCost_AlwaysBreaks(t *testing.T) {
	in, last := handRing(t), num.Zero("EUR")
	for _, percent := range []float64{1, 50, 99, 99.99999} {
		in.Stones[0].Breakage = chance.BetaOf(percent/100, 100)
		tree, faults := PieceCost(in, handCard(t))
		if faults.Blocks() {
			t.Fatal(faults)
		}
		again := tree.Part("stones").Parts[0].Part("expected setting loss").Amount
		if again.Cmp(last) <= 0 {
			t.Errorf("breakage of %g %% costs %s, a lower rate %s", percent, again, last)
		}
		last = again
	}
	in.Stones[0].Breakage = chance.BetaOf(1, 100)
	if _, faults := PieceCost(in, handCard(t)); !faults.Blocks() {
		t.Error("a stone that always breaks has a cost")
	}
}

func TestPieceCost_Faults(t *testing.T) {
	full := handCard(t)
	without := func(kind, name string) RateCard {
		c := full
		c.Rates = nil
		for _, r := range full.Rates {
			if r.Kind != kind || r.Name != name {
				c.Rates = append(c.Rates, r)
			}
		}
		return c
	}
	with := func(kind, name, value, unit string) RateCard {
		return full.With(book.Rate{Kind: kind, Name: name, Value: num.MustDec(value), Unit: unit})
	}
	ring := handRing(t)
	fine := ring
	fine.Fineness = num.Int(1001)
	karat := ring
	karat.Fineness = num.Dec{}
	usd := handRing(t)
	usd.Stones[0].Cost = num.FromMinor(100, "USD")
	plated := handEarrings(t)
	for _, c := range []struct {
		name string
		in   PieceInput
		card RateCard
		code string
		ref  string
	}{
		{"no gold price", ring, without("metal", "gold"), "rate-missing", "metal/gold"},
		{"no labour", ring, without("labour", "bench"), "rate-missing", "labour/bench"},
		{"no setting fee", ring, without("setting", "prong medium"), "rate-missing", "setting/prong medium"},
		{"no plating", plated, without("plating", "unit"), "rate-missing", "plating/earrings"},
		{"gold price 0", ring, with("metal", "gold", "0", "EUR/g fine"), "rate-zero", "metal/gold"},
		{"labour negative", ring, with("labour", "bench", "-1", "EUR/h"), "rate-negative", "labour/bench"},
		{"loss 100 %", ring, with("loss", "gold", "100", "%"), "rate-large", "loss/gold"},
		{"unit unknown", ring, with("metal", "gold", "90", "EUR/pound"), "metal-unit", "metal/gold"},
		{"fineness over 1000", fine, full, "fineness-range", ""},
		{"fineness 0", karat, full, "fineness-range", ""},
		{"mixed currencies", usd, full, "currency-mixed", "Shore ring"},
	} {
		_, faults := PieceCost(c.in, c.card)
		found := false
		for _, f := range faults {
			found = found || f.Code == c.code && !f.Warning && f.Mend != "" && (c.ref == "" || f.Where.Ref == c.ref)
		}
		if !found || !faults.Blocks() {
			t.Errorf("%s: no fault %s at %q in %v", c.name, c.code, c.ref, faults)
		}
	}
	// What is counted as nothing is said, and does not block.
	n, faults := PieceCost(ring, without("packing", "unit"))
	if n == nil || faults.Blocks() || len(faults) != 1 || faults[0].Code != "rate-left-out" {
		t.Errorf("no packing rate: %v", faults)
	}
	// A later rate counts from its day on, not before.
	later := full
	later.Rates = append([]book.Rate{{Kind: "metal", Name: "gold", Value: num.Int(200), Unit: "EUR/g fine",
		On: "2026-06-01"}}, full.Rates...)
	a, _ := PieceCost(ring, later)
	later.On = "2026-06-01"
	b, _ := PieceCost(ring, later)
	if a.Amount.String() != "502.86" || b.Part("metal", "metal in the piece").Amount.String() != "630.00" {
		t.Errorf("before %s, after %s", a.Amount, b.Part("metal", "metal in the piece").Amount)
	}
}

func TestPrices_Faults(t *testing.T) {
	cost := eur(t, "100.00")
	for _, c := range []struct {
		name string
		tier Tier
		code string
	}{
		{"margin 100", Tier{Name: "t", Basis: Margin, Percent: percent("100")}, "margin-range"},
		{"margin -1", Tier{Name: "t", Basis: Margin, Percent: percent("-1")}, "margin-range"},
		{"markup -1", Tier{Name: "t", Basis: Markup, Percent: percent("-1")}, "markup-negative"},
		{"just percent", Tier{Name: "t", Percent: percent("50")}, "basis-unknown"},
		{"no fx", Tier{Name: "t", Basis: Margin, Percent: percent("50"), Currency: "USD"}, "fx-missing"},
		{"tier of nothing", Tier{Name: "t", From: "trade"}, "tier-from"},
	} {
		_, faults := Prices(1, cost, []Tier{c.tier})
		if !faults.Blocks() || faults[0].Code != c.code {
			t.Errorf("%s: %v, want %s", c.name, faults, c.code)
		}
	}
	out, faults := Prices(1, cost, []Tier{{Name: "t", Fixed: eur(t, "99.99")}})
	if faults.Blocks() || len(faults) != 1 || faults[0].Code != "price-below-cost" || len(out) != 1 {
		t.Errorf("a price under the cost warns: %v", faults)
	}
}

func TestPrices_ForeignList(t *testing.T) {
	// 100 EUR at 50 % margin is 200 EUR; 0.6312 EUR per 100 JPY makes 31,685.68 JPY, next 500 up 32,000 JPY = 201.98
	// EUR.
	fx, f := num.ParseRate("0.6312", 100)
	if f != nil {
		t.Fatal(f)
	}
	jpy := num.FromMinor(500, "JPY")
	out, faults := Prices(1, eur(t, "100.00"), []Tier{{Name: "Tokyo", Basis: Margin, Percent: percent("50"),
		Currency: "JPY", FX: fx, Points: Points{Step: jpy, Below: num.Zero("JPY"), Up: true},
		Breaks: []Break{{From: 10, Percent: percent("10")}, {From: 50, Percent: percent("60")}}}})
	if faults.Blocks() || out[0].List.Words() != "32000 JPY" || out[0].Price.Words() != "201.98 EUR" ||
		out[0].Before.String() != "50" || out[0].Margin.String() != "50.49" {
		t.Fatalf("%+v %v", out, faults)
	}
	if b := out[0].Broken; len(b) != 2 || b[0].Price.String() != "181.78" || len(faults) != 1 {
		t.Errorf("breaks %+v; the second falls under the cost: %v", b, faults)
	}
}

// A tier on one with another tax starts from that one's price without its tax:
// 119.00 with 19 % in it is 100.00, and 50 % more with 7 % on top of it 160.50.
func TestPrices_TwoTaxes(t *testing.T) {
	tiers := []Tier{{Name: "shop", Fixed: eur(t, "119.00"), TaxIn: true, Tax: percent("19")},
		{Name: "abroad", From: "shop", Basis: Markup, Percent: percent("50"), TaxIn: true, Tax: percent("7")}}
	out, faults := Prices(1, eur(t, "60.00"), tiers)
	if faults.Blocks() || out[0].Price.String() != "100.00" || out[1].List.String() != "160.50" ||
		out[1].Price.String() != "150.00" {
		t.Errorf("%+v %v", out, faults)
	}
}

func TestPrices_Ladder(t *testing.T) {
	for _, c := range []struct {
		cost, want string
		up         bool
	}{{"21.10", "24.95", true}, {"21.10", "19.95", false}, {"24.95", "24.95", true}, {"24.96", "29.95", true}} {
		tier := Tier{Name: "t", Basis: Markup, Points: Points{Step: eur(t, "5"), Below: eur(t, "0.05"), Up: c.up}}
		if out, faults := Prices(1, eur(t, c.cost), []Tier{tier}); faults.Blocks() || out[0].List.String() != c.want {
			t.Errorf("ladder %s up=%v = %+v, %v, want %s", c.cost, c.up, out, faults, c.want)
		}
	}
}

func TestPrices_LadderNeverBelow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cost := num.FromMinor(int64(rapid.IntRange(1, 1000000).Draw(t, "cost")), "EUR")
		p := percent(strconv.Itoa(rapid.IntRange(0, 95).Draw(t, "margin")))
		tier := Tier{Name: "t", Basis: Margin, Percent: p,
			Points: Points{Step: num.FromMinor(int64(rapid.IntRange(1, 5000).Draw(t, "step")), "EUR"), Up: true}}
		out, faults := Prices(1, cost, []Tier{tier})
		plain, _ := PriceBy(cost, Margin, p)
		if faults.Blocks() || out[0].Price.Cmp(plain.Price) < 0 || out[0].Price.Sub(plain.Price).
			Cmp(tier.Points.Step) >= 0 {
			t.Fatalf("%s becomes %s on a ladder of %s", plain.Price, out[0].Price, tier.Points.Step)
		}
	})
}
