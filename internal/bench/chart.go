package bench

import (
	"cmp"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/identify"
)

// chartOf is n against SG for the tested stones of a lot; nil when none was
// measured.
func chartOf(id *LotIdentity) *answer.IdentityChart {
	c := &answer.IdentityChart{Title: id.Lot.Code + ", claimed " + id.Claim}
	for _, s := range id.Stones {
		addStone(c, cmp.Or(s.Stone, id.Lot.Code), s.Verdict, max(4, 14/len(id.Stones)))
	}
	for i := range c.Boxes {
		c.Boxes[i].Claimed = strings.EqualFold(c.Boxes[i].Name, id.Lot.Species)
	}
	if len(c.Stones) == 0 {
		return nil
	}
	return c
}

// addStone adds a stone to a chart, with at most boxes ranges of materials that
// the chart does not hold yet. A stone without an index and a specific gravity
// has no place in it.
func addStone(c *answer.IdentityChart, name string, v identify.Verdict, boxes int) {
	m := v.ChartModel(boxes)
	if !m.Cross.NKnown && !m.Cross.SGKnown {
		return
	}
	seen := map[string]bool{}
	for _, b := range c.Boxes {
		seen[b.Name] = true
	}
	for _, b := range m.Boxes {
		if !seen[b.Name] {
			seen[b.Name] = true
			c.Boxes = append(c.Boxes, answer.ChartBox{Name: b.Name, Left: !b.Excluded, SGLow: b.SG.Min,
				SGHigh: b.SG.Max, NLow: b.N.Min, NHigh: b.N.Max})
		}
	}
	st := answer.ChartStone{Name: name}
	k := m.Cross.Uncertainty
	if m.Cross.NKnown {
		st.NLow, st.NHigh = m.Cross.NAt, m.Cross.NAt
		st.NU = (m.Cross.N.Max - m.Cross.N.Min) / 2 / k
	}
	if m.Cross.SGKnown {
		st.SG, st.SGU = m.Cross.SGAt, (m.Cross.SG.Max-m.Cross.SG.Min)/2/k
	}
	c.Stones = append(c.Stones, st)
}
