package cutting

import (
	"cmp"
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/facts"
	"lotpaper/internal/num"
)

// Terms say who bears breakage, until the parties agree on others: stones that
// the cutter supplies are the cutter's, stones that the dealer sends the dealer's
// unless the cost of those that break is claimed.
func Terms(claims bool) string {
	const own = "the cutter bears breakage of stones that the cutter supplies; "
	if claims {
		return own + "the cutter also bears breakage of stones that the dealer sends, at what they cost the dealer"
	}
	return own + "the dealer bears breakage of stones that the dealer sends, unless agreed otherwise in writing"
}

// asCut is how a stone of an order is finished, unless agreed otherwise.
const asCut = "scratch-free at 10x, girdle even, no polish marks"

// OrderTrials is the weight, in stones, given to an order's expected yield
// against the cutter's record (a judgement).
const OrderTrials = 20

// The depth of faceted stones and of cabochons, in percent of the width: the first
// is customary; "the best results are had if the thickness is about one half the
// spread" (Wade, A Text-Book of Precious Stones, 1918, lesson XXIV, of transparent
// cabochons), with a tenth more or less (common practice).
var (
	facetedDepth  = [2]int64{65, 70}
	cabochonDepth = [2]int64{45, 55}
)

// depthOf is the usual depth of a shape, in percent of the width.
func depthOf(shape string) [2]int64 {
	if s, f := ParseShape(shape); f == nil && s.IsCabochon() {
		return cabochonDepth
	}
	return facetedDepth
}

// Style words how a stone of a shape is cut: a faceted one by the angle of its
// pavilion, which stays over the critical angle of its material, a cabochon by its
// dome and its base. Without a material, or its index, the angle is left to the
// cutter.
func Style(l book.OrderLine, m *facts.Material) string {
	if s, f := ParseShape(l.Shape); f == nil && s.IsCabochon() {
		height := "as usual for the shape"
		if !l.DepthHigh.IsZero() {
			height = l.DepthLow.String() + " to " + l.DepthHigh.String() + " % of the width high"
		}
		return "dome " + height + ", an even curve without flat spots, its top over the middle; base flat, its edge " +
			"slightly bevelled"
	}
	const open = "as usual for the shape; pavilion at least 2 degrees over the critical angle of the material"
	if m == nil || !m.RI.Known {
		return open
	}
	a, f := AnglesOf(num.FromFloat(m.RI.Min, 3, num.HalfUp))
	if f != nil {
		return open
	}
	return "as usual for the shape; pavilion mains at least " + a.Pavilion.Fixed(1) + " degrees (critical angle " +
		a.Critical.Fixed(1) + " and 2 more)"
}

// FillOrder fills in what a line of an order leaves open: the usual tolerance,
// depth, match and finish, and for a material the weight that the ordered size
// should have, the risk and the orientation. m is nil when the line names none.
func FillOrder(l *book.OrderLine, m *facts.Material) {
	l.Tolerance = cmp.Or(l.Tolerance, 10)
	if l.DepthLow.IsZero() && l.DepthHigh.IsZero() {
		depth := depthOf(l.Shape)
		l.DepthLow, l.DepthHigh = num.Percent{Dec: num.Int(depth[0])}, num.Percent{Dec: num.Int(depth[1])}
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
	percent := depthOf(l.Shape)
	depth := num.MillimetreFromFloat(l.Width.Float()*float64(percent[0]+percent[1])/200, num.HalfUp)
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
	var finished, sent num.Carat
	seen := map[bool]bool{}
	for i := range o.Lines {
		item, tied := itemOfYield(o, i)
		if !tied && seen[tied] {
			continue
		}
		seen[tied] = true
		f, s := orderWeights(o, item, func(l book.OrderLine) num.Carat { return l.Weight })
		finished, sent = finished+f, sent+s
	}
	if sent == 0 {
		return Prior{}
	}
	return Prior{Rate: finished.Float() / sent.Float(), Stones: OrderTrials}
}

// LeastYield is the yield that the least weights of an item ask of the material
// supplied for it; zero when it cannot be told.
func LeastYield(o book.Order, line int) num.Percent {
	item, _ := itemOfYield(o, line)
	least, sent := orderWeights(o, item, func(l book.OrderLine) num.Carat { return l.WeightLow })
	if sent == 0 {
		return num.Percent{}
	}
	return num.Percent{Dec: least.Dec().Mul(num.Int(100)).Over(sent.Dec(), 0, num.Down)}
}

// itemOfYield is the item of a line when lots were supplied for it alone; else the
// line shares what was supplied for any, and the item is empty.
func itemOfYield(o book.Order, line int) (item string, tied bool) {
	item = book.ItemName(line)
	for _, s := range o.Supplied {
		if s.Item == item {
			return item, true
		}
	}
	return "", false
}

// orderWeights returns the weight of the stones of an item, by what each returns of
// one, and the weight that was supplied for them; both are 0 when that is no
// yield.
func orderWeights(o book.Order, item string, each func(book.OrderLine) num.Carat) (finished, sent num.Carat) {
	for i, l := range o.Lines {
		if of, _ := itemOfYield(o, i); of == item {
			finished += each(l) * num.Carat(l.Count)
		}
	}
	for _, s := range o.Supplied {
		if s.Item == item {
			sent += s.Carats
		}
	}
	if finished <= 0 || sent <= finished {
		return 0, 0
	}
	return finished, sent
}

// WeightBand is between what the lightest and the heaviest stone of a shape and
// of measures from..to should weigh, whatever of the material's density: the
// estimate's own band around both. ok is false when it cannot be told.
func WeightBand(m *facts.Material, shape string, from, to Measured) (low, high num.Carat, ok bool) {
	s, f := ParseShape(shape)
	if f != nil || m == nil || !m.SG.Known {
		return 0, 0, false
	}
	from.Shape, from.SG = s, num.FromFloat(m.SG.Min, 3, num.HalfUp)
	to.Shape, to.SG = s, num.FromFloat(m.SG.Max, 3, num.HalfUp)
	least, bad := Weigh(from)
	most, bad2 := Weigh(to)
	if bad.Blocks() || bad2.Blocks() {
		return 0, 0, false
	}
	return least.Low, most.High, true
}
