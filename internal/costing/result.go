package costing

import (
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

// Result names a figure of what a design brings into its line, or of the line.
type Result string

// The figures of a result. The first three are given, the others follow.
const (
	PlannedUnits Result = "planned"
	FixedCost    Result = "fixed" // of the design, whatever is made of it
	NetPrice     Result = "net"   // of one unit, without tax

	UnitEarns    Result = "unit" // price less cost of one unit
	MarginShare  Result = "margin"
	SalesAll     Result = "sales"
	CostsAll     Result = "costs"
	Contribution Result = "contribution"
	Earned       Result = "result"
	BreakEvenAt  Result = "breakeven" // units, or the text Never
)

// Never stands where no quantity breaks even.
const Never = "never"

// Of is the key of the figure of the i-th design. It starts with "=", so that it
// meets no key of an input.
func (r Result) Of(i int) formula.Key { return formula.At("="+string(r), i) }

// OfLine is the key of the line's figure: of all designs together.
func (r Result) OfLine() formula.Key { return formula.Key("=line/" + string(r)) }

// DesignResults are the figures of the i-th design, whose unit costs what the
// key cost names, each as it follows from those before it.
func DesignResults(i int, cost formula.Key) []formula.Figure {
	of := func(r Result) formula.Expr { return formula.Of(r.Of(i), string(r)) }
	unitCost := formula.Of(cost, "cost")
	return []formula.Figure{
		{Key: UnitEarns.Of(i), Expr: of(NetPrice).Minus(unitCost)},
		{Key: MarginShare.Of(i), Expr: formula.PercentOf(of(UnitEarns), of(NetPrice))},
		{Key: SalesAll.Of(i), Expr: of(PlannedUnits).Times(of(NetPrice))},
		{Key: CostsAll.Of(i), Expr: of(PlannedUnits).Times(unitCost)},
		{Key: Contribution.Of(i), Expr: of(PlannedUnits).Times(of(UnitEarns))},
		{Key: Earned.Of(i), Expr: of(Contribution).Minus(of(FixedCost))},
		{Key: BreakEvenAt.Of(i), Expr: breakEven(of(FixedCost), of(UnitEarns))},
	}
}

// LineResults are the figures of a line of n designs: the sums of theirs, and
// the margin of all.
func LineResults(n int) []formula.Figure {
	var out []formula.Figure
	for _, r := range []Result{PlannedUnits, SalesAll, CostsAll, Contribution, FixedCost, Earned} {
		out = append(out, formula.SumOf(r.OfLine(), n, r.Of))
	}
	return append(out, formula.Figure{Key: MarginShare.OfLine(), Expr: formula.PercentOf(
		formula.Of(Contribution.OfLine(), ""), formula.Of(SalesAll.OfLine(), ""))})
}

// breakEven is how many whole units earn the fixed cost. Nine places keep every
// fraction of two amounts and drop the last bits of a binary quotient.
func breakEven(fixed, unit formula.Expr) formula.Expr {
	return formula.If(unit.More(formula.Int(0)), fixed.Over(unit).Round(9).RoundUp(0), formula.Text(Never))
}

// results are computed figures.
type results map[formula.Key]formula.Value

// money is a figure as an amount, rounded half up to the minor unit; a figure
// that is not there is 0.
func (r results) money(k formula.Key, c num.Currency) num.Money {
	return num.MoneyFromDec(r.dec(k, c.Digits()), c, num.HalfUp)
}

// dec is a figure rounded half up to places.
func (r results) dec(k formula.Key, places int) num.Dec {
	d, err := r[k].Dec(places, num.HalfUp)
	if err != nil {
		return num.Dec{}
	}
	return d
}

// units is a number of units, -1 where no quantity breaks even.
func (r results) units(k formula.Key) int64 {
	if _, never := r[k].Text(); never {
		return -1
	}
	return int64(r.dec(k, 0).Float())
}
