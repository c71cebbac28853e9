package identify

import "lotpaper/internal/facts"

// ChartModel is refractive index against SG: the candidates' boxes, the
// nearest excluded materials', and this stone's reading with its error.
type ChartModel struct {
	Boxes  []Box
	Cross  Cross
	N, SG  facts.Range // of the whole picture
	Reason string      // why there is no cross in one direction, if so
}

// Box is one material.
type Box struct {
	Name     string
	N, SG    facts.Range
	Share    float64 // 0 when excluded
	Excluded bool
}

// Cross is this stone. A direction that was not measured is unknown: its
// Range is the picture's.
type Cross struct {
	N, SG       facts.Range // reading -+ k standard uncertainties
	NAt, SGAt   float64
	NKnown      bool
	SGKnown     bool
	NOverLimit  bool // NAt is the liquid's index, the stone lies above it
	Uncertainty float64
}

// ChartModel returns the picture of the verdict with at most `boxes` boxes:
// the candidates, then the nearest excluded materials.
func (v *Verdict) ChartModel(boxes int) ChartModel {
	var m ChartModel
	add := func(i int32, share float64, excluded bool) {
		r := &v.table.rows[i]
		if len(m.Boxes) >= boxes || !r.whole.Known || !r.sg.Known {
			return
		}
		m.Boxes = append(m.Boxes, Box{Name: v.table.Materials[i].Name, N: r.whole, SG: r.sg, Share: share,
			Excluded: excluded})
	}
	for _, c := range v.Candidates {
		add(c.index, c.Share, false)
	}
	for _, e := range v.Excluded() {
		add(e.index, 0, true)
	}
	b := &v.bench
	m.Cross = Cross{Uncertainty: b.k}
	n := func(low, high, u float64) {
		m.Cross.N, m.Cross.NAt, m.Cross.NKnown = facts.Span(low-b.k*u, high+b.k*u), (low+high)/2, true
	}
	switch {
	case b.pair:
		n(b.low.n, b.high.n, b.uEdge)
	case b.low.read && !b.low.over:
		n(b.low.n, b.low.n, b.uEdge)
	case b.low.read:
		m.Cross.NAt, m.Cross.NOverLimit = b.low.n, true
	case b.spot.read && !b.spot.over:
		n(b.spot.n, b.spot.n, b.uSpot)
	case b.spot.read:
		m.Cross.NAt, m.Cross.NOverLimit = b.spot.n, true
	default:
		m.Reason = "no refractive index was read"
	}
	if b.done(TestSG) {
		m.Cross.SG, m.Cross.SGAt, m.Cross.SGKnown = facts.Span(b.sg-b.k*b.uSG, b.sg+b.k*b.uSG), b.sg, true
	} else {
		m.Reason = join(m.Reason, "no SG was measured")
	}
	for _, x := range m.Boxes {
		m.N, m.SG = span(m.N, x.N), span(m.SG, x.SG)
	}
	m.N, m.SG = span(m.N, m.Cross.N), span(m.SG, m.Cross.SG)
	return m
}

func join(a, b string) string {
	if a == "" {
		return b
	}
	return a + "; " + b
}
