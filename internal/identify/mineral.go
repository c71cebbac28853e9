package identify

import (
	"math"

	"lotpaper/internal/facts"
)

// beyondGem says of a reading outside the gem range of a material that it lies
// inside the range of the mineral as a whole, and who prints that one; empty
// for any other reading.
func (b *bench) beyondGem(t Test, excess float64, m *facts.Material) string {
	if excess == 0 || math.IsInf(excess, 1) {
		return ""
	}
	mineral, digits, value := m.MineralRI, 3, 0.0
	switch {
	case (t == TestEdge || t == TestLow) && !b.low.over:
		value = b.low.n
	case t == TestHigh && !b.high.over:
		value = b.high.n
	case t == TestSpot && !b.spot.over:
		value = b.spot.n
	case t == TestSG:
		mineral, digits, value = m.MineralSG, 2, b.sg
	default:
		return ""
	}
	if !mineral.Known || mineral.Distance(value) > 0 {
		return ""
	}
	return ", outside the gem range, inside the mineral's range of " + rangeText(mineral.Range, digits) + " by " +
		mineral.Source
}
