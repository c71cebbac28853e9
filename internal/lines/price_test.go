package lines_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"lotpaper/internal/bench"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/lines"
	"lotpaper/internal/num"
	"lotpaper/internal/testkit/books"
	"lotpaper/internal/testkit/office"
)

// The tree of a design adds up, its leaves carry dated sources, and a design
// without a price is priced by the wanted margin on the stones of the plan.
func TestLinePrice_OpenDesigns(t *testing.T) {
	a := books.Line(t, books.Parcel, map[string]string{"margin": "60", "price_step": "5", "price_below": "0.05",
		"retail_markup": "100", "tax": "19", "price_currencies": "USD", "price_breaks": "10:5"})
	line, err := a.Lines.Price(t.Context(), lines.Price{Plan: books.LineRequest(),
		Sets: [][]string{{"Ring", "studs"}}})
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range line.Designs {
		if f := d.Cost.Check(); f != nil {
			t.Error(f)
		}
		if d.Made != d.Wanted {
			t.Errorf("%s: %d of %d made", d.Design, d.Made, d.Wanted)
		}
		if open := d.Design != "Ring"; d.Open != open {
			t.Errorf("%s: priced by the book is %t", d.Design, d.Open)
		}
	}
	drop := line.Designs[1]
	// cost / (1 - 0.60), up to the next of 4.95, 9.95, 14.95 ...
	want := math.Ceil((drop.Cost.Amount.Float()/0.4+0.05)/5)*5 - 0.05
	if math.Abs(drop.Trade.Float()-want) > 1e-9 {
		t.Errorf("Drop costs %s and sells for %s, want %.2f", drop.Cost.Amount, drop.Trade, want)
	}
	if drop.TradeMargin.Float() < 60 || drop.Prices[0].Before.Cmp(drop.Prices[0].Margin.Dec) > 0 {
		t.Errorf("the ladder goes up, so the margin does: %s before, %s after", drop.Prices[0].Before,
			drop.Prices[0].Margin)
	}
	var tiers []string
	for _, o := range drop.Prices {
		tiers = append(tiers, o.Tier+" "+string(o.List.Currency()))
	}
	if got := strings.Join(tiers, "; "); got != "trade EUR; retail EUR; trade in USD USD" {
		t.Errorf("prices: %s", got)
	}
	if retail := drop.Prices[1]; retail.Price.Add(retail.Tax).Cmp(retail.List) != 0 {
		t.Errorf("retail %s is not %s and the tax %s", retail.List, retail.Price, retail.Tax)
	}
	if set := line.Sets[0]; len(set.Designs) != 2 || set.Designs[1] != "Studs" ||
		set.Price.Cmp(line.Designs[0].Trade.Add(line.Designs[2].Trade.Money)) != 0 {
		t.Errorf("set %+v", set)
	}
	_, err = a.Lines.Price(t.Context(), lines.Price{Plan: books.LineRequest(), Sets: [][]string{{"Ring", "Stud"}}})
	books.Refused(t, err, "design-unknown")
}

// A published default stands in for a rate that the book does not have, and
// says so; a rate without default is a fault that names the row to add.
func TestLinePrice_MissingRates(t *testing.T) {
	a := books.Line(t, books.Parcel, nil)
	early := books.LineRequest()
	early.On = "2026-01-01"
	_, err := a.Lines.Price(t.Context(), lines.Price{Plan: early})
	l, _ := fault.From(err)
	if !l.Blocks() || !strings.Contains(err.Error(), "metal") || !strings.Contains(l[0].Mend,
		"add a row to the rates sheet: kind metal, name") {
		t.Errorf("before the rates begin: %v", err)
	}

	b := books.New(t)
	books.Buy(t, b, books.Parcel)
	rates := strings.ReplaceAll(strings.ReplaceAll(books.Rates, "loss,gold,1.2,,%,2026-01-02,invented\n", ""),
		"sprue,all,35,,%,2026-01-02,invented\n", "")
	positions := books.Text("positions.csv", books.Positions)
	if _, err := b.Desk.RatesImport(t.Context(), desk.RatesImport{Write: books.Who, File: books.Text("rates.csv",
		rates)}); err != nil {
		t.Fatal(err)
	}
	if _, err := b.Lines.Import(t.Context(), lines.Import{Write: books.Who, Line: "Sea",
		Designs: books.Text("designs.csv", books.Designs), Positions: &positions}); err != nil {
		t.Fatal(err)
	}
	line, err := b.Lines.Price(t.Context(), lines.Price{Plan: books.LineRequest()})
	if err != nil {
		t.Fatal(err)
	}
	said := map[string]bool{}
	for _, w := range line.Warnings {
		said[w.Where.Ref] = said[w.Where.Ref] || w.Code == "rate-default"
	}
	if !said["loss/gold"] || !said["sprue/all"] || said["loss/silver"] {
		t.Errorf("defaults that were told: %v", said)
	}
	if text := line.Designs[0].Cost.Part("metal", "net loss"); text == nil || !strings.Contains(text.Source,
		"default, not the book's own") {
		t.Errorf("the tree does not tell its default: %+v", text)
	}
}

// Assumptions that cannot be are faults with their place.
func TestLinePrice_BadAssumptions(t *testing.T) {
	a := books.Line(t, books.Parcel, nil)
	for _, c := range []struct{ key, value, code string }{
		{"metal/gold", "0", "rate-zero"}, {"labour/bench", "-3", "rate-negative"}, {"margin", "100", "margin-range"},
		{"metal/gould", "95", "assume-unknown"},
		{"tax", "-100", "tax-range"}, {"design/Ring/fineness", "1001", "fineness-range"}, {"design/Ring/metal_g", "-1",
			"design-negative"},
	} {
		r := books.LineRequest()
		r.Assume = map[string]num.Dec{c.key: num.MustDec(c.value)}
		_, err := a.Lines.Price(t.Context(), lines.Price{Plan: r})
		books.Refused(t, err, c.code)
	}
	r := books.LineRequest()
	r.Assume = map[string]num.Dec{"price/Ring": num.MustDec("50")}
	line, err := a.Lines.Propose(t.Context(), lines.Propose{Plan: r, Runs: 50})
	if err != nil {
		t.Fatal(err)
	}
	seen := false
	for _, w := range line.Proposal.Warnings {
		seen = seen || strings.Contains(w.Text, "under the cost")
	}
	if !seen {
		t.Error("a price under the cost does not stay visible in the proposal")
	}
}

// Nothing counted: every run is the line's exact profit. The same seed gives
// the same answer.
func TestLineRisk_CertainIsExact(t *testing.T) {
	a := books.Line(t, books.Parcel, map[string]string{"sell_through": "80"})
	r := lines.Risk{Plan: books.LineRequest(), Runs: 200, Only: []string{"none"}}
	line, err := a.Lines.Risk(t.Context(), r)
	if err != nil {
		t.Fatal(err)
	}
	if o := line.Outcome; math.Abs(o.Mean.Value-line.Earned.Float()) > 1e-6 || o.SD.Value > 1e-6 {
		t.Errorf("simulated %v +/- %v, exactly %s", o.Mean.Value, o.SD.Value, line.Earned)
	}
	if m := line.Moves[0]; m.AtLow.Cmp(line.Earned.Money) == 0 || m.AtHigh.Cmp(line.Earned.Money) == 0 {
		t.Errorf("the input that moves the profit of %s most leaves it: %s and %s", line.Earned, m.AtLow, m.AtHigh)
	}
	r.Only = nil
	one, _ := a.Lines.Risk(t.Context(), r)
	two, _ := a.Lines.Risk(t.Context(), r)
	if one.Outcome.Mean != two.Outcome.Mean || one.Outcome.P10 != two.Outcome.P10 {
		t.Error("the same seed gives another answer")
	}
	r.Within = books.Money("0.50")
	if more, err := a.Lines.Risk(t.Context(), r); err != nil || more.Outcome.Runs <= one.Outcome.Runs ||
		more.Outcome.Mean.SE > 0.5 && more.Outcome.Runs < 160000 {
		t.Errorf("runs %d, standard error %v, %v", more.Outcome.Runs, more.Outcome.Mean.SE, err)
	}
}

// Of a line of which nothing can be made nothing is at risk: its fixed costs are
// certain.
func TestLineRisk_NothingMade(t *testing.T) {
	a := books.Line(t, books.Parcel, nil)
	r := lines.Risk{Plan: books.LineRequest(), Runs: 20}
	r.Quantities = map[string]int64{"Ring": 0, "Drop": 0, "Studs": 0}
	_, err := a.Lines.Risk(t.Context(), r)
	books.Refused(t, err, "plan-empty")
	r.Quantities = map[string]int64{"Ring": 0, "Drop": 0}
	if _, err := a.Lines.Risk(t.Context(), r); err != nil {
		t.Errorf("of one design that is made: %v", err)
	}
}

// Requests that ask for what cannot be.
func TestPlan_BadRequests(t *testing.T) {
	a := books.Line(t, books.Parcel, nil)
	less := num.Int(-1)
	for _, c := range []struct {
		change func(*lines.Plan)
		code   string
	}{
		{func(r *lines.Plan) { r.Prices = map[string]num.Dec{"Ring": num.Int(0)} }, "price-form"},
		{func(r *lines.Plan) { r.Keep = &less }, "keep-form"},
		{func(r *lines.Plan) { r.Prices = map[string]num.Dec{"Rang": num.Int(5)} }, "assume-unknown"},
		{func(r *lines.Plan) { r.Without = []lines.Without{{Lot: "T9", Design: "Ring"}} }, "lot-unknown"},
		{func(r *lines.Plan) { r.Lost = []string{"T9"} }, "lot-unknown"},
		{func(r *lines.Plan) { r.Quantities = map[string]int64{"Rang": 1} }, "design-unknown"},
		{func(r *lines.Plan) { r.WithOffers = []string{"P1"} }, "parcel-here"},
	} {
		r := books.LineRequest()
		c.change(&r)
		_, err := a.Lines.Plan(t.Context(), r)
		books.Refused(t, err, c.code)
	}
}

// Sell-through alone: the share that is not sold has the mean n (1 - p), and
// costs its price less what it brings broken up.
func TestLineRisk_SellThrough(t *testing.T) {
	a := books.Line(t, books.Parcel, map[string]string{"sell_through": "75", "haircut": "20"})
	line, err := a.Lines.Risk(t.Context(), lines.Risk{Plan: books.LineRequest(), Runs: 20000,
		Only: []string{"sales"}})
	if err != nil {
		t.Fatal(err)
	}
	price, err := a.Lines.Price(t.Context(), lines.Price{Plan: books.LineRequest()})
	if err != nil {
		t.Fatal(err)
	}
	want := line.Earned.Float()
	for _, d := range price.Designs {
		brings := d.Cost.Part("metal", "metal in the piece").Amount.Float()
		for _, s := range d.Cost.Part("stones").Parts {
			brings += s.Part("cost").Amount.Float()
		}
		want -= 0.25 * float64(d.Made) * (d.Trade.Float() - 0.8*brings)
	}
	if o := line.Outcome; math.Abs(o.Mean.Value-want) > 4*o.Mean.SE+0.05 {
		t.Errorf("mean %v +/- %v, want %v", o.Mean.Value, o.Mean.SE, want)
	}
}

// Returns alone: the cost holds what is expected, and the draws have the same
// mean, to the rounding of the cost of one unit.
func TestLineRisk_Returns(t *testing.T) {
	a := books.Line(t, books.Parcel, nil)
	line, err := a.Lines.Risk(t.Context(), lines.Risk{Plan: books.LineRequest(), Runs: 40000,
		Only: []string{"returns"}})
	if err != nil {
		t.Fatal(err)
	}
	price, err := a.Lines.Price(t.Context(), lines.Price{Plan: books.LineRequest()})
	if err != nil {
		t.Fatal(err)
	}
	rounding := 0.0
	for _, d := range price.Designs {
		if d.Cost.Part("expected returns") == nil {
			t.Errorf("%s has no expected returns in its cost", d.Design)
		}
		rounding += 0.005 * float64(d.Made)
	}
	if o := line.Outcome; math.Abs(o.Mean.Value-line.Earned.Float()) > 4*o.Mean.SE+rounding || o.SD.Value < 1 {
		t.Errorf("mean %v +/- %v, deviation %v, exactly %s", o.Mean.Value, o.Mean.SE, o.SD.Value, line.Earned)
	}
}

// Identity alone: of a lot with t stones drawn at random and shown to be the
// claim, the others' share has the mean 1 / (t + 1) (the belief whose quantiles
// are the exact bounds of Clopper and Pearson, 1934), and each other one costs
// itself and its setting.
func TestLineRisk_Identity(t *testing.T) {
	a := books.Line(t, books.Parcel, nil)
	var rows strings.Builder
	rows.WriteString("lot,stone,drawn,test,low,high,result,weight_air_ct,weight_water_ct,water_c,balance_ct,observer," +
		"date\n")
	for _, stone := range []string{"1", "2", "3"} {
		rows.WriteString("T," + stone + ",random,ri,1.610,1.619,,,,,,IR,2026-02-02\nT," + stone +
			",random,birefringence,0.009,,maximum,,,,,IR,2026-02-02\n" +
			"T," + stone + ",random,optic,,,biaxial+,,,,,IR,2026-02-02\nT," + stone + ",random,hydrostatic,,,,1.02," +
			"0.733,21,0.001,IR,2026-02-02\n")
	}
	if _, err := a.Bench.ReadingImport(t.Context(), bench.ReadingImport{Write: books.Who,
		File: books.Text("readings.csv", rows.String())}); err != nil {
		t.Fatal(err)
	}
	line, err := a.Lines.Risk(t.Context(), lines.Risk{Plan: books.LineRequest(), Runs: 40000,
		Only: []string{"identity"}})
	if err != nil {
		t.Fatal(err)
	}
	want := line.Earned.Float() - 8*(40+4.50)/(3+1.0)
	if o := line.Outcome; math.Abs(o.Mean.Value-want) > 4*o.Mean.SE {
		t.Errorf("mean %v +/- %v, want %v", o.Mean.Value, o.Mean.SE, want)
	}
	if !strings.Contains(strings.Join(line.NotCounted, "; "), "what S may be instead") {
		t.Errorf("an untested lot is not told: %v", line.NotCounted)
	}
}

// Ten inputs are changed in the workbook of a proposal, one at a time; another
// program recalculates it; every number of cost, price and result equals what
// the line costs when it is priced anew with that input.
func TestLinePropose_ChangedWorkbook(t *testing.T) {
	if testing.Short() {
		t.Skip("a spreadsheet program is started")
	}
	a := books.Line(t, books.Parcel, map[string]string{"margin": "55", "price_step": "5", "price_below": "0.05",
		"retail_markup": "110", "tax": "19", "price_currencies": "USD", "price_breaks": "10:5"})
	propose := func(assume map[string]num.Dec) []byte {
		t.Helper()
		r := books.LineRequest()
		r.Assume, r.DryRun = assume, true
		done, err := a.Lines.Propose(t.Context(), lines.Propose{Plan: r, Runs: 20})
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range done.Price.Designs {
			if d.Made != d.Wanted {
				t.Fatalf("%v: the plan changed", assume)
			}
		}
		return done.Documents[0].Bytes
	}
	base := propose(nil)
	changes := []struct{ key, value, label, under string }{
		{"metal/gold", "131.07", "Metal, gold", ""}, {"metal/silver", "1.42", "Metal, silver", ""}, {"loss/gold",
			"3.75", "Loss, gold", ""},
		{"labour/bench", "52.5", "Labour, bench", ""}, {"setting/prong", "7.25", "Setting, prong", ""},
		{"overhead/conversion", "22.5", "Overhead, conversion", ""},
		{"margin", "61", "Wanted margin, share of the trade price", ""}, {"retail_markup", "85",
			"Markup of retail on the trade price", ""}, {"tax", "7", "Sales tax on the retail price", ""},
		{"fx/USD", "0.8512", "Rate of exchange, USD", ""},
		{"design/Ring/metal_g", "4.815", "finished weight", "Ring: ring"}, {"design/Ring/returns", "8",
			"come back damaged in the first year", "Ring: ring"},
	}
	files := map[string][]byte{}
	for i, c := range changes {
		files["change"+strconv.Itoa(i)] = changedWorkbook(t, base, c.label, c.under, c.value)
	}
	results := office.Recalculate(t, files)
	before := numbersOf(t, base)
	for i, c := range changes {
		want := numbersOf(t, propose(map[string]num.Dec{c.key: num.MustDec(c.value)}))
		got := numbersOf(t, results["change"+strconv.Itoa(i)])
		moved := 0
		for at, w := range want {
			g, ok := got[at]
			if !ok || math.Abs(g-w) > 1e-6*math.Max(1, math.Abs(w)) {
				t.Errorf("%s = %s: %s is %v in the workbook, %v when priced", c.key, c.value, at, g, w)
			}
			if math.Abs(w-before[at]) > 1e-9 {
				moved++
			}
		}
		if moved < 2 || len(want) < 120 {
			t.Errorf("%s = %s: %d of %d numbers moved", c.key, c.value, moved, len(want))
		}
	}
}
