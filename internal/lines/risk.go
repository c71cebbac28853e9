package lines

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/chance"
	"lotpaper/internal/costing"
	"lotpaper/internal/fault"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

// doubts are the kinds of luck that a simulation may count.
var doubts = []string{"identity", "breakage", "returns", "metal", "fx", "sales", "cutter"}

// Risk asks what may come out differently from what a line's plan says.
type Risk struct {
	Plan
	Runs   int              // to begin with; 0: 10,000
	Most   int              // never more; 0: 160,000
	Within num.Money        // raise the runs until the mean's standard error is at most this; zero: never
	Only   []string         // doubts that are counted; empty: all; of Doubts
	Ranges map[string]Range // the user's own ranges of inputs, by path
}

// Doubts lists the kinds of luck that a simulation may count.
func (Risk) Doubts() []string { return doubts }

// Range is the least and the most that an input may be.
type Range struct {
	Low, High num.Dec
}

// Risk plans and prices a line, moves every input over its range, and
// simulates what the line earns.
func (room *Room) Risk(ctx context.Context, r Risk) (answer.LineRisk, error) {
	line, err := room.price(ctx, r.Plan)
	if err != nil {
		return answer.LineRisk{}, err
	}
	if !slices.ContainsFunc(line.designs, func(d pricedDesign) bool { return d.made > 0 }) {
		return answer.LineRisk{}, fault.New(fault.Refused, "plan-empty", "nothing of the line "+line.line.Name+
			" can be made, so nothing is at risk", "see what is short").Do("line", "plan", line.line.Name)
	}
	return line.risk(r)
}

// risk is the risk of a priced line; no run is made when it has no design.
func (l *pricedLine) risk(r Risk) (answer.LineRisk, error) {
	out := answer.LineRisk{Head: l.answerHead("Risk of the line " + l.line.Name), Line: l.line.Name,
		Earned: answer.Amount{Money: l.result.Profit}, Moves: []answer.RiskMove{}, Caution: answer.CautionPrice,
		Warnings: l.told}
	if r.Runs < 0 || r.Most < 0 || r.Within.Sign() < 0 {
		return out, fault.New(fault.Usage, "runs-negative", "runs and the wanted standard error must not be negative",
			"leave them out, or enter positive numbers").AtField("runs")
	}
	model, faults := l.model(r.Only, true)
	if faults.Blocks() {
		return out, faults
	}
	out.Counted, out.NotCounted = answer.List(model.counted), answer.List(model.not)
	if len(model.Designs) == 0 {
		return out, nil
	}
	runs := costing.Runs{Seed: r.Seed, First: r.Runs, Most: max(r.Most, r.Runs), Within: r.Within}
	if r.Most == 0 {
		runs.Most = max(160_000, r.Runs)
	}
	if out.Outcome, faults = costing.Simulate(model.Model, runs); faults.Blocks() {
		return out, faults
	}
	moves, faults := l.moves(r.Ranges)
	if faults.Blocks() {
		return out, faults
	}
	for _, m := range moves {
		out.Moves = append(out.Moves, answer.RiskMove{Key: m.Path, Input: m.Name, Unit: m.Unit, Low: m.Low,
			Base: m.Base, High: m.High, Assumed: m.Assumed, AtLow: answer.Amount{Money: m.AtLow},
			AtHigh: answer.Amount{Money: m.AtHigh}, Span: answer.Amount{Money: m.Span}, Slope: m.Slope})
	}
	return out, nil
}

// input is the line as costing takes it.
func (l *pricedLine) input() costing.LineInput {
	in := costing.LineInput{Card: l.card, Shared: num.Zero(l.currency)}
	for i := range l.designs {
		d := &l.designs[i]
		in.Pieces = append(in.Pieces, costing.LinePiece{PieceInput: d.unit, Quantity: d.made, Price: d.trade.Price,
			Fixed: d.FixedCost})
	}
	return in
}

// moves ranks what each input does to the line's profit over its own range:
// the user's, else metal prices over what they wander within the horizon (one
// standard deviation), breakage and returns over the middle nine tenths of their belief,
// else the published range of a default, else 10 % either way.
func (l *pricedLine) moves(ranges map[string]Range) ([]costing.Moved, fault.List) {
	in := l.input()
	var swings []costing.Swing
	var trees []*costing.Node
	seen := map[formula.Key]bool{}
	found := map[string]bool{}
	add := func(s costing.Swing) {
		if r, ok := ranges[s.Path]; ok {
			s.Low, s.High, s.Assumed = r.Low, r.High, false
			found[s.Path] = true
		}
		if !seen[s.Key] {
			seen[s.Key] = true
			swings = append(swings, s)
		}
	}
	sd := l.config.VolatilityMetal * math.Sqrt(l.config.Months/12)
	for i := range l.designs {
		d := &l.designs[i]
		beliefs := d.unit.Beliefs()
		trees = append(trees, d.cost)
		d.cost.Walk(func(_ int, n *costing.Node) {
			for _, x := range n.Inputs {
				s := costing.SwingOf(x)
				b, believed := beliefs[x.Key]
				_, own := ranges[x.Path]
				switch {
				case strings.HasPrefix(x.Path, costing.RateMetal+"/") && sd > 0:
					s.Low, s.High, s.Assumed = times(x.Value, math.Exp(-sd)), times(x.Value, math.Exp(sd)), false
				case believed && b != (chance.Beta{}):
					s.Name = d.Name + ": " + x.Name
					if x.Position != "" {
						s.Name = d.Name + " " + x.Position + "/" + x.Lot + ": " + x.Name
					}
					low, high := b.Interval(0.9)
					s.Low, s.High = num.FromFloat(100*low, 4, num.HalfUp), num.FromFloat(100*high, 4, num.HalfUp)
					s.Assumed = false
				case !own:
					continue
				}
				add(s)
			}
		})
		for _, x := range []costing.Input{in.PriceOf(i), in.QuantityOf(i)} {
			if _, own := ranges[x.Path]; own {
				add(costing.SwingOf(x))
			}
		}
	}
	for path := range ranges {
		if f := ambiguous(path, trees); f != nil {
			return nil, fault.List{f.AtField("range")}
		}
		if !found[path] {
			return nil, fault.List{fault.New(fault.NotFound, "range-unknown",
				fmt.Sprintf("no cost of this line reads %q", path), "name an input as the cost tree does: "+
					"metal/gold, labour/bench, design/NAME/metal_g, price/NAME").AtField("range")}
		}
	}
	all, faults := in.Sensitivity(swings...)
	if faults.Blocks() {
		return nil, faults
	}
	out := []costing.Moved{}
	for _, m := range all {
		if !m.Span.IsZero() {
			out = append(out, m)
		}
	}
	return out, nil
}

// ambiguous refuses a path that names two inputs of the trees, as it may when
// names hold a slash.
func ambiguous(path string, trees []*costing.Node) *fault.Fault {
	var found []costing.Input
	for _, t := range trees {
		t.Walk(func(_ int, n *costing.Node) {
			for _, in := range n.Inputs {
				if in.Path == path && !slices.ContainsFunc(found,
					func(x costing.Input) bool { return x.Key == in.Key }) {
					found = append(found, in)
				}
			}
		})
	}
	if len(found) < 2 {
		return nil
	}
	return fault.New(fault.Invalid, "key-ambiguous", fmt.Sprintf("%q names two numbers of this line: %s, and %s", path,
		found[0].Words(), found[1].Words()), "rename one of the designs or positions").AtRef(path)
}

// times returns a rate multiplied by a factor, to six significant decimals.
func times(d num.Dec, factor float64) num.Dec {
	return d.Mul(num.FromFloat(factor, 6, num.HalfUp)).Round(6, num.HalfUp)
}
