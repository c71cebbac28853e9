package lines

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"lotpaper/internal/chance"
	"lotpaper/internal/costing"
	"lotpaper/internal/fault"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

// LineRisk asks what may come out differently from what a line's plan says.
type LineRisk struct {
	LinePlan
	Runs   int                   // to begin with; 0: 10,000
	Most   int                   // never more; 0: 160,000
	Within num.Money             // raise the runs until the mean's standard error is at most this; zero: never
	Only   []string              // doubts that are counted; empty: all; see Doubts
	Ranges map[string][2]num.Dec // the user's own ranges of inputs, low and high
}

// LineRisked is a line's luck.
type LineRisked struct {
	*LinePrice
	Outcome costing.Outcome
	Moves   []costing.Moved // ranked, those without effect left out
	Counted []string
	Not     []string
}

// LineRisk plans and prices a line, moves every input over its range, and
// simulates what the line earns.
func (room *Room) LineRisk(ctx context.Context, r LineRisk) (*LineRisked, error) {
	line, err := room.LinePrice(ctx, r.LinePlan)
	if err != nil {
		return nil, err
	}
	return line.risk(r)
}

func (l *LinePrice) risk(r LineRisk) (*LineRisked, error) {
	if r.Runs < 0 || r.Most < 0 || r.Within.Sign() < 0 {
		return nil, fault.New(fault.Usage, "runs-negative", "runs and the wanted standard error are not negative",
			"leave them out, or enter positive numbers").AtField("runs")
	}
	model, faults := l.model(r.Only, true)
	if faults.Blocks() {
		return nil, faults
	}
	out := &LineRisked{LinePrice: l, Counted: model.Counted, Not: model.Not, Moves: []costing.Moved{}}
	if len(model.Designs) == 0 {
		return out, nil
	}
	runs := costing.Runs{Seed: r.Seed, First: r.Runs, Most: max(r.Most, r.Runs), Within: r.Within}
	if r.Most == 0 {
		runs.Most = max(160_000, r.Runs)
	}
	if out.Outcome, faults = costing.Simulate(model.Model, runs); faults.Blocks() {
		return nil, faults
	}
	moves, faults := l.moves(r.Ranges)
	if faults.Blocks() {
		return nil, faults
	}
	out.Moves = moves
	return out, nil
}

// input is the line as costing takes it.
func (l *LinePrice) lineInput() costing.LineInput {
	in := costing.LineInput{Card: l.Card, Shared: num.Zero(l.currency)}
	for i := range l.Designs {
		d := &l.Designs[i]
		in.Pieces = append(in.Pieces, costing.LinePiece{PieceInput: d.Unit, Quantity: d.Made, Price: d.Trade.Price,
			Fixed: d.design.FixedCost})
	}
	return in
}

// moves ranks what each input does to the line's profit over its own range:
// the user's, else metal prices over what they wander within the horizon (one
// standard deviation), breakage and returns over the middle nine tenths of their belief,
// else the published range of a default, else 10 % either way.
func (l *LinePrice) moves(ranges map[string][2]num.Dec) ([]costing.Moved, fault.List) {
	in := l.lineInput()
	var swings []costing.Swing
	var trees []*costing.Node
	seen := map[formula.Key]bool{}
	found := map[string]bool{}
	add := func(s costing.Swing) {
		if r, ok := ranges[s.Path]; ok {
			s.Low, s.High, s.Assumed = r[0], r[1], false
			found[s.Path] = true
		}
		if !seen[s.Key] {
			seen[s.Key] = true
			swings = append(swings, s)
		}
	}
	sd := l.Config.VolatilityMetal * math.Sqrt(l.Config.Months/12)
	for i := range l.Designs {
		d := &l.Designs[i]
		beliefs := d.Unit.Beliefs()
		trees = append(trees, d.Cost)
		d.Cost.Walk(func(_ int, n *costing.Node) {
			for _, x := range n.Inputs {
				s := costing.SwingOf(x)
				b, believed := beliefs[x.Key]
				_, own := ranges[x.Path]
				switch {
				case strings.HasPrefix(x.Path, costing.RateMetal+"/") && sd > 0:
					s.Low, s.High, s.Assumed = times(x.Value, math.Exp(-sd)), times(x.Value, math.Exp(sd)), false
				case believed && b != (chance.Beta{}):
					s.Name = d.Design + ": " + x.Name
					if x.Position != "" {
						s.Name = d.Design + " " + x.Position + "/" + x.Lot + ": " + x.Name
					}
					low, high := b.Interval(0.9)
					s.Low, s.High, s.Assumed = num.FromFloat(100*low, 4, num.HalfUp), num.FromFloat(100*high, 4,
						num.HalfUp), false
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

// times is a rate moved by a factor, to six significant decimals.
func times(d num.Dec, factor float64) num.Dec {
	return d.Mul(num.FromFloat(factor, 6, num.HalfUp)).Round(6, num.HalfUp)
}
