package chart

import (
	"cmp"
	"fmt"
	"math"
	"slices"
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

// excludedShown is how many excluded boxes are drawn: those nearest to the
// stones. More would hide what is still possible.
const excludedShown = 12

// window is the range of both axes: all that is still possible or claimed, and
// the stones to three standard errors.
func (f Identity) window() (sgLow, sgHigh, nLow, nHigh float64) {
	var sg, n []float64
	add := func(all bool) {
		for _, b := range f.Boxes {
			if b.known() && (all || b.Left || b.Claimed) {
				sg, n = append(sg, b.SGLow, b.SGHigh), append(n, b.NLow, b.NHigh)
			}
		}
	}
	add(false)
	if len(sg) == 0 {
		add(true)
	}
	for _, s := range f.Stones {
		if s.SG > 0 {
			sg = append(sg, s.SG-3*s.SGU, s.SG+3*s.SGU)
		}
		if s.NLow > 0 {
			n = append(n, s.NLow-3*s.NU, s.NHigh+3*s.NU)
		}
	}
	sgLow, sgHigh = span(0.2, sg...)
	nLow, nHigh = span(0.2, n...)
	return sgLow, sgHigh, nLow, nHigh
}

// known reports whether the box has both ranges.
func (b IdentityBox) known() bool {
	return b.SGLow > 0 && b.NLow > 0 && b.SGHigh >= b.SGLow && b.NHigh >= b.NLow
}

// shown are the boxes to draw, cut to the window: what is possible or claimed,
// and the nearest of the excluded ones.
func (f Identity) shown(sgLow, sgHigh, nLow, nHigh float64) []IdentityBox {
	type ranked struct {
		at   int
		away float64
	}
	var excluded []ranked
	keep := make([]bool, len(f.Boxes))
	for i, b := range f.Boxes {
		if !b.known() || b.SGHigh < sgLow || b.SGLow > sgHigh || b.NHigh < nLow || b.NLow > nHigh {
			continue
		}
		if b.Left || b.Claimed {
			keep[i] = true
			continue
		}
		away := math.Inf(1)
		for _, s := range f.Stones {
			dx, dy := 0.0, 0.0
			if s.SG > 0 {
				dx = math.Max(0, math.Max(b.SGLow-s.SG, s.SG-b.SGHigh)) / (sgHigh - sgLow)
			}
			if s.NLow > 0 {
				dy = math.Max(0, math.Max(b.NLow-s.NHigh, s.NLow-b.NHigh)) / (nHigh - nLow)
			}
			away = math.Min(away, math.Hypot(dx, dy))
		}
		excluded = append(excluded, ranked{i, away})
	}
	slices.SortStableFunc(excluded, func(a, b ranked) int { return cmp.Compare(a.away, b.away) })
	for _, r := range excluded[:min(len(excluded), excludedShown)] {
		keep[r.at] = true
	}
	var out []IdentityBox
	for i, b := range f.Boxes {
		if keep[i] {
			b.SGLow, b.SGHigh = math.Max(b.SGLow, sgLow), math.Min(b.SGHigh, sgHigh)
			b.NLow, b.NHigh = math.Max(b.NLow, nLow), math.Min(b.NHigh, nHigh)
			out = append(out, b)
		}
	}
	return out
}

func (f Identity) draw(c draw.Canvas) error {
	p := newPlot(f.Title, "specific gravity", "refractive index")
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = f.window()
	f.Boxes = f.shown(p.X.Min, p.X.Max, p.Y.Min, p.Y.Max)
	p.X.Tick.Marker, p.Y.Tick.Marker = wholeTicks{}, wholeTicks{}
	var left []string
	p.Add(draft(func(c draw.Canvas, x, y func(float64) vg.Length) { left = f.drawData(c, x, y) }))
	c = inner(c)
	note := textStyle(7.5, false)
	foot := note.Height("X") * 2.6
	p.Draw(draw.Crop(c, 0, 0, foot, 0))
	legend := "filled: still possible    dashed: excluded    heavy edge: as claimed    cross or band: this stone, " +
		"thick 1 u, thin 3 u"
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
