package cutting

import (
	"cmp"
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/facts"
	"lotpaper/internal/num"
)

// BreakageTerms stand on every order until the parties agree on others.
const BreakageTerms = "the cutter bears breakage of stones that the cutter supplies; the dealer bears breakage of " +
	"stones that the dealer sends, unless agreed otherwise in writing"

// asCut is how a stone of an order is finished, unless agreed otherwise.
const asCut = "scratch-free at 10x, girdle even, no polish marks"

// OrderTrials is the weight, in stones, given to an order's expected yield
// against the cutter's record (a judgement).
const OrderTrials = 20

// FillOrder fills in what a line of an order leaves open: the usual tolerance,
// depth, match and finish, and for a material the weight that the ordered size
// should have, the risk and the orientation. m is nil when the line names none.
func FillOrder(l *book.OrderLine, m *facts.Material) {
	l.Tolerance = cmp.Or(l.Tolerance, 10)
	if l.DepthLow.IsZero() && l.DepthHigh.IsZero() {
		l.DepthLow, l.DepthHigh = num.Percent{Dec: num.Int(65)}, num.Percent{Dec: num.Int(70)}
	}
	l.Match, l.Finish = cmp.Or(l.Match, "none"), cmp.Or(l.Finish, asCut)
	if m != nil {
		weighOrder(l, m)
		warnCutter(l, m)
	}
}

// warnCutter fills in the risk and the orientation that a material asks for.
func warnCutter(l *book.OrderLine, m *facts.Material) {
	if m.Cleavage == "perfect" || m.Cleavage == "good" {
		l.Risk = fmt.Sprintf("%s has %s cleavage in %d direction(s): a specialist cutter, table 5 to 10 degrees off "+
			"the cleavage", m.Name, m.Cleavage, m.Directions)
		l.Orientation = "table 5 to 10 degrees off the cleavage"
	}
	if m.Pleochroism == "strong" || m.Pleochroism == "moderate" {
		l.Orientation = strings.TrimPrefix(l.Orientation+"; best colour of the "+m.Pleochroism+
			" pleochroism to the table", "; ")
	}
}

// weighOrder fills in the weight that the ordered size should have.
func weighOrder(l *book.OrderLine, m *facts.Material) {
	shape, f := ParseShape(l.Shape)
	if f != nil || !m.SG.Known {
		return
	}
	depth := num.MillimetreFromFloat(l.Width.Float()*0.675, num.HalfUp)
	e, faults := Weigh(Measured{Shape: shape, Length: l.Length, Width: l.Width, Depth: depth,
		SG: num.FromFloat((m.SG.Min+m.SG.Max)/2, 3, num.HalfUp)})
	if faults.Blocks() {
		return
	}
	l.Weight, l.WeightLow, l.WeightHigh = e.Carats, e.Low, e.High
}

// ExpectedYield is what an order expects of the material that was supplied: the
// weight of the stones that it names over the weight sent.
func ExpectedYield(o book.Order) Prior {
	finished, sent := orderWeights(o, func(l book.OrderLine) num.Carat { return l.Weight })
	if sent == 0 {
		return Prior{}
	}
	return Prior{Rate: finished.Float() / sent.Float(), Stones: OrderTrials}
}

// LeastYield is the yield that an order's own least weights ask of the material
// supplied; zero when it cannot be told.
func LeastYield(o book.Order) num.Percent {
	least, sent := orderWeights(o, func(l book.OrderLine) num.Carat { return l.WeightLow })
	if sent == 0 {
		return num.Percent{}
	}
	return num.Percent{Dec: least.Dec().Mul(num.Int(100)).Over(sent.Dec(), 0, num.Down)}
}

// orderWeights returns the weight of an order's stones, by what each returns of
// one, and the weight that was supplied for them; both are 0 when that is no
// yield.
func orderWeights(o book.Order, each func(book.OrderLine) num.Carat) (finished, sent num.Carat) {
	for _, l := range o.Lines {
		finished += each(l) * num.Carat(l.Count)
	}
	for _, s := range o.Supplied {
		sent += s.Carats
	}
	if finished <= 0 || sent <= finished {
		return 0, 0
	}
	return finished, sent
}
