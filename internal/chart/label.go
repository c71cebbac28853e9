package chart

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// rect is an upright rectangle on the canvas.
type rect struct{ x0, y0, x1, y1 float64 }

func (r rect) overlaps(o rect) bool { return r.x0 < o.x1 && o.x0 < r.x1 && r.y0 < o.y1 && o.y0 < r.y1 }

func (r rect) inside(o rect) bool {
	return r.x0 >= o.x0 && r.x1 <= o.x1 && r.y0 >= o.y0 && r.y1 <= o.y1
}

// shared is the area that two rectangles have in common.
func (r rect) shared(o rect) float64 {
	w := math.Min(r.x1, o.x1) - math.Max(r.x0, o.x0)
	h := math.Min(r.y1, o.y1) - math.Max(r.y0, o.y0)
	if w <= 0 || h <= 0 {
		return 0
	}
	return w * h
}

// nearest is the point of r that is closest to (x, y).
func (r rect) nearest(x, y float64) (float64, float64) {
	return math.Min(math.Max(x, r.x0), r.x1), math.Min(math.Max(y, r.y0), r.y1)
}

func (r rect) shrunk(by float64) rect { return rect{r.x0 + by, r.y0 + by, r.x1 - by, r.y1 - by} }

// gap is the distance between two rectangles; 0 when they touch.
func (r rect) gap(o rect) float64 {
	dx := math.Max(0, math.Max(r.x0-o.x1, o.x0-r.x1))
	dy := math.Max(0, math.Max(r.y0-o.y1, o.y0-r.y1))
	return math.Hypot(dx, dy)
}

// label is a text that names a box of the drawing.
type label struct {
	text string
	of   rect // what it names
	w, h float64
	at   rect // where it was placed
	set  bool // false: no room was found
}

const (
	labelAir  = 1.5 // points kept free around a label
	labelStep = 3.0 // points between two tried places
)

// place finds each label a spot inside area where it covers neither another
// label nor an obstacle, as near to its box as can be, and rather off the
// other boxes' edges. Labels of small boxes go first: they have the fewest
// places. What finds no room stays unset.
func place(labels []label, obstacles []rect, area rect) {
	order := make([]int, len(labels))
	for i := range order {
		order[i] = i
	}
	size := func(i int) float64 {
		return (labels[i].of.x1 - labels[i].of.x0) + (labels[i].of.y1 - labels[i].of.y0)
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(size(a), size(b)) })
	taken := slices.Clone(obstacles)
	for _, i := range order {
		l := &labels[i]
		best := math.Inf(1)
		for y := area.y0; y+l.h <= area.y1; y += labelStep {
			for x := area.x0; x+l.w <= area.x1; x += labelStep {
				at := rect{x, y, x + l.w, y + l.h}
				worth := cost(at, i, labels)
				if worth >= best || slices.ContainsFunc(taken, at.overlaps) {
					continue
				}
				best, l.at, l.set = worth, at, true
			}
		}
		if l.set {
			taken = append(taken, rect{l.at.x0 - labelAir, l.at.y0 - labelAir, l.at.x1 + labelAir, l.at.y1 + labelAir})
		}
	}
}

// cost of putting label i at: its distance from its box, and how much it hides
// the boxes of others.
func cost(at rect, i int, labels []label) float64 {
	own := labels[i].of
	worth := at.gap(own)
	if at.inside(own) {
		worth = 2 // inside its own box is good, just beside it is better
	}
	area := labels[i].w * labels[i].h
	for j := range labels {
		other := labels[j].of
		if j != i {
			worth += 4 * at.shared(other) / area
		}
		if at.overlaps(other) && !at.inside(other.shrunk(1)) { // it lies across an edge
			worth += 10
		}
	}
	return worth
}

// drawLabels places and draws the labels; a label that had to go away from its
// box gets a leader. It returns the texts that found no room.
func drawLabels(c draw.Canvas, style text.Style, labels []label, obstacles []rect) []string {
	area := rect{float64(c.Min.X) + 2, float64(c.Min.Y) + 2, float64(c.Max.X) - 2, float64(c.Max.Y) - 2}
	for i := range labels {
		labels[i].w = float64(style.Width(labels[i].text))
		labels[i].h = float64(style.Height(labels[i].text))
	}
	place(labels, obstacles, area)
	var left []string
	for _, l := range labels {
		if !l.set {
			left = append(left, l.text)
			continue
		}
		if l.at.gap(l.of) > 8 {
			ox, oy := l.of.nearest((l.at.x0+l.at.x1)/2, (l.at.y0+l.at.y1)/2)
			tx, ty := l.at.nearest(ox, oy)
			c.StrokeLine2(draw.LineStyle{Color: mid, Width: vg.Points(0.4)}, vg.Length(tx), vg.Length(ty),
				vg.Length(ox), vg.Length(oy))
		}
	}
	for _, l := range labels {
		if l.set {
			c.FillText(aligned(style, draw.XLeft, draw.YBottom), vg.Point{X: vg.Length(l.at.x0), Y: vg.Length(l.at.y0)},
				l.text)
		}
	}
	return left
}
