package chart

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Identity is refractive index against specific gravity: the boxes of
// materials and the crosses of stones.
type Identity struct {
	Title  string
	Boxes  []IdentityBox
	Stones []IdentityStone
}

// IdentityBox is one material's ranges.
type IdentityBox struct {
	Name          string
	SGLow, SGHigh float64
	NLow, NHigh   float64
	Left          bool // still a candidate: filled; else dashed
	Claimed       bool // what the lot is sold as: heavy edge
}

// IdentityStone is one stone's readings with standard errors (k = 1). An SG or
// an n of 0 was not measured: the stone is then a band across the picture.
type IdentityStone struct {
	Name        string
	SG, SGU     float64
	NLow, NHigh float64 // lowest and highest edge read
	NU          float64
}

// Size is 160 x 120 mm.
func (Identity) Size() (float64, float64) { return 160, 120 }

func (f Identity) draw(c draw.Canvas) error {
	p := newPlot(f.Title, "specific gravity", "refractive index")
	var sg, n []float64
	for _, b := range f.Boxes {
		sg, n = append(sg, b.SGLow, b.SGHigh), append(n, b.NLow, b.NHigh)
	}
	for _, s := range f.Stones {
		if s.SG > 0 {
			sg = append(sg, s.SG-3*s.SGU, s.SG+3*s.SGU)
		}
		if s.NLow > 0 {
			n = append(n, s.NLow-3*s.NU, s.NHigh+3*s.NU)
		}
	}
	p.X.Min, p.X.Max = span(0.08, sg...)
	p.Y.Min, p.Y.Max = span(0.08, n...)
	p.X.Tick.Marker, p.Y.Tick.Marker = wholeTicks{}, wholeTicks{}
	var left []string
	p.Add(draft(func(c draw.Canvas, x, y func(float64) vg.Length) { left = f.drawData(c, x, y) }))
	c = inner(c)
	note := textStyle(7.5, false)
	foot := note.Height("X") * 2.6
	p.Draw(draw.Crop(c, 0, 0, foot, 0))
	legend := "filled: still possible    dashed: excluded    heavy edge: as claimed    cross or band: this stone, thick 1 u, thin 3 u"
	c.FillText(note, vg.Point{X: c.Min.X, Y: c.Min.Y + note.Height("X")*1.2}, legend)
	if len(left) > 0 {
		c.FillText(note, c.Min, "no room to name: "+strings.Join(left, ", "))
	}
	return nil
}

func (f Identity) drawData(c draw.Canvas, x, y func(float64) vg.Length) []string {
	labels := make([]label, 0, len(f.Boxes)+len(f.Stones))
	for _, b := range f.Boxes { // every filling before any edge, so that no edge is hidden
		if b.Left {
			x0, x1, y0, y1 := widen(x(b.SGLow), x(b.SGHigh), y(b.NLow), y(b.NHigh))
			c.FillPolygon(pale, rectangle(x0, y0, x1, y1))
		}
	}
	for _, b := range f.Boxes {
		x0, x1, y0, y1 := widen(x(b.SGLow), x(b.SGHigh), y(b.NLow), y(b.NHigh))
		style := dashed
		if b.Left {
			style = firm
		}
		if b.Claimed {
			style.Width, style.Color = heavy.Width, ink
		}
		c.StrokeLines(style, closed(rectangle(x0, y0, x1, y1)))
		labels = append(labels, label{text: b.Name, of: rect{float64(x0), float64(y0), float64(x1), float64(y1)}})
	}
	var crosses []rect
	for _, s := range f.Stones {
		at, arms := s.cross(c, x, y)
		crosses = append(crosses, arms...)
		labels = append(labels, label{text: s.Name, of: at})
	}
	return drawLabels(c, textStyle(8, false), labels, crosses)
}

// cross draws the stone's readings and returns its middle and the arms that
// labels keep off.
func (s IdentityStone) cross(c draw.Canvas, x, y func(float64) vg.Length) (middle rect, arms []rect) {
	hasSG, hasN := s.SG > 0, s.NLow > 0
	x0, x1 := c.Min.X, c.Max.X
	y0, y1 := c.Min.Y, c.Max.Y
	cx, cy := c.Center().X, c.Center().Y
	if hasSG {
		cx = x(s.SG)
	}
	if hasN {
		cy = y((s.NLow + s.NHigh) / 2)
	}
	line := func(style draw.LineStyle, x0, y0, x1, y1 vg.Length) {
		c.StrokeLine2(style, x0, y0, x1, y1)
		arms = append(arms, rect{float64(x0) - 2, float64(y0) - 2, float64(x1) + 2, float64(y1) + 2})
	}
	arm := func(style draw.LineStyle, k float64) {
		if hasSG {
			x0, x1 = x(s.SG-k*s.SGU), x(s.SG+k*s.SGU)
		}
		if hasN {
			y0, y1 = y(s.NLow-k*s.NU), y(s.NHigh+k*s.NU)
		}
		switch {
		case hasSG && hasN:
			line(style, x0, cy, x1, cy)
			line(style, cx, y0, cx, y1)
		case hasN: // a band across the picture
			line(style, x0, y0, x1, y0)
			line(style, x0, y1, x1, y1)
		case hasSG:
			line(style, x0, y0, x0, y1)
			line(style, x1, y0, x1, y1)
		}
	}
	arm(draw.LineStyle{Color: ink, Width: vg.Points(0.7)}, 3)
	arm(draw.LineStyle{Color: ink, Width: vg.Points(2.2)}, 1)
	if hasSG && hasN && s.NHigh > s.NLow { // the two shadow edges
		for _, n := range []float64{s.NLow, s.NHigh} {
			c.StrokeLine2(firm, cx-vg.Points(3), y(n), cx+vg.Points(3), y(n))
		}
	}
	if !hasSG { // name a band at its left or its foot
		cx = c.Min.X + vg.Points(30)
	}
	if !hasN {
		cy = c.Min.Y + vg.Points(20)
	}
	return rect{float64(cx) - 4, float64(cy) - 4, float64(cx) + 4, float64(cy) + 4}, arms
}

// widen keeps a box visible when its range is narrower than a line.
func widen(x0, x1, y0, y1 vg.Length) (vg.Length, vg.Length, vg.Length, vg.Length) {
	const least = 2.0
	open := func(a, b vg.Length) (vg.Length, vg.Length) {
		if float64(b-a) < least {
			m := (a + b) / 2
			return m - least/2, m + least/2
		}
		return a, b
	}
	x0, x1 = open(x0, x1)
	y0, y1 = open(y0, y1)
	return x0, x1, y0, y1
}

// Axis labels of a number with as many decimals as its steps need.
func decimals(v, step float64) string {
	places := int(math.Max(0, math.Ceil(-math.Log10(step)-1e-9)))
	return fmt.Sprintf("%.*f", places, v)
}
