package chart

import (
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Direction is what lies in a stone and how it lies to the table or the base.
type Direction string

// The directions that a laying draws.
const (
	OffCleavage Direction = "off"     // a cleavage plane, a few degrees off the table
	Upright     Direction = "upright" // an axis at right angles to the table
	Along       Direction = "along"   // an axis in the plane of the table
	BestColour  Direction = "colour"  // the line of sight along which the colour is best
	StarAxis    Direction = "star"    // needles in planes along the base, their axis through the top of the dome
	EyeFibres   Direction = "eye"     // fibres along the base and across the length
)

// Laying is how the table or the base of an item lies in the crystal, seen from
// the side.
type Laying struct {
	Title      string
	Cabochon   bool
	Directions []Direction
	Words      []string
}

// Layings is one page of layings, from top to bottom.
type Layings struct {
	Width float64 // mm
	Head  string
	Items []Laying
}

const (
	layingHead = 14.0 // mm
	layingRow  = 56.0
	layingText = 3.8 // mm per line of text
	// LayingsOnPage is how many layings one page takes.
	LayingsOnPage = 4
)

// Size is the page's.
func (f Layings) Size() (float64, float64) {
	return f.Width, layingHead + layingRow*float64(len(f.Items))
}

func (f Layings) draw(c draw.Canvas) error {
	c.FillText(aligned(textStyle(10, true), draw.XLeft, draw.YTop), vg.Point{X: c.Min.X, Y: c.Max.Y - mm(1)},
		fit(textStyle(10, true).Width, f.Head, mm(f.Width)))
	small := textStyle(8, false)
	for i, item := range f.Items {
		top := c.Max.Y - mm(layingHead+layingRow*float64(i))
		c.FillText(aligned(textStyle(8.5, true), draw.XLeft, draw.YTop), vg.Point{X: c.Min.X, Y: top}, item.Title)
		item.draw(c, c.Min.X+mm(30), top-mm(28))
		y := top - mm(8)
		for _, words := range item.Words {
			for _, line := range wrapTo(small.Width, words, mm(f.Width-72)) {
				c.FillText(aligned(small, draw.XLeft, draw.YTop), vg.Point{X: c.Min.X + mm(70), Y: y}, line)
				y -= mm(layingText)
			}
			y -= mm(1.2)
		}
	}
	return nil
}

// draw draws the stone from the side around a point, with what lies in it.
func (l Laying) draw(c draw.Canvas, x, y vg.Length) {
	at := func(dx, dy float64) vg.Point { return vg.Point{X: x + mm(dx), Y: y + mm(dy)} }
	table := 6.0 // height of the table or of the top of the dome
	if l.Cabochon {
		table = 11
		var dome []vg.Point
		for k := 0; k <= 48; k++ {
			a := math.Pi * float64(k) / 48
			dome = append(dome, at(18*math.Cos(a), -6+17*math.Sin(a)))
		}
		c.StrokeLines(firm, append(dome, dome[0]))
		c.FillText(aligned(textStyle(7, false), draw.XCenter, draw.YTop), at(0, -7.5), "base")
	} else {
		c.StrokeLines(firm, []vg.Point{at(-10, table), at(10, table), at(18, 0), at(0, -16), at(-18, 0),
			at(-10, table)})
		c.StrokeLine2(thin, at(-18, 0).X, at(0, 0).Y, at(18, 0).X, at(0, 0).Y)
		c.FillText(aligned(textStyle(7, false), draw.XCenter, draw.YTop), at(0, table-1), "table")
	}
	for _, d := range l.Directions {
		if d == Upright && slices.Contains(l.Directions, StarAxis) {
			continue // the same axis
		}
		l.direction(c, at, d, table)
	}
}

// cleavageDrawn is the angle at which a cleavage is drawn to the table, in degrees:
// about the middle of 5 to 10.
const cleavageDrawn = 7

func (l Laying) direction(c draw.Canvas, at func(dx, dy float64) vg.Point, d Direction, top float64) {
	label := aligned(textStyle(7, false), draw.XLeft, draw.YCenter)
	line := func(s draw.LineStyle, x0, y0, x1, y1 float64) {
		a, b := at(x0, y0), at(x1, y1)
		c.StrokeLine2(s, a.X, a.Y, b.X, b.Y)
	}
	arrow := func(x0, y0, x1, y1 float64) {
		line(firm, x0, y0, x1, y1)
		angle := math.Atan2(y1-y0, x1-x0)
		for _, turn := range []float64{2.6, -2.6} {
			line(firm, x1, y1, x1+2.4*math.Cos(angle+turn), y1+2.4*math.Sin(angle+turn))
		}
	}
	switch d {
	case OffCleavage:
		rise := math.Tan(cleavageDrawn * math.Pi / 180)
		for _, h := range []float64{2.5, -2, -6.5, -11} {
			line(dashed, -22, h-22*rise, 22, h+22*rise)
		}
		c.FillText(label, at(22.5, -2+22*rise), "cleavage")
	case Upright:
		arrow(0, -20, 0, top+9)
		c.FillText(label, at(3.5, top+6), "axis")
	case Along:
		arrow(-24, -3, 24, -3)
		c.FillText(label, at(25, -3), "c axis")
	case BestColour:
		arrow(-5, top+11, -5, top+1.5)
		c.FillText(label, at(-2, top+9), "best colour, seen this way")
	case StarAxis:
		for _, h := range []float64{-3.5, -1, 1.5, 4, 6.5} {
			half := 17 * math.Sqrt(math.Max(0, 1-math.Pow((h+6)/17, 2)))
			line(dashed, -half+1, h, half-1, h)
		}
		arrow(0, -12, 0, top+8)
		c.FillText(label, at(3.5, top+5.5), "axis, through the top")
		c.FillText(label, at(20, 0), "needles")
	case EyeFibres:
		for _, h := range []float64{-3.5, -0.5, 2.5, 5.5} {
			for w := -14.0; w <= 14; w += 4 {
				if math.Pow(w/18, 2)+math.Pow((h+6)/17, 2) < 0.85 {
					line(firm, w-0.4, h, w+0.4, h)
				}
			}
		}
		c.FillText(label, at(20, 7), "fibres, end on")
		c.FillText(aligned(textStyle(7, false), draw.XCenter, draw.YBottom), at(0, top+1.5),
			"the eye runs along the length")
	}
}

// wrapTo breaks a text into lines of a width.
func wrapTo(width func(string) vg.Length, s string, room vg.Length) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(s) {
		switch {
		case line == "":
			line = word
		case width(line+" "+word) <= room:
			line += " " + word
		default:
			lines = append(lines, line)
			line = word
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}
