package answer

import (
	"fmt"

	"lotpaper/internal/chart"
	"lotpaper/internal/costing"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// LineRisk is what may come out differently from what a line is planned to
// earn. Amounts of the plan are exact; figures of the simulation are
// statistics.
type LineRisk struct {
	Head
	Line       string          `json:"line"`
	Earned     Amount          `json:"earned"` // as planned
	Outcome    costing.Outcome `json:"outcome"`
	Counted    []string        `json:"counted"`
	NotCounted []string        `json:"not_counted"` // what might matter and is not counted, with the reason
	Moves      []RiskMove      `json:"sensitivity"` // ranked, the largest first, those without effect left out
	Caution    string          `json:"caution"`
	Rows       int             `json:"-"` // of the table of inputs on screen
	// Warnings are told beside the answer.
	Warnings fault.List `json:"-"`
}

// RiskMove is what one input does to the line's profit over its own range.
type RiskMove struct {
	Key     string  `json:"key"`
	Input   string  `json:"input"`
	Unit    string  `json:"unit"`
	Low     num.Dec `json:"low"`
	Base    num.Dec `json:"base"`
	High    num.Dec `json:"high"`
	Assumed bool    `json:"assumed"` // the range is ours: 10 % either way
	AtLow   Amount  `json:"profit_at_low"`
	AtHigh  Amount  `json:"profit_at_high"`
	Span    Amount  `json:"span"`  // between the two profits
	Slope   num.Dec `json:"slope"` // profit per unit of the input
}

// whose says whose the range of an input is.
func (m RiskMove) whose() string {
	if m.Assumed {
		return "10 % either way"
	}
	return "its own"
}

// Move is the input as papers and pictures name it.
func (m RiskMove) Move() Move {
	return Move{Input: m.Input + ", " + m.Unit, Low: m.Low.String(), High: m.High.String(), AtLow: m.AtLow.Money,
		AtHigh: m.AtHigh.Money}
}

// figureRow is a figure of the simulation with its standard error.
type figureRow struct {
	name   string
	figure costing.Figure
	times  float64
}

var figureColumns = []column[figureRow]{
	screen("profit", func(r *figureRow) sheet.Cell { return sheet.Text(r.name) }),
	screen("value", func(r *figureRow) sheet.Cell { return right(fmt.Sprintf("%.2f", r.times*r.figure.Value)) }),
	screen("standard error", func(r *figureRow) sheet.Cell { return right(fmt.Sprintf("%.2f", r.times*r.figure.SE)) }),
}

var moveColumns = []column[RiskMove]{
	screen("input", func(m *RiskMove) sheet.Cell { return sheet.Text(m.Input + ", " + m.Unit) }),
	screen("low", func(m *RiskMove) sheet.Cell { return right(m.Low.String()) }),
	screen("as planned", func(m *RiskMove) sheet.Cell { return right(m.Base.String()) }),
	screen("high", func(m *RiskMove) sheet.Cell { return right(m.High.String()) }),
	screen("profit at low", func(m *RiskMove) sheet.Cell { return right(m.AtLow.String()) }),
	screen("profit at high", func(m *RiskMove) sheet.Cell { return right(m.AtHigh.String()) }),
	screen("range", func(m *RiskMove) sheet.Cell { return sheet.Text(m.whose()) }),
}

// Screen is the plan, the figures of the simulation, what is counted in them,
// and the inputs that move the profit most.
func (r *LineRisk) Screen() Screen {
	var s Screen
	o := r.Outcome
	s.line("planned to earn %s", r.Earned.Words())
	s.table(tableOf(figureColumns, []figureRow{{"P10: one time in ten lower", o.P10, 1},
		{"P50: as often above as below", o.P50, 1}, {"P90: one time in ten higher", o.P90, 1}, {"mean", o.Mean, 1},
		{"standard deviation", o.SD, 1}, {"chance of a loss, %", o.Loss, 100}}))
	s.line("%d runs, seed %d", o.Runs, o.Seed)
	for _, c := range r.Counted {
		s.line("counted: %s", Wrap(c, 88, "    "))
	}
	for _, n := range r.NotCounted {
		s.line("not counted: %s", Wrap(n, 84, "    "))
	}
	s.table(tableOf(moveColumns, shown(r.Moves, max(0, r.Rows))))
	if more := len(r.Moves) - r.Rows; more > 0 {
		s.cut(true, "and %d inputs that move it less", more)
	}
	s.remark("%s", r.Caution)
	return s
}

// RiskOf is a simulation's outcome in exact money of a currency, as papers
// carry it; counted and not are what it counts in words.
func RiskOf(o costing.Outcome, c num.Currency, counted, not string) *Risk {
	money := func(f float64) num.Money { return num.MoneyFromDec(num.FromFloat(f, 6, num.HalfUp), c, num.HalfUp) }
	share := func(f float64) num.Percent { return num.Percent{Dec: num.FromFloat(100*f, 2, num.HalfUp)} }
	out := &Risk{
		Runs: o.Runs, Seed: int64(o.Seed), P10: money(o.P10.Value), P50: money(o.P50.Value), P90: money(o.P90.Value),
		Mean: money(o.Mean.Value), P10Error: money(o.P10.SE), P50Error: money(o.P50.SE), P90Error: money(o.P90.SE),
		StandardError: money(o.Mean.SE), LossChance: share(o.Loss.Value), LossError: share(o.Loss.SE),
		Counted: counted, NotCounted: not,
	}
	for _, b := range o.Bins {
		out.Bins = append(out.Bins, Bin{Low: money(b.Low), High: money(b.High), Count: b.Count})
	}
	return out
}

// Histogram pictures the profit of all runs.
func (r *LineRisk) Histogram() chart.Histogram {
	return profitHistogram(r.Line, r.Currency, RiskOf(r.Outcome, r.Currency, "", ""))
}

// Tornado pictures the inputs that move the profit most.
func (r *LineRisk) Tornado() chart.Tornado {
	moves := make([]Move, len(r.Moves))
	for i, m := range r.Moves {
		moves[i] = m.Move()
	}
	return profitTornado(r.Line, r.Currency, r.Earned.Money, moves)
}

// profitHistogram is the histogram of a line's simulated profit.
func profitHistogram(line string, c num.Currency, r *Risk) chart.Histogram {
	h := chart.Histogram{Title: fmt.Sprintf("Profit of the line %s in %d runs", line, r.Runs),
		Unit: "profit, " + string(c), P10: r.P10.Float(), P50: r.P50.Float(), P90: r.P90.Float()}
	for _, b := range r.Bins {
		h.Bars = append(h.Bars, chart.HistogramBar{Low: b.Low.Float(), High: b.High.Float(), Count: b.Count})
	}
	return h
}

// tornadoBars is how many inputs a picture holds; tables have them all.
const tornadoBars = 12

// profitTornado pictures what moves a line's profit from base.
func profitTornado(line string, c num.Currency, base num.Money, moves []Move) chart.Tornado {
	t := chart.Tornado{Title: "What moves the profit of the line " + line, Unit: "profit, " + string(c),
		Base: base.Float()}
	for _, m := range moves[:min(len(moves), tornadoBars)] {
		t.Bars = append(t.Bars, chart.TornadoBar{Input: m.Input, Low: m.Low, High: m.High, AtLow: m.AtLow.Float(),
			AtHigh: m.AtHigh.Float()})
	}
	return t
}
