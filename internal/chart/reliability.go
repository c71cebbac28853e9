package chart

import (
	"fmt"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Reliability is how often a thing was true when it was said to be likely: on
// the diagonal, shares mean what they say.
type Reliability struct {
	Title  string
	Points []ReliabilityPoint
}

// ReliabilityPoint is one class of shares.
type ReliabilityPoint struct {
	Said      float64 // mean share in the class
	Seen      float64 // how often it was true
	Low, High float64 // interval of Seen
	N         int
}

// Size is 110 x 110 mm.
func (Reliability) Size() (float64, float64) { return 110, 110 }

func (f Reliability) draw(c draw.Canvas) error {
	p := newPlot(f.Title, "share said", "share found true")
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = 0, 1, 0, 1
	p.Add(draft(func(c draw.Canvas, x, y func(float64) vg.Length) {
		c.StrokeLine2(dashed, x(0), y(0), x(1), y(1))
		var labels []label
		var bars []rect
		for _, pt := range f.Points {
			px := x(pt.Said)
			c.StrokeLine2(firm, px, y(pt.Low), px, y(pt.High))
			for _, end := range []float64{pt.Low, pt.High} {
				c.StrokeLine2(firm, px-vg.Points(2), y(end), px+vg.Points(2), y(end))
			}
			c.DrawGlyphNoClip(draw.GlyphStyle{Color: ink, Radius: vg.Points(2.5), Shape: draw.CircleGlyph{}},
				vg.Point{X: px, Y: y(pt.Seen)})
			at := rect{float64(px) - 3, float64(y(pt.Seen)) - 3, float64(px) + 3, float64(y(pt.Seen)) + 3}
			bars = append(bars, at, rect{float64(px) - 2, float64(y(pt.Low)), float64(px) + 2, float64(y(pt.High))})
			labels = append(labels, label{text: fmt.Sprintf("n %s", group(float64(pt.N))), of: at})
		}
		drawLabels(c, textStyle(7, false), labels, bars)
	}))
	p.Draw(inner(c))
	return nil
}
