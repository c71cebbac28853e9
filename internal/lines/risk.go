package lines

import (
	"context"
	"fmt"
	"math"
	"strings"

	"lotpaper/internal/chance"
	"lotpaper/internal/costing"
	"lotpaper/internal/fault"
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
		return nil, fault.New(fault.Usage, "runs-negative", "runs and the wanted standard error are not negative", "leave them out, or enter positive numbers").AtFlag("runs")
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
		in.Pieces = append(in.Pieces, costing.LinePiece{PieceInput: d.Unit, Quantity: d.Made, Price: d.Trade.Price, Fixed: d.design.FixedCost})
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
	seen := map[string]bool{}
	add := func(s costing.Swing) {
		if r, ok := ranges[s.Key]; ok {
			s.Low, s.High, s.Assumed = r[0], r[1], false
		}
		if !seen[s.Key] {
			seen[s.Key] = true
			swings = append(swings, s)
		}
	}
	sd := l.Config.VolatilityMetal * math.Sqrt(l.Config.Months/12)
	for i := range l.Designs {
		d := &l.Designs[i]
		beliefs := map[string]chance.Beta{"design/" + d.Design + "/returns": d.Unit.Returns}
		for _, s := range d.Unit.Stones {
			beliefs["design/"+d.Design+"/"+s.Position+"/"+s.Lot+"/breakage"] = s.Breakage
		}
		d.Cost.Walk(func(_ int, n *costing.Node) {
			for _, x := range n.Inputs {
				s := costing.SwingOf(x.Key, x.Name, x.Value, x.Unit)
				b, breaks := beliefs[x.Key]
				_, own := ranges[x.Key]
				switch {
				case strings.HasPrefix(x.Key, costing.RateMetal+"/") && sd > 0:
					s.Low, s.High, s.Assumed = times(x.Value, math.Exp(-sd)), times(x.Value, math.Exp(sd)), false
				case breaks && b != (chance.Beta{}):
					s.Name = d.Design + ": " + x.Name
					if at, is := strings.CutSuffix(strings.TrimPrefix(x.Key, "design/"+d.Design+"/"), "/breakage"); is {
						s.Name = d.Design + " " + at + ": " + x.Name
					}
					low, high := b.Interval(0.9)
					s.Low, s.High, s.Assumed = num.FromFloat(100*low, 4, num.HalfUp), num.FromFloat(100*high, 4, num.HalfUp), false
				case !own:
					continue
				}
				add(s)
			}
		})
		if r, ok := ranges["price/"+d.Design]; ok {
			add(costing.Swing{Key: "price/" + d.Design, Name: d.Design + ": price", Low: r[0], Base: d.Trade.Price.Dec(), High: r[1], Unit: string(l.currency)})
		}
		if r, ok := ranges["quantity/"+d.Design]; ok {
			add(costing.Swing{Key: "quantity/" + d.Design, Name: d.Design + ": quantity made and sold", Low: r[0], Base: num.Int(d.Made), High: r[1], Unit: "units"})
		}
	}
	for key := range ranges {
		if !seen[key] {
			return nil, fault.List{fault.New(fault.NotFound, "range-unknown", fmt.Sprintf("no cost of this line reads %q", key), "name an input as the cost tree does: metal/gold, labour/bench, design/NAME/metal_g, price/NAME").AtFlag("range")}
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

// times is a rate moved by a factor, to six significant decimals.
func times(d num.Dec, factor float64) num.Dec {
	return d.Mul(num.FromFloat(factor, 6, num.HalfUp)).Round(6, num.HalfUp)
}
