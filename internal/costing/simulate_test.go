package costing

import (
	"math"
	"runtime"
	"strconv"
	"testing"

	"lotpaper/internal/chance"
	"lotpaper/internal/num"
	"lotpaper/internal/testkit/draw"
)

func within(t *testing.T, what string, got Figure, want, errors float64) {
	t.Helper()
	if !(math.Abs(got.Value-want) <= errors*got.SE+1e-9) {
		t.Errorf("%s: %.6f +/- %.6f, want %.6f", what, got.Value, got.SE, want)
	}
}

// Nothing uncertain: every run is the exact profit, to the cent.
func TestSimulate_CertainIsExact(t *testing.T) {
	ring, earrings := handRing(t), handEarrings(t)
	for i := range ring.Stones {
		ring.Stones[i].Breakage = chance.Beta{}
	}
	earrings.Stones[0].Breakage = chance.Beta{}
	card := handCard(t)
	a, _ := PieceCost(ring, card)
	b, _ := PieceCost(earrings, card)
	designs := []LineDesign{{"ring", 12, eur(t, "914.95"), a, eur(t, "850.00")}, {"earrings", 40, eur(t, "298.66"), b,
		eur(t, "320.00")}}
	line, faults := LineOf(designs, eur(t, "500.00"))
	if faults != nil {
		t.Fatal(faults)
	}
	m := &Model{Currency: "EUR", Shared: eur(t, "500.00"), Drivers: map[string]Driver{"gold": {}, "silver": {}},
		Designs: []ModelDesign{designModel(designs[0], ring, card), designModel(designs[1], earrings, card)}}
	o, faults := Simulate(m, Runs{Seed: 1, First: 500})
	if faults != nil {
		t.Fatal(faults)
	}
	for _, v := range o.profit {
		if got := num.MoneyFromDec(num.FromFloat(v, 2, num.HalfUp), "EUR", num.HalfUp); got.Cmp(line.Profit) != 0 ||
			math.Abs(v-line.Profit.Float()) > 1e-6 {
			t.Fatalf("a run earns %v, exactly %s", v, line.Profit)
		}
	}
	if o.SD.Value > 1e-6 || o.Loss.Value != 0 || len(o.Bins) == 0 {
		t.Errorf("%+v", o)
	}
}

// Metal alone: profit = A - n m F with F lognormal of mean 1, so the mean is
// A - n m and the variance (n m)^2 (exp(s^2 T) - 1).
func TestSimulate_LognormalMetal(t *testing.T) {
	m := &Model{Currency: "EUR", Drivers: map[string]Driver{"gold": {Volatility: 0.16, Months: 9}},
		Designs: []ModelDesign{{Name: "a", Quantity: 20, Price: eur(t, "500.00"), Base: eur(t, "100.00"),
			Exposed: []Exposed{{"gold", eur(t, "300.00")}}}}}
	o, faults := Simulate(m, Runs{Seed: 7, First: 40000})
	if faults != nil {
		t.Fatal(faults)
	}
	within(t, "mean", o.Mean, 20*100, 4)
	within(t, "standard deviation", o.SD, 20*300*math.Sqrt(math.Exp(0.16*0.16*0.75)-1), 4)
	// The median of F is exp(-s^2 T / 2); profit falls as F rises.
	within(t, "median", o.P50, 20*400-20*300*math.Exp(-0.16*0.16*0.75/2), 4)
	z := chance.NormalQuantile(0.9) * 0.16 * math.Sqrt(0.75)
	within(t, "P10", o.P10, 20*400-20*300*math.Exp(z-0.16*0.16*0.75/2), 4)
	within(t, "P90", o.P90, 20*400-20*300*math.Exp(-z-0.16*0.16*0.75/2), 4)
}

// Two fifths of the sales are billed in dollars: profit = n (0.6 p + 0.4 p F - c)
// with F lognormal of mean 1.
func TestSimulate_BilledAbroad(t *testing.T) {
	m := &Model{Currency: "EUR", Drivers: map[string]Driver{"USD": {Volatility: 0.08, Months: 6}},
		Designs: []ModelDesign{{Name: "a", Quantity: 20, Price: eur(t, "500.00"), Base: eur(t, "300.00"),
			Billed: []Exposed{{"USD", eur(t, "200.00")}}}}}
	o, faults := Simulate(m, Runs{Seed: 11, First: 40000})
	if faults != nil {
		t.Fatal(faults)
	}
	within(t, "mean", o.Mean, 20*200, 4)
	within(t, "standard deviation", o.SD, 20*200*math.Sqrt(math.Exp(0.08*0.08*0.5)-1), 4)
	// What is owed in the same currency moves against it: nothing is left of the luck.
	m.Designs[0].Exposed = []Exposed{{"USD", eur(t, "200.00")}}
	m.Designs[0].Base = eur(t, "100.00")
	if o, _ = Simulate(m, Runs{Seed: 11, First: 1000}); o.SD.Value > 1e-6 {
		t.Errorf("hedged, and still a deviation of %g", o.SD.Value)
	}
}

// A beta-binomial count has mean n a / (a + b) and variance
// n a b (a + b + n) / ((a + b)^2 (a + b + 1)) (Johnson, Kemp and Kotz,
// Univariate Discrete Distributions, 2005, 6.2.2; unverified).
func TestSimulate_BetaBinomial(t *testing.T) {
	a, b, n := 18.0, 6.0, 40.0
	m := &Model{Currency: "EUR", Beliefs: map[string]chance.Beta{"sold": {A: a, B: b}},
		Designs: []ModelDesign{{Name: "a", Quantity: 40, Price: eur(t, "10.00"), SellThrough: "sold"}}}
	o, faults := Simulate(m, Runs{Seed: 3, First: 40000})
	if faults != nil {
		t.Fatal(faults)
	}
	within(t, "sales", o.Mean, 10*n*a/(a+b), 4)
	within(t, "spread", o.SD, 10*math.Sqrt(n*a*b*(a+b+n)/((a+b)*(a+b)*(a+b+1))), 4)
}

// Replacements that may break too: n E[p / (1 - p)] = n a / (b - 1).
func TestSimulate_Breakage(t *testing.T) {
	m := &Model{Currency: "EUR", Beliefs: map[string]chance.Beta{"breaks": {A: 3, B: 17}, "others": {A: 2, B: 38},
		"back": {A: 1, B: 19}},
		Designs: []ModelDesign{{Name: "a", Quantity: 30, Price: eur(t, "50.00"), Returns: "back",
			ReturnCost: eur(t, "20.00"),
			Stones: []ModelStone{{Pieces: 2, Each: eur(t, "5.00"), Breakage: "breaks", Others: "others",
				Wrong: eur(t, "9.00")}}}}}
	o, faults := Simulate(m, Runs{Seed: 11, First: 40000})
	if faults != nil {
		t.Fatal(faults)
	}
	within(t, "profit", o.Mean, 30*50-60*5*3.0/16-60*9*2.0/40-30*20/20.0, 4)
}

func TestOthersBelief(t *testing.T) {
	for _, c := range [][2]int{{0, 12}, {1, 30}, {3, 59}} {
		b, ok := OthersBelief(c[0], c[1])
		// Clopper and Pearson, Biometrika 1934
		want := chance.Beta{A: float64(c[0] + 1), B: float64(c[1] - c[0])}.Quantile(0.95)
		if !ok || math.Abs(b.Quantile(0.95)-want) > 1e-9 {
			t.Errorf("%v: 95 %% of the belief lies under %g, the exact bound is %g", c, b.Quantile(0.95), want)
		}
	}
	if _, ok := OthersBelief(0, 0); ok {
		t.Error("a belief out of no test")
	}
}

func TestSimulate_Yield(t *testing.T) {
	// Cost goes with 1 / yield: E[mean / Y] = (a / (a + b)) (a + b - 1) / (a - 1).
	a, b := 30.0, 20.0
	m := &Model{Currency: "EUR", Beliefs: map[string]chance.Beta{"cutter": {A: a, B: b}},
		Designs: []ModelDesign{{Name: "a", Quantity: 10, Price: eur(t, "100.00"), Base: eur(t, "40.00"),
			Stones: []ModelStone{{Pieces: 1, Yield: "cutter", Cut: eur(t, "40.00")}}}}}
	o, faults := Simulate(m, Runs{Seed: 5, First: 40000})
	if faults != nil {
		t.Fatal(faults)
	}
	within(t, "profit", o.Mean, 10*(100-40*(a/(a+b))*(a+b-1)/(a-1)), 4)
}

func bigModel(designs int) *Model {
	m := &Model{Currency: "EUR", Shared: num.FromMinor(500000, "EUR"), Beliefs: map[string]chance.Beta{},
		Drivers: map[string]Driver{"gold": {0.16, 6}, "silver": {0.3, 6}, "USD": {0.08, 3}}}
	for i := range designs {
		lot, kind, sold := "lot"+strconv.Itoa(i%60), "kind"+strconv.Itoa(i%12), "sold"+strconv.Itoa(i%8)
		m.Beliefs[lot], m.Beliefs[kind], m.Beliefs[sold], m.Beliefs["back"] = chance.BetaOf(0.03, 60),
			chance.BetaOf(0.02, 50), chance.BetaOf(0.8, 30), chance.BetaOf(0.03, 60)
		metal := []string{"gold", "silver"}[i%2]
		m.Designs = append(m.Designs, ModelDesign{Name: "d" + strconv.Itoa(i), Quantity: 20, Price: num.FromMinor(30000,
			"EUR"), Base: num.FromMinor(12000, "EUR"), Fixed: num.FromMinor(40000, "EUR"),
			Exposed:     []Exposed{{metal, num.FromMinor(5000, "EUR")}, {"USD", num.FromMinor(1000, "EUR")}},
			SellThrough: sold, Salvage: num.FromMinor(6000, "EUR"), Returns: "back",
			ReturnCost: num.FromMinor(4000, "EUR"),
			Stones: []ModelStone{{Pieces: 1, Each: num.FromMinor(4000, "EUR"), Breakage: kind, Others: lot,
				Wrong: num.FromMinor(9000, "EUR")}, {Pieces: 8, Each: num.FromMinor(300, "EUR"), Breakage: kind}}})
	}
	return m
}

func TestSimulate_SameWhateverTheCores(t *testing.T) {
	m := bigModel(30)
	before := runtime.GOMAXPROCS(1)
	one, _ := Simulate(m, Runs{Seed: 42, First: 3000})
	runtime.GOMAXPROCS(7)
	many, _ := Simulate(m, Runs{Seed: 42, First: 3000})
	runtime.GOMAXPROCS(before)
	other, _ := Simulate(m, Runs{Seed: 43, First: 3000})
	for i := range one.profit {
		if one.profit[i] != many.profit[i] {
			t.Fatalf("run %d: %v on one core, %v on seven", i, one.profit[i], many.profit[i])
		}
	}
	if one.Mean != many.Mean || one.Words != many.Words || one.Mean == other.Mean {
		t.Error("the summary depends on the cores, or not on the seed")
	}
}

// Common random numbers: a design draws the same luck whatever stands beside it.
func TestSimulate_CommonNumbers(t *testing.T) {
	m := bigModel(6)
	m.Shared = num.Money{}
	all, _ := Simulate(m, Runs{Seed: 9, First: 400})
	sum := make([]float64, len(all.profit))
	for i := range m.Designs {
		alone := *m
		alone.Designs = m.Designs[i : i+1]
		o, _ := Simulate(&alone, Runs{Seed: 9, First: 400})
		for r, v := range o.profit {
			sum[r] += v
		}
	}
	for r := range sum {
		if math.Abs(sum[r]-all.profit[r]) > 1e-6 {
			t.Fatalf("run %d: together %v, one by one %v", r, all.profit[r], sum[r])
		}
	}
}

func TestSimulate_RunsUntilTheErrorIsSmall(t *testing.T) {
	m := bigModel(5)
	few, _ := Simulate(m, Runs{Seed: 2, First: 1000})
	goal := num.MoneyFromDec(num.FromFloat(few.Mean.SE/2.5, 2, num.HalfUp), "EUR", num.HalfUp)
	more, _ := Simulate(m, Runs{Seed: 2, First: 1000, Within: goal})
	if more.Runs != 8000 || more.Mean.SE > goal.Float() {
		t.Errorf("%d runs, standard error %g, wanted %s", more.Runs, more.Mean.SE, goal)
	}
	for i, v := range few.profit {
		if more.profit[i] != v {
			t.Fatal("more runs change the first ones")
		}
	}
	if capped, _ := Simulate(m, Runs{Seed: 2, First: 1000, Most: 3000, Within: eur(t, "0.01")}); capped.Runs != 3000 {
		t.Errorf("%d runs, at most 3000", capped.Runs)
	}
}

func TestSummarise_StandardErrors(t *testing.T) {
	// 200 normal samples of 400: the printed errors match the scatter of the figures themselves.
	s := chance.NewStream(4, "se")
	var means, p90s, seMean, seP90 []float64
	for range 200 {
		x := make([]float64, 400)
		for i := range x {
			x[i] = draw.Normal(s.Rand, 100, 30)
		}
		o := Summarise(x, 0, "EUR")
		means, p90s = append(means, o.Mean.Value), append(p90s, o.P90.Value)
		seMean, seP90 = append(seMean, o.Mean.SE), append(seP90, o.P90.SE)
	}
	for _, c := range []struct {
		what         string
		values, said []float64
	}{{"mean", means, seMean}, {"P90", p90s, seP90}} {
		_, scatter := meanSD(c.values)
		if said, _ := meanSD(c.said); math.Abs(said/scatter-1) > 0.15 {
			t.Errorf("%s: printed standard error %.3f, scatter %.3f", c.what, said, scatter)
		}
	}
}

func TestModel_Faults(t *testing.T) {
	m := &Model{Currency: "EUR", Beliefs: map[string]chance.Beta{"bad": {A: 0, B: 1}},
		Drivers: map[string]Driver{"gold": {Volatility: 16, Months: 6}},
		Designs: []ModelDesign{{Name: "a", Quantity: -1, SellThrough: "nothing", Returns: "bad",
			Exposed: []Exposed{{"silver", num.Money{}}}}}}
	_, faults := Simulate(m, Runs{})
	codes := map[string]bool{}
	for _, f := range faults {
		codes[f.Code] = true
	}
	for _, want := range []string{"belief-missing", "belief-range", "driver-missing", "volatility-range",
		"design-negative"} {
		if !codes[want] {
			t.Errorf("no fault %s in %v", want, faults)
		}
	}
}

func BenchmarkSimulate200Designs(b *testing.B) {
	m := bigModel(200)
	for b.Loop() {
		Simulate(m, Runs{Seed: 1, First: 10000})
	}
}

func BenchmarkPieceCost(b *testing.B) {
	card, ring := handCard(b), handRing(b)
	for b.Loop() {
		PieceCost(ring, card)
	}
}

// designModel makes a model's design from a cost tree: the metal follows its
// price, and the expected setting loss is taken out, because the simulation
// draws it. Stones come in the order of the piece's.
func designModel(d LineDesign, in PieceInput, card RateCard) ModelDesign {
	m := ModelDesign{Name: d.Name, Quantity: d.Quantity, Price: d.Price, Base: d.Cost.Amount, Fixed: d.Fixed}
	if metal := d.Cost.Part("metal"); metal != nil {
		m.Exposed = append(m.Exposed, Exposed{in.Metal, metal.Amount})
		m.Base = m.Base.Sub(metal.Amount)
	}
	for i, s := range in.Stones {
		each := s.Cost.Dec().Each(s.Pieces, 6, num.HalfUp)
		m.Stones = append(m.Stones, ModelStone{Pieces: s.Pieces, Each: num.UnitPriceFromDec(each, card.Currency,
			num.HalfUp).Money})
		if stones := d.Cost.Part("stones"); stones != nil && i < len(stones.Parts) {
			if loss := stones.Parts[i].Part("expected setting loss"); loss != nil {
				m.Base = m.Base.Sub(loss.Amount)
			}
		}
	}
	return m
}
