package cli

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/chart"
	"lotpaper/internal/costing"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/lines"
	"lotpaper/internal/num"
	"lotpaper/internal/ui"
)

// riskReport is a line's luck for programs: amounts of the plan are exact,
// figures of the simulation are statistics.
type riskReport struct {
	Line    string          `json:"line"`
	Earned  string          `json:"earned"` // as planned, exact
	Outcome costing.Outcome `json:"outcome"`
	Counted []string        `json:"counted"`
	Not     []string        `json:"not_counted"`
	Moves   []moveReport    `json:"sensitivity"`
	Caution string          `json:"caution"`
}

type moveReport struct {
	Key     string `json:"key"`
	Input   string `json:"input"`
	Unit    string `json:"unit"`
	Low     string `json:"low"`
	Base    string `json:"base"`
	High    string `json:"high"`
	Assumed bool   `json:"assumed"` // the range is ours: 10 % either way
	AtLow   string `json:"profit_at_low"`
	AtHigh  string `json:"profit_at_high"`
	Span    string `json:"span"`
	Slope   string `json:"slope"`
}

func (r *root) lineRisk() *cobra.Command {
	var p planFlags
	var req lines.LineRisk
	var within, histogram, tornado string
	var ranges []string
	var force bool
	rows := 15
	c := verb("risk LINE", "Say what may come out differently from what a line is planned to earn",
		`  lotpaper line risk Sea
  lotpaper line risk Sea --runs 20000 --seed 7 --within 5
  lotpaper line risk Sea --chart profit.svg --tornado moves.png
  lotpaper line risk Sea --only metal,breakage
  lotpaper line risk Sea --range metal/gold=70..110 --range labour/bench=35..48

Simulates the plan with its luck: stones that are not what they are sold as, by
the lots' random tests; breakage in setting and returns, by estimates and the
book's own record; metal prices and exchange rates, by the settings
volatility_metal, volatility_fx and horizon_months; sales, by sell_through. Each
figure comes with its standard error. The same seed gives the same answer on any
machine. Then every input is moved over its own range, one at a time.
`, cobra.ExactArgs(1), r.reading(func(ctx context.Context, a *house.House, args []string) error {
			var err error
			if req.LinePlan, err = p.request(r, args[0]); err != nil {
				return err
			}
			if within != "" {
				show, err := a.Desk.ConfigShow(ctx)
				if err != nil {
					return err
				}
				m, f := num.ParseMoney(within, num.Currency(show.Currency))
				if f != nil {
					return asUsage(f.AtField("within"))
				}
				req.Within = m
			}
			if req.Ranges, err = parseRanges(ranges); err != nil {
				return err
			}
			line, err := a.Lines.LineRisk(ctx, req)
			if err != nil {
				return err
			}
			r.faults(line.Warnings)
			if line.Outcome.Runs == 0 {
				return fault.New(fault.Refused, "plan-empty", "nothing of the line "+line.Line+
					" can be made, so nothing is at risk", "see what is short: lotpaper line plan "+line.Line)
			}
			for _, picture := range []struct {
				path   string
				figure chart.Figure
			}{{histogram, histogramOf(line)}, {tornado, tornadoOf(line)}} {
				if picture.path == "" {
					continue
				}
				if err := r.writeFigure(picture.figure, picture.path, force); err != nil {
					return err
				}
				r.Streams.Notef("wrote %s\n", picture.path)
			}
			return r.showRisk(line, rows)
		}))
	p.flags(c)
	f := c.Flags()
	f.IntVar(&req.Runs, "runs", 0, "runs to begin with (default 10000)")
	f.IntVar(&req.Most, "most", 0, "never more runs than this (default 160000)")
	f.StringVar(&within, "within", "", "raise the runs until the mean's standard error is at most this amount")
	f.StringSliceVar(&req.Only, "only", nil, "count only these doubts: "+strings.Join(lines.Doubts, ", ")+", or none")
	f.StringArrayVar(&ranges, "range", nil, "your own range of an input: KEY=LOW..HIGH")
	f.IntVar(&rows, "rows", rows, "rows of the table of inputs; --json lists all")
	f.StringVar(&histogram, "chart", "", "picture of the profit, .svg or .png")
	f.StringVar(&tornado, "tornado", "", "picture of what moves it, .svg or .png")
	f.BoolVar(&force, "force", false, "write over an existing file")
	return r.writes(c)
}

// parseRanges reads KEY=LOW..HIGH.
func parseRanges(texts []string) (map[string][2]num.Dec, error) {
	out := map[string][2]num.Dec{}
	for _, text := range texts {
		key, ends, found := cutLast(text)
		low, high, dots := strings.Cut(ends, "..")
		if !found || !dots {
			return nil, fault.New(fault.Usage, "range-form", "a range is KEY=LOW..HIGH, but is \""+text+"\"",
				"write it like metal/gold=70..110").AtField("range")
		}
		a, err := flagDec("range", low)
		if err != nil {
			return nil, err
		}
		b, err := flagDec("range", high)
		if err != nil {
			return nil, err
		}
		out[key] = [2]num.Dec{a, b}
	}
	return out, nil
}

func (r *root) showRisk(line *lines.LineRisked, rows int) error {
	o := line.Outcome
	rep := riskReport{Line: line.Line, Earned: line.Earned.String(), Outcome: o, Counted: append([]string{},
		line.Counted...), Not: append([]string{}, line.Not...), Moves: []moveReport{},
		Caution: costing.AppraisalCaution}
	t := (&ui.Table{Header: []string{"input", "low", "as planned", "high", "profit at low", "profit at high",
		"range"}}).Numbers(1, 2, 3, 4, 5)
	for i, m := range line.Moves {
		rep.Moves = append(rep.Moves, moveReport{m.Path, m.Name, m.Unit, m.Low.String(), m.Base.String(),
			m.High.String(), m.Assumed, m.AtLow.String(), m.AtHigh.String(), m.Span.String(), m.Slope.String()})
		if i < rows {
			own := "its own"
			if m.Assumed {
				own = "10 % either way"
			}
			t.Add(m.Name+", "+m.Unit, m.Low.String(), m.Base.String(), m.High.String(), m.AtLow.String(),
				m.AtHigh.String(), own)
		}
	}
	if r.Streams.JSON {
		return r.Streams.Document("line-risk", rep)
	}
	r.Streams.Printf("planned to earn %s\n", line.Earned.Words())
	figures := (&ui.Table{Header: []string{"profit", "value", "standard error"}}).Numbers(1, 2)
	for _, f := range []struct {
		name string
		of   costing.Figure
	}{{"P10: one time in ten lower", o.P10}, {"P50: as often above as below", o.P50}, {"P90: one time in ten higher",
		o.P90}, {"mean", o.Mean}, {"standard deviation", o.SD}} {
		figures.Add(f.name, fmt.Sprintf("%.2f", f.of.Value), fmt.Sprintf("%.2f", f.of.SE))
	}
	figures.Add("chance of a loss, %", fmt.Sprintf("%.2f", 100*o.Loss.Value), fmt.Sprintf("%.2f", 100*o.Loss.SE))
	r.Streams.Table(figures)
	r.Streams.Printf("%d runs, seed %d\n", o.Runs, o.Seed)
	for _, c := range line.Counted {
		r.Streams.Printf("counted: %s\n", ui.Wrap(c, 88, "    "))
	}
	for _, n := range line.Not {
		r.Streams.Printf("not counted: %s\n", ui.Wrap(n, 84, "    "))
	}
	r.Streams.Table(t)
	if len(line.Moves) > rows {
		r.Streams.Notef("and %d inputs that move it less; see all with --json\n", len(line.Moves)-rows)
	}
	r.Streams.Notef("%s\n", costing.AppraisalCaution)
	return nil
}

func histogramOf(line *lines.LineRisked) chart.Figure {
	o := line.Outcome
	h := chart.Histogram{Title: fmt.Sprintf("Profit of the line %s in %d runs", line.Line, o.Runs), Unit: "profit, " +
		string(line.Card.Currency), P10: o.P10.Value, P50: o.P50.Value, P90: o.P90.Value}
	for _, b := range o.Bins {
		h.Bars = append(h.Bars, chart.HistogramBar{Low: b.Low, High: b.High, Count: b.Count})
	}
	return h
}

// tornadoBars is how many inputs a picture holds.
const tornadoBars = 15

func tornadoOf(line *lines.LineRisked) chart.Figure {
	t := chart.Tornado{Title: "What moves the profit of the line " + line.Line, Unit: "profit, " +
		string(line.Card.Currency), Base: line.Earned.Float()}
	for _, m := range line.Moves[:min(len(line.Moves), tornadoBars)] {
		t.Bars = append(t.Bars, chart.TornadoBar{Input: m.Name + ", " + m.Unit, Low: m.Low.String(),
			High: m.High.String(), AtLow: m.AtLow.Float(), AtHigh: m.AtHigh.Float()})
	}
	return t
}
