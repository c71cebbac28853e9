package stockroom

import (
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/cutting"
	"lotpaper/internal/facts"
	"lotpaper/internal/num"
)

// AsCut is how a stone of an order is finished, unless agreed otherwise.
const AsCut = "scratch-free at 10x, girdle even, no polish marks"

// BreakageTerms stand on every order until the parties agree on others.
const BreakageTerms = "the cutter bears breakage of stones that the cutter supplies; the dealer bears breakage of " +
	"stones that the dealer sends, unless agreed otherwise in writing"

// WarnCutter fills in the risk and the orientation that a material asks for.
func WarnCutter(l *book.OrderLine, m *facts.Material) {
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

func PercentOf(n int64) num.Percent { return num.Percent{Dec: num.Int(n)} }

// WeighOrder fills in the weight that the ordered size should have.
func WeighOrder(l *book.OrderLine, m *facts.Material) {
	shape, f := cutting.ParseShape(l.Shape)
	if f != nil || !m.SG.Known {
		return
	}
	depth := num.MillimetreFromFloat(l.Width.Float()*0.675, num.HalfUp)
	e, faults := cutting.Weigh(cutting.Measured{Shape: shape, Length: l.Length, Width: l.Width, Depth: depth,
		SG: num.FromFloat((m.SG.Min+m.SG.Max)/2, 3, num.HalfUp)})
	if faults.Blocks() {
		return
	}
	l.Weight, l.WeightLow, l.WeightHigh = e.Carats, e.Low, e.High
}
