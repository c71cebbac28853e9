package lines

import (
	"cmp"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/durability"
	"lotpaper/internal/fitting"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

// Groups of the Assumptions sheet by kind of rate.
var rateGroups = map[string]string{
	costing.RateMetal: "Metal prices", costing.RatePremium: "Metal prices", costing.RateLoss: "Losses",
	costing.RateSprue:    "Losses",
	costing.RateRefining: "Losses", costing.RateCasting: "Making", costing.RateLabour: "Making",
	costing.RateSetting:   "Setting fees",
	costing.RateFinishing: "Making", costing.RatePlating: "Making", costing.RateMarking: "Making",
	costing.RatePacking: "Making", costing.RateOverhead: "Overhead",
}

var groupOrder = []string{"Metal prices", "Losses", "Making", "Setting fees", "Overhead", "Prices"}

// inputs are the rates that the line's costs read, and what the dealer sets.
func (w *proposalWriter) inputs() []answer.Input {
	var out []answer.Input
	seen := map[formula.Key]bool{}
	for _, d := range w.designs {
		for _, in := range d.cost.Rates() {
			if seen[in.Key] {
				continue
			}
			seen[in.Key] = true
			kind, name, _ := strings.Cut(in.Path, "/")
			out = append(out, answer.Input{Key: in.Key, Group: cmp.Or(rateGroups[kind], "Making"),
				Label: capital(kind) + ", " + name, Value: in.Value, Unit: in.Unit, On: in.On, Source: in.Source})
		}
	}
	slices.SortStableFunc(out, func(a, b answer.Input) int {
		return slices.Index(groupOrder, a.Group) - slices.Index(groupOrder, b.Group)
	})
	return append(out, w.priceInputs()...)
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// metalWords is a design's metal with its fineness: "gold 750".
func metalWords(d book.Design) string { return d.Metal + " " + d.Fineness.String() }

// design is one design of the proposal: cost tree with live formulas, prices,
// cautions, work order and care.
func (w *proposalWriter) design(d *pricedDesign) answer.ProposalDesign {
	root, inputs := liveTree(d.cost)
	root.Label = "cost of one unit"
	out := answer.ProposalDesign{
		Design: d.Name, Piece: d.Piece, Metal: metalWords(d.Design.Design), Wear: d.Wear, Wanted: d.Quantity,
		Planned: d.made, Inputs: inputs, Cost: root, FixedCost: num.Zero(w.currency).Add(d.FixedCost),
		Identity: d.Identity, Note: d.note, Cautions: []answer.Caution{}, WorkOrder: []string{},
		Forbidden: []string{}, Assumed: []string{},
	}
	out.Prices = w.priceTiers(d)
	w.cautions(&out, d.Design.Design)
	out.Care = w.care(d.Design.Design)
	return out
}

// liveTree turns a costed tree into the document's, with its formulas and the
// design's own inputs.
func liveTree(n *costing.Node) (answer.Node, []answer.Input) {
	var inputs []answer.Input
	var walk func(n *costing.Node) answer.Node
	walk = func(n *costing.Node) answer.Node {
		out := answer.Node{Key: n.Key, Label: n.Name, Amount: n.Amount, Words: n.Formula, Formula: n.Expr,
			Source: n.Source}
		for _, in := range n.Inputs {
			if in.Own() && !slices.ContainsFunc(inputs, func(x answer.Input) bool { return x.Key == in.Key }) {
				inputs = append(inputs, answer.Input{Key: in.Key, Label: inputLabel(in), Value: in.Value, Unit: in.Unit,
					Source: in.Source})
			}
		}
		for _, part := range n.Parts {
			out.Children = append(out.Children, walk(part))
		}
		return out
	}
	return walk(n), inputs
}

// inputLabel names a design's own input with the position and lot that it is
// of: "stones, center, A-3".
func inputLabel(in costing.Input) string {
	if in.Position == "" {
		return in.Name
	}
	return in.Name + ", " + in.Position + ", " + in.Lot
}

// judged calls f for every lot in every position of a design.
func (w *proposalWriter) judged(design book.Design, f func(pos book.Position, lot answer.StockLot,
	j *fitting.Judgement)) {
	for i, pos := range design.Positions {
		name := book.PositionName(pos, i)
		for _, code := range w.plan.lotsIn(design.Name, name) {
			lot, ok := w.lots[code]
			if !ok {
				continue
			}
			if j := w.judge.At(lot.Lot, design, pos); j.Err == nil {
				f(pos, lot, j)
			}
		}
	}
}

// cautions adds every finding at care or worse once for each kind of stone, and
// the work order of the piece: what all its stones ask for.
func (w *proposalWriter) cautions(out *answer.ProposalDesign, design book.Design) {
	seen := map[string]bool{}
	var order, never, assumed pieceLines
	breaks, returns := durability.Sound, durability.Sound
	w.judged(design, func(pos book.Position, lot answer.StockLot, j *fitting.Judgement) {
		v := j.Verdict()
		breaks, returns = max(breaks, v.BreakLevel), max(returns, v.ReturnLevel)
		for _, f := range v.Findings {
			key := pos.Name + f.Rule + lot.Name()
			if f.Level < durability.Care || seen[key] {
				continue
			}
			seen[key] = true
			out.Cautions = append(out.Cautions, answer.Caution{
				Position: pos.Name, Lot: lot.Code, Stone: lot.Name(), Part: string(f.Part), Level: f.Level.String(),
				Reason: f.Reason, Advice: f.Advice, Mend: f.Mend, Source: f.Source, Rule: f.Rule})
		}
		order.add(lot.Name(), v.WorkOrder)
		never.add(lot.Name(), v.Forbidden)
		assumed.add(lot.Name(), v.Assumed)
	})
	out.WorkOrder, out.Forbidden, out.Assumed = order.words(), never.words(), assumed.words()
	for _, loss := range []struct {
		kind  durability.LossKind
		level durability.Level
		words string
	}{{durability.LossSetting, breaks, "a stone breaks while it is set: "}, {durability.LossReturn, returns,
		"a piece comes back damaged in the first year: "}} {
		if r, f := w.judge.Rate(loss.kind, loss.level); f == nil && len(order.stones) > 0 {
			out.Assumed = append(out.Assumed, loss.words+r.Said())
		}
	}
	slices.SortStableFunc(out.Cautions, func(a, b answer.Caution) int {
		la, _ := durability.LevelNamed(a.Level)
		lb, _ := durability.LevelNamed(b.Level)
		return int(lb - la)
	})
}

// pieceLines are lines that are said of the stones of one piece, in the order
// in which they are said of each stone.
type pieceLines struct {
	stones []string
	lines  []string
	of     map[string][]string // the stones that a line is said of
}

// add says lines of a stone.
func (p *pieceLines) add(stone string, lines []string) {
	if p.of == nil {
		p.of = map[string][]string{}
	}
	if !slices.Contains(p.stones, stone) {
		p.stones = append(p.stones, stone)
	}
	at := 0
	for _, l := range lines {
		if have := slices.Index(p.lines, l); have >= 0 {
			at = max(at, have+1)
		} else {
			p.lines = slices.Insert(p.lines, at, l)
			at++
		}
		if !slices.Contains(p.of[l], stone) {
			p.of[l] = append(p.of[l], stone)
		}
	}
}

// words are the lines; one that is not said of every stone names those it is.
func (p *pieceLines) words() []string {
	out := []string{}
	for _, l := range p.lines {
		if len(p.of[l]) < len(p.stones) {
			l = strings.Join(p.of[l], ", ") + ": " + l
		}
		out = append(out, l)
	}
	return out
}

// care gathers the care words of every stone in a design, each once.
func (w *proposalWriter) care(design book.Design) answer.CareWords {
	c := answer.CareWords{Safety: []string{}, Wear: []string{}, Cleaning: []string{}, Storage: []string{},
		Light: []string{}, Repair: []string{}}
	add := func(to *[]string, words []string) {
		for _, s := range words {
			if !slices.Contains(*to, s) {
				*to = append(*to, s)
			}
		}
	}
	var people []answer.PeopleHazard
	w.judged(design, func(_ book.Position, _ answer.StockLot, j *fitting.Judgement) {
		card := j.All.Care(j.Situation)
		people = append(people, j.Hazards()...)
		add(&c.Wear, card.Wear)
		add(&c.Cleaning, card.Clean)
		add(&c.Storage, card.Store)
		add(&c.Light, card.Display)
		add(&c.Repair, card.Repair)
	})
	c.Safety = answer.HazardWords(answer.JewelHazards(people))
	all := slices.Clone(c.Repair)
	// one stone's "never" stands over another's "with caution"
	c.Repair = slices.DeleteFunc(c.Repair, func(words string) bool {
		step, guarded := strings.CutPrefix(words, durability.SayGuarded)
		return guarded && slices.Contains(all, durability.SayForbidden+step)
	})
	return c
}
