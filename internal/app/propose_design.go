package app

import (
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/documents"
	"lotpaper/internal/durability"
	"lotpaper/internal/num"
)

// Groups of the Assumptions sheet by kind of rate.
var rateGroups = map[string]string{
	costing.RateMetal: "Metal prices", costing.RatePremium: "Metal prices", costing.RateLoss: "Losses", costing.RateSprue: "Losses",
	costing.RateRefining: "Losses", costing.RateCasting: "Making", costing.RateLabour: "Making", costing.RateSetting: "Setting fees",
	costing.RateFinishing: "Making", costing.RatePlating: "Making", costing.RateMarking: "Making", costing.RatePacking: "Making", costing.RateOverhead: "Overhead",
}

var groupOrder = []string{"Metal prices", "Losses", "Making", "Setting fees", "Overhead", "Prices"}

// inputs are the rates that the line's costs read, and what the dealer sets.
func (w *proposalWriter) inputs() []documents.Input {
	var out []documents.Input
	seen := map[string]bool{}
	for _, d := range w.Designs {
		for _, in := range d.Cost.Rates() {
			if seen[in.Key] {
				continue
			}
			seen[in.Key] = true
			kind, name, _ := strings.Cut(in.Key, "/")
			out = append(out, documents.Input{Key: in.Key, Group: orThe(rateGroups[kind], "Making"), Label: capital(kind) + ", " + name, Value: in.Value, Unit: in.Unit, On: in.On, Source: in.Source})
		}
	}
	slices.SortStableFunc(out, func(a, b documents.Input) int {
		return slices.Index(groupOrder, a.Group) - slices.Index(groupOrder, b.Group)
	})
	return append(out,
		documents.Input{Key: "margin", Group: "Prices", Label: "Wanted margin, share of the trade price", Value: w.Config.Margin.Dec, Unit: "%", Source: "the book's setting margin"},
		documents.Input{Key: "tax", Group: "Prices", Label: "Tax in the retail price", Value: w.Config.Tax.Dec, Unit: "%", Source: "the book's setting tax; the law of the place of sale decides"})
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

func metalWords(d book.Design) string { return d.Metal + " " + d.Fineness.String() }

// design is one design of the proposal: cost tree with live formulas, prices,
// cautions, work order and care.
func (w *proposalWriter) design(d PricedDesign, design book.Design) documents.ProposalDesign {
	root, inputs := liveTree(d.Design, d.Cost)
	root.Label = "cost of one unit"
	out := documents.ProposalDesign{
		Design: d.Design, Piece: design.Piece, Metal: metalWords(design), Wear: design.Wear, Wanted: d.Wanted, Planned: d.Made,
		Inputs: inputs, Cost: root, FixedCost: num.Zero(w.currency).Add(design.FixedCost), Identity: design.Identity, Note: d.Note,
		Cautions: []documents.Caution{}, WorkOrder: []string{}, Forbidden: []string{}, Assumed: []string{},
	}
	out.Prices = []documents.PriceTier{{Tier: "trade", Tax: "without tax", Price: documents.Node{
		Key: "price/" + d.Design + "/trade", Label: "Trade price", Amount: design.PriceTrade, Words: "the design's own price", Source: "the line's file"}}}
	if design.PriceRetail.Sign() > 0 {
		key := "price/" + d.Design + "/retail"
		digits := w.currency.Digits()
		out.Prices = append(out.Prices, documents.PriceTier{Tier: "retail", Tax: "tax included", NetOf: fmt.Sprintf("ROUND({%s}/(1+{tax}/100),%d)", key, digits),
			Price: documents.Node{Key: key, Label: "Retail price", Amount: design.PriceRetail, Words: "the design's own price, tax included", Source: "the line's file"}})
	}
	if wanted, f := costing.PriceBy(d.Cost.Amount, costing.Margin, w.Config.Margin); f == nil {
		out.Prices = append(out.Prices, documents.PriceTier{Tier: "at the wanted margin", Tax: "without tax", Price: documents.Node{
			Key: "price/" + d.Design + "/margin", Label: "Trade price at the wanted margin", Amount: wanted.Price, Words: "cost / (1 - margin)",
			Formula: fmt.Sprintf("ROUND({%s}*100/(100-{margin}),%d)", root.Key, w.currency.Digits()), Source: "the book's setting margin"}})
	}
	w.cautions(&out, design)
	out.Care = w.care(design)
	return out
}

// liveTree turns a costed tree into the document's, with its formulas and the
// design's own inputs.
func liveTree(design string, n *costing.Node) (documents.Node, []documents.Input) {
	var inputs []documents.Input
	making := ""
	for i, part := range n.Parts {
		if part.Name == "making" {
			making = fmt.Sprintf("node/%s/%d", design, i)
		}
	}
	var walk func(n *costing.Node, key string) documents.Node
	walk = func(n *costing.Node, key string) documents.Node {
		out := documents.Node{Key: key, Label: n.Name, Amount: n.Amount, Words: n.Formula, Source: n.Source}
		for _, in := range n.Inputs {
			if strings.HasPrefix(in.Key, "design/") && !slices.ContainsFunc(inputs, func(x documents.Input) bool { return x.Key == in.Key }) {
				inputs = append(inputs, documents.Input{Key: in.Key, Label: in.Name, Value: in.Value, Unit: in.Unit, Source: in.Source})
			}
		}
		for i, part := range n.Parts {
			out.Children = append(out.Children, walk(part, fmt.Sprintf("%s/%d", key, i)))
		}
		if len(n.Parts) == 0 {
			out.Formula = strings.ReplaceAll(n.Live, "{node/"+design+"/making}", "{"+making+"}")
		}
		return out
	}
	return walk(n, "node/"+design), inputs
}

// used lists the lots that a design's position takes, in the plan's order.
func (w *proposalWriter) used(design, position string) []string {
	var out []string
	for _, piece := range w.Plan.Pieces {
		if piece.Design != design {
			continue
		}
		for _, f := range piece.Fills {
			for _, s := range f.Stones {
				if f.Position == position && !contains(out, s.Lot) {
					out = append(out, s.Lot)
				}
			}
		}
	}
	return out
}

// judged calls f for every lot in every position of a design.
func (w *proposalWriter) judged(design book.Design, f func(pos book.Position, lot StockLot, j *judgement)) {
	for i, pos := range design.Positions {
		name := orThe(pos.Name, fmt.Sprintf("position %d", i+1))
		for _, code := range w.used(design.Name, name) {
			lot, ok := w.Stones[code]
			if !ok {
				continue
			}
			if j := w.judge.at(lot.Lot, design, pos); j.err == nil {
				f(pos, lot, j)
			}
		}
	}
}

// cautions tells every finding at care or worse once for each kind of stone,
// and the work order of the worst stone.
func (w *proposalWriter) cautions(out *documents.ProposalDesign, design book.Design) {
	seen := map[string]bool{}
	worst := durability.Level(-1)
	w.judged(design, func(pos book.Position, lot StockLot, j *judgement) {
		v := j.all.Worst.Verdict
		for _, f := range v.Findings {
			key := pos.Name + f.Rule + lot.Name()
			if f.Level < durability.Care || seen[key] {
				continue
			}
			seen[key] = true
			out.Cautions = append(out.Cautions, documents.Caution{
				Position: pos.Name, Lot: lot.Code, Stone: lot.Name(), Part: string(f.Part), Level: f.Level.String(), Reason: f.Reason, Mend: f.Mend, Source: f.Source, Rule: f.Rule})
		}
		if v.Bench > worst {
			worst = v.Bench
			out.WorkOrder, out.Forbidden = list(v.WorkOrder), list(v.Forbidden)
		}
		for _, a := range v.Assumed {
			if words := lot.Name() + ": " + a; !contains(out.Assumed, words) {
				out.Assumed = append(out.Assumed, words)
			}
		}
	})
	slices.SortStableFunc(out.Cautions, func(a, b documents.Caution) int {
		la, _ := durability.LevelNamed(a.Level)
		lb, _ := durability.LevelNamed(b.Level)
		return int(lb - la)
	})
}

// care gathers the care words of every stone in a design, each once.
func (w *proposalWriter) care(design book.Design) documents.CareWords {
	c := documents.CareWords{Wear: []string{}, Cleaning: []string{}, Storage: []string{}, Light: []string{}, Repair: []string{}}
	add := func(to *[]string, words []string) {
		for _, s := range words {
			if !contains(*to, s) {
				*to = append(*to, s)
			}
		}
	}
	w.judged(design, func(_ book.Position, _ StockLot, j *judgement) {
		s := j.situation
		card := durability.CareOf(s, j.all.Worst.Verdict)
		add(&c.Wear, card.Wear)
		add(&c.Cleaning, card.Clean)
		add(&c.Storage, card.Store)
		add(&c.Light, card.Display)
		add(&c.Repair, card.Repair)
	})
	return c
}
