package answer

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/chance"
	"lotpaper/internal/costing"
	"lotpaper/internal/cutting"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

func eur(s string) num.Money {
	m, f := num.ParseMoney(s, "EUR")
	if f != nil {
		panic(f)
	}
	return m
}

func mm(s string) num.Millimetre {
	v, f := num.ParseMillimetre(s)
	if f != nil {
		panic(f)
	}
	return v
}

func ct(s string) num.Carat {
	v, f := num.ParseCarat(s)
	if f != nil {
		panic(f)
	}
	return v
}

func pct(s string) num.Percent { return num.Percent{Dec: num.MustDec(s)} }

var sampleHead = Head{Number: "PROPOSAL-2026-0003", Title: "Proposal: line Tideline", On: "2026-03-31",
	Dealer: "Marrow & Quill, coloured stones (invented)",
	Facts:  "b1946ac92492d2347c6235b4d2611184c0f5a8de",
	Book:   "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08", Currency: "EUR", Carats: num.RuleNine}

// An invented rate card, in the words that costing reads.
func sampleCard() costing.RateCard {
	rate := func(kind, name, value, unit string) book.Rate {
		return book.Rate{Kind: kind, Name: name, Value: num.MustDec(value), Per: 1, Unit: unit, On: "2026-03-02",
			Source: "invented rate sheet"}
	}
	return costing.RateCard{Currency: "EUR", On: "2026-03-31", Rates: []book.Rate{
		rate("metal", "gold", "118.40", "EUR/g fine"), rate("metal", "silver", "38.50", "EUR/ozt"),
		rate("loss", "gold", "2.25", "%"), rate("loss", "silver", "3", "%"), rate("premium", "gold", "1.5", "%"),
		rate("premium", "silver", "2.5", "%"),
		rate("sprue", "gold", "25", "%"), rate("sprue", "silver", "30", "%"), rate("refining", "gold", "2", "%"),
		rate("refining", "silver", "6", "%"),
		rate("casting", "gold", "1.85", "EUR/g"), rate("casting", "silver", "0.95", "EUR/g"),
		rate("labour", "bench", "46", "EUR/h"),
		rate("setting", "prong medium", "9.5", "EUR/stone"), rate("setting", "prong large", "12", "EUR/stone"),
		rate("setting", "bezel small", "7.25", "EUR/stone"), rate("setting", "bezel medium", "11", "EUR/stone"),
		rate("setting", "pave melee", "3.4", "EUR/stone"), rate("setting", "prong small", "6", "EUR/stone"),
		rate("finishing", "unit", "8", "EUR/unit"), rate("marking", "unit", "2.1", "EUR/unit"), rate("packing", "unit",
			"3.75", "EUR/unit"),
		rate("overhead", "conversion", "18", "%"),
	}}
}

// samplePricing is what the seller sets: margin, markup, ladder, tax.
type samplePricing struct {
	margin, markup, tax, step, below num.Dec
}

var pricing = samplePricing{margin: num.MustDec("48"), markup: num.MustDec("110"), tax: num.MustDec("19"),
	step: num.MustDec("5"), below: num.MustDec("1")}

func (s samplePricing) tiers() []costing.Tier {
	points := costing.Points{Step: num.MoneyFromDec(s.step, "EUR", num.HalfUp), Below: num.MoneyFromDec(s.below, "EUR",
		num.HalfUp), Up: true}
	return []costing.Tier{
		{Name: "trade", Basis: costing.Margin, Percent: num.Percent{Dec: s.margin}, Key: "margin"},
		{Name: "retail", From: "trade", Basis: costing.Markup, Percent: num.Percent{Dec: s.markup}, Key: "markup",
			Points: points, TaxIn: true, Tax: num.Percent{Dec: s.tax}},
	}
}

// samplePieces are three invented designs.
func samplePieces() []costing.PieceInput {
	soft := chance.BetaOf(0.04, 50)
	hard := chance.BetaOf(0.005, 50)
	return []costing.PieceInput{
		{Design: "Tide", Number: 1, Piece: "ring", Metal: "gold", Fineness: num.MustDec("750"), MetalWeight: 4200,
			Labour: num.MustDec("55"), Findings: num.Zero("EUR"), Stones: []costing.StoneInput{
				{Position: "centre", Lot: "P1-1", Name: "blue topaz", Pieces: 1, Carats: ct("2.319"),
					Cost: eur("46.38"), Basis: "book cost", Setting: "prong", Length: mm("9"), Breakage: soft,
					BreakageSource: "estimate, weight of 50 trials"},
				{Position: "side", Lot: "P1-9", Name: "tourmaline", Pieces: 6, Carats: ct("0.412"), Cost: eur("24.71"),
					Basis: "book cost", Setting: "pave", Length: mm("2.2"), Breakage: hard,
					BreakageSource: "estimate, weight of 50 trials"}}},
		{Design: "Drift", Number: 2, Piece: "pendant", Metal: "silver", Fineness: num.MustDec("925"), MetalWeight: 5300,
			Labour: num.MustDec("32.5"), Findings: eur("11.90"), Stones: []costing.StoneInput{
				{Position: "centre", Lot: "P1-4", Name: "kunzite", Pieces: 1, Carats: ct("3.769"), Cost: eur("75.38"),
					Basis: "book cost", Setting: "bezel", Length: mm("8"), Breakage: soft,
					BreakageSource: "estimate, weight of 50 trials"}}},
		{Design: "Foam & Sons", Number: 3, Piece: "earrings", Metal: "silver", Fineness: num.MustDec("925"),
			MetalWeight: 3100, Labour: num.MustDec("40"), Findings: eur("4.40"), Stones: []costing.StoneInput{
				{Position: "drops", Lot: "P1-2", Name: "aquamarine", Pieces: 2, Carats: ct("1.885"), Cost: eur("61.27"),
					Basis: "book cost", Setting: "prong", Length: mm("7"), Breakage: hard,
					BreakageSource: "estimate, weight of 50 trials"}}},
	}
}

var samplePlanned = []int64{4, 6, 5}

// sampleFixed makes one design earn too little for its fixed cost.
var sampleFixed = []num.Money{eur("350"), eur("180"), eur("0")}

// treeOf turns a costed tree into the document's, with its formulas.
func treeOf(n *costing.Node) (Node, []Input) {
	var inputs []Input
	var walk func(n *costing.Node) Node
	walk = func(n *costing.Node) Node {
		out := Node{Key: n.Key, Label: n.Name, Amount: n.Amount, Words: n.Formula, Formula: n.Expr, Source: n.Source}
		for _, in := range n.Inputs {
			if in.Own() && !slices.ContainsFunc(inputs, func(x Input) bool { return x.Key == in.Key }) {
				inputs = append(inputs, Input{Key: in.Key, Label: label(in), Value: in.Value, Unit: in.Unit,
					Source: in.Source})
			}
		}
		for _, p := range n.Parts {
			out.Children = append(out.Children, walk(p))
		}
		return out
	}
	return walk(n), inputs
}

// label names an input of a design with the position and lot that it is of.
func label(in costing.Input) string {
	if in.Position == "" {
		return in.Name
	}
	return in.Name + ", " + in.Position + " " + in.Lot
}

// costed is the sample line through costing.
func costed(t *testing.T, card costing.RateCard, pieces []costing.PieceInput, s samplePricing) (trees []*costing.Node,
	prices [][]costing.Offered) {
	t.Helper()
	for _, in := range pieces {
		tree, faults := costing.PieceCost(in, card)
		if faults.Blocks() {
			t.Fatal(faults)
		}
		offered, faults := costing.Prices(in.Number, tree.Amount, s.tiers())
		if faults.Blocks() {
			t.Fatal(faults)
		}
		trees, prices = append(trees, tree), append(prices, offered)
	}
	return trees, prices
}

func sampleProposal(t *testing.T) *Proposal {
	t.Helper()
	return proposalOf(t, samplePieces())
}

// proposalOf is the sample with these pieces.
func proposalOf(t *testing.T, pieces []costing.PieceInput) *Proposal {
	t.Helper()
	p := &Proposal{Head: sampleHead, Line: "Tideline", Customer: "Three Bridges Jewellers (invented)"}
	groups := map[string]string{"metal": "Metal prices", "premium": "Metal prices", "loss": "Losses", "sprue": "Losses",
		"refining": "Losses", "casting": "Making", "labour": "Making", "setting": "Setting fees", "finishing": "Making",
		"marking": "Making", "packing": "Making", "overhead": "Overhead"}
	card := sampleCard()
	for _, r := range card.Rates {
		p.Inputs = append(p.Inputs, Input{Key: formula.Key(r.Kind + "/" + r.Name), Group: groups[r.Kind],
			Label: capital(r.Kind) + ", " + r.Name, Value: r.Value, Unit: r.Unit, On: r.On, Source: r.Source})
	}
	slices.SortStableFunc(p.Inputs, func(a, b Input) int {
		order := []string{"Metal prices", "Losses", "Making", "Setting fees", "Overhead"}
		return slices.Index(order, a.Group) - slices.Index(order, b.Group)
	})
	for _, in := range []struct {
		key         formula.Key
		label, unit string
	}{{"margin", "Margin, share of the trade price", "%"}, {"markup", "Markup of retail on trade", "%"},
		{"tax", "Sales tax in the retail price", "%"}, {"step", "Price ladder, step", "EUR"},
		{"below", "Price ladder, below the step", "EUR"}} {
		value := map[formula.Key]num.Dec{"margin": pricing.margin, "markup": pricing.markup, "tax": pricing.tax,
			"step": pricing.step, "below": pricing.below}[in.key]
		p.Inputs = append(p.Inputs, Input{Key: in.key, Group: "Prices", Label: in.label, Value: value, Unit: in.unit,
			On: "2026-03-31", Source: "the dealer"})
	}
	trees, prices := costed(t, card, pieces, pricing)
	plan := LinePlan{Line: p.Line}
	for i, in := range pieces {
		root, inputs := treeOf(trees[i])
		root.Label = "cost of one unit"
		d := ProposalDesign{Design: in.Design, Piece: in.Piece, Metal: in.Metal + " " + in.Fineness.String(),
			Wear: "daily", Wanted: samplePlanned[i] + int64(i), Planned: samplePlanned[i],
			Inputs: inputs, Cost: root, FixedCost: sampleFixed[i], Identity: "supported"}
		trade, retail := prices[i][0], prices[i][1]
		d.Prices = []PriceTier{
			{Tier: "trade", Tax: "without tax", Price: Node{Key: trade.Key, Label: "Trade price", Amount: trade.List,
				Words: "cost / (1 - margin)", Formula: trade.ListExpr, Source: "the dealer"},
				Breaks: []PriceBreak{{From: 10, Price: Node{Key: trade.Key + "/10", Label: "from 10",
					Amount: trade.List.Times(num.MustDec("0.95"), num.HalfUp), Words: "trade price less 5 %",
					Formula: of(trade.Key).Times(formula.Number(num.MustDec("0.95"))).Round(2)}}}},
			{Tier: "retail", Tax: "tax included", NetOf: retail.NetExpr, Price: Node{Key: retail.Key,
				Label: "Retail price", Amount: retail.List,
				Words:  "trade price x (1 + markup) x (1 + tax), up to the next point of the ladder",
				Source: "the dealer", Formula: retail.ListExpr}},
		}
		var stones []PlanStone
		for _, s := range in.Stones {
			shape, l, w := cutting.Oval, s.Length.Float(), s.Length.Float()*0.77
			if s.Lot == "P1-9" {
				shape, w = cutting.Round, l
			}
			if s.Lot == "P1-2" {
				shape = cutting.EmeraldCut
			}
			stones = append(stones, PlanStone{Position: s.Position, Lot: s.Lot, Name: s.Name,
				Size: s.Length.String(), Pieces: s.Pieces, Outline: drawn(shape, l, w)})
		}
		plan.Designs = append(plan.Designs, PlanDesign{Design: in.Design, Piece: in.Piece, Wanted: d.Wanted,
			Planned: d.Planned})
		for unit := range samplePlanned[i] {
			plan.Pieces = append(plan.Pieces, PlanPiece{Design: in.Design, Number: unit + 1, Stones: stones})
		}
		p.Designs = append(p.Designs, d)
	}
	p.Draw(plan)
	words := map[string]StoneWords{
		"P1-1": {Name: "topaz", Shape: "oval", Size: "9.00 x 7.00 x 4.50", Color: "blue", Nature: Facet{"natural",
			book.Stated}, Treatment: Facet{}, Assumed: "irradiated and heated", Permanence: "lasts in normal wear",
			SpecialCare: "no ultrasonic, no steam, no torch; protect from knocks (perfect cleavage)",
			Identity:    "verified", Established: []string{"species topaz (n, SG)"},
			NotEstablished: []string{"natural origin of the stone", "treatment"}},
		"P1-9": {Name: "indicolite", Species: "tourmaline", Shape: "round", Size: "2.20", Color: "blue-green",
			Nature: Facet{"natural", book.Stated}, Treatment: Facet{"none", book.Stated}, Identity: "supported",
			Established: []string{"not glass"}, NotEstablished: []string{"species: apatite is possible too",
				"treatment"}},
		"P1-4": {Name: "kunzite", Species: "spodumene", Shape: "oval", Size: "8.00 x 6.00 x 5.10", Color: "lilac",
			Nature: Facet{"natural", book.Tested}, Treatment: Facet{"irradiated", book.Stated},
			Permanence: "the colour fades in strong light", SpecialCare: "evening wear; keep in a closed box, away " +
				"from lit showcases", ValueEffect: "irradiated stones fetch less than stones of natural colour",
			Origin: Facet{"Afghanistan", book.LabReported}, OriginBasis: "report 12345 of an invented laboratory",
			Identity: "verified", Established: []string{"species spodumene (n, SG, UV)"},
			NotEstablished: []string{"treatment"}},
		"P1-2": {Name: "aquamarine", Species: "beryl", Shape: "emerald cut", Size: "7.00 x 5.00 x 3.40",
			Color: "light blue", Nature: Facet{"natural", book.Stated}, Treatment: Facet{"heated", book.Stated},
			Permanence: "permanent", Identity: "stated", NotEstablished: []string{"everything: nobody tested the lot"}},
	}
	for i, in := range pieces {
		for unit := range samplePlanned[i] {
			for _, s := range in.Stones {
				owner := "own"
				if s.Lot == "P1-9" {
					owner = "memo-in/Harbour Gems"
				}
				p.Stones = append(p.Stones, ProposalStone{Design: in.Design, Unit: unit + 1, Position: s.Position,
					Setting: s.Setting, Lot: s.Lot, Pieces: s.Pieces, StoneWords: words[s.Lot], Carats: s.Carats +
						num.Carat(unit*7), ByScale: s.Pieces < 3, Cost: s.Cost, Owner: owner,
					Level: map[string]string{"P1-1": "caution", "P1-4": "avoid"}[s.Lot]})
			}
		}
	}
	p.Designs[0].Cautions = []Caution{
		{Position: "centre", Lot: "P1-1", Stone: "topaz", Part: "setting", Level: "caution", Rule: "knock-2",
			Reason: "one perfect cleavage in a daily ring: a sharp knock can split the stone across the table",
			Mend:   "set it in a bezel, or sell the ring for occasional wear", Source: "International Gem Society, " +
				"jewelry care table, 2018"},
		{Position: "centre", Lot: "P1-1", Stone: "topaz", Part: "bench", Level: "avoid", Rule: "heat-4",
			Reason: "sudden heat cracks topaz along its cleavage", Mend: "set the stone last; take it out before any " +
				"soldering", Source: "common practice"}}
	p.Designs[0].WorkOrder = []string{"cast, solder, pickle and rinse", "polish and plate", "set the side stones",
		"set the centre stone last"}
	p.Designs[0].Forbidden = []string{"torch", "ultrasonic", "steam"}
	p.Designs[0].Assumed = []string{"treatment of P1-1 not stated: taken as irradiated and heated"}
	p.Designs[0].Care = CareWords{Wear: []string{"take the ring off for sport and housework"},
		Cleaning: []string{"lukewarm water, mild soap, a soft brush; never ultrasonic or steam"},
		Storage: []string{"keep it alone in a soft pouch: it scratches softer stones and is scratched by diamond " +
			"and sapphire"}, Light: []string{"no sudden heat"},
		Repair: []string{"the stone comes out before any soldering"}}
	p.Designs[1].Cautions = []Caution{{Position: "centre", Lot: "P1-4", Stone: "kunzite", Part: "display",
		Level: "avoid", Rule: "light-1", Reason: "the colour fades in a lit showcase: 5.6 million lux-hours a year " +
			"against an estimated limit of months", Mend: "show it in daylight for minutes, keep it in a closed box",
		Source: "CIE 157:2004 by way of its summary; estimate"}}
	p.Designs[1].Care = CareWords{Wear: []string{"for the evening"}, Storage: []string{"in the dark"}}
	p.Short = []Shortage{{Design: "Foam & Sons", Position: "drops", Missing: 4,
		Why: "no further matched pairs of 7 x 5 mm in own lots", Worth: eur("88.40"), Order: "ORDER-2026-0002"}}
	p.Warnings = []Warning{{About: "Lot P1-7", Text: "bought as aquamarine, but its readings exclude beryl: left out " +
		"of the plan", Mend: "return it, or sort it by identity"}}
	p.Plan = PlanFacts{Value: eur("2210.55"), Bound: eur("2230.10"), Gap: pct("0.88"), Status: "work limit reached"}
	p.Risk = &Risk{Runs: 10000, Seed: 1, P10: eur("612.00"), P50: eur("1490.50"), P90: eur("2301.75"),
		Mean: eur("1477.20"), StandardError: eur("6.61"), P10Error: eur("11.20"), P50Error: eur("8.30"),
		P90Error: eur("11.05"), LossChance: pct("1.8"), LossError: pct("0.13"), NotCounted: "rates of exchange and " +
			"cutter yield", Counted: "identity of the lots, breakage in setting, sell-through, gold price"}
	for i := range 30 {
		x := -600 + 120*i
		p.Risk.Bins = append(p.Risk.Bins, Bin{Low: eur(fmt.Sprint(x)), High: eur(fmt.Sprint(x + 120)),
			Count: int(900 * math.Exp(-math.Pow((float64(x)-1450)/900, 2)))})
	}
	p.Profit = eur("1510.00")
	p.Moves = []Move{
		{Input: "gold, EUR/g fine", Low: "95", High: "140", AtLow: eur("1905.10"), AtHigh: eur("1130.80")},
		{Input: "sell-through, %", Low: "70", High: "100", AtLow: eur("1010.00"), AtHigh: eur("1660.00")},
		{Input: "labour, EUR/h", Low: "40", High: "52", AtLow: eur("1580.00"), AtHigh: eur("1440.00")}}
	return p
}

// drawn is a shape's outline as the models carry it.
func drawn(s cutting.Shape, l, w float64) []Point {
	var out []Point
	for _, p := range cutting.Outline(s, l, w) {
		out = append(out, Point{num.MillimetreFromFloat(p.X, num.HalfUp), num.MillimetreFromFloat(p.Y, num.HalfUp)})
	}
	return out
}

func sampleOrder() *CutterOrder {
	h := sampleHead
	h.Number, h.Title = "ORDER-2026-0002", "Cutter order O2"
	return &CutterOrder{Head: h, Order: "O2", Cutter: "Okoro Lapidary (invented)", Line: "Tideline",
		Due: "2026-05-15", Batch: 1,
		PriceBasis: "per piece as cut, 18.00 EUR", Breakage: "the dealer bears cleavage of supplied rough, the " +
			"cutter bears the rest", Specialist: "topaz has one perfect cleavage: only a cutter who is used to it",
		Wanted: []CutterWanted{
			{Item: "A", Work: "cut from the rough supplied", For: "Foam & Sons/drops", Material: "aquamarine (beryl)",
				Treatment: "heated or untreated, to be stated",
				WantedStone: book.WantedStone{Shape: "emerald cut", Length: mm("7"), Width: mm("5"),
					Tolerance: mm("0.1"), DepthLow: pct("60"), DepthHigh: pct("70"), Count: 4, Spare: 1,
					Match: "pairs: colour and size"},
				Color: "light blue, even", Clarity: "eye-clean", Style: "step cut, pavilion mains at least 43 degrees",
				Orientation: "best colour along c", Finish: "no scratch at 10x, girdle even",
				WantedWeight: book.WantedWeight{Weight: ct("0.930"), WeightLow: ct("0.837"),
					WeightHigh: ct("1.023"), MinYield: pct("28")},
				Why: "the plan lacks two pairs", Outline: drawn(cutting.EmeraldCut, 7, 5)},
			{Item: "B", For: "Tide/centre", Material: "topaz", Treatment: "as supplied",
				WantedStone: book.WantedStone{Shape: "oval", Length: mm("9"), Width: mm("7"), Tolerance: mm("0.1"),
					DepthLow: pct("60"), DepthHigh: pct("68"), Count: 2, Match: "none"},
				Color: "medium blue", Orientation: "table 7 degrees off the cleavage",
				WantedWeight: book.WantedWeight{Weight: ct("2.300"), WeightLow: ct("2.070"),
					WeightHigh: ct("2.530"), MinYield: pct("55")},
				Why: "recut of two windowed stones", Risk: "cleavage: one in ten such recuts splits (estimate)",
				Outline: drawn(cutting.Oval, 9, 7)}},
		Supplied: []SuppliedStone{{Item: "A", Lot: "P1-12", Material: "aquamarine (beryl)", Treatment: "not stated",
			Shape: "rough", Size: "", Pieces: 6, Carats: ct("18.440"), Owner: "own", Value: eur("240.00")},
			{Item: "B", Lot: "P1-1.2", Material: "topaz", Treatment: "not stated", Shape: "oval",
				Size: "10.20 x 8.10 x 5.90", Pieces: 2, Carats: ct("7.912"), Owner: "own", Value: eur("158.20"),
				Note: "windowed"}},
		Terms: []string{"Unsuitable rough comes back uncut.", "The same design across the order; no change without " +
			"asking.", "All powder, splinters and rough come back and are weighed."}}
}
