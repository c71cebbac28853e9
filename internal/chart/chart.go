// Package chart draws the project's pictures: models of plain numbers become
// SVG or PNG, the same bytes every time. Everything is drawn in greys, with
// dashes and words where colour would be tempting, so that a picture says the
// same when it is printed. It is the only importer of the plotting library.
package chart

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	stddraw "image/draw"
	"image/png"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"
)

// Figure is a picture that can be drawn: every model of this package.
type Figure interface {
	// Size is its width and height in millimetres.
	Size() (width, height float64)
	draw(c draw.Canvas) error
}

// SVG returns the figure as an SVG file of its size.
func SVG(f Figure) ([]byte, error) {
	w, h := f.Size()
	canvas := vgsvg.New(mm(w), mm(h))
	if err := f.draw(draw.New(canvas)); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	if _, err := canvas.WriteTo(&out); err != nil {
		return nil, fmt.Errorf("write SVG: %w", err)
	}
	return out.Bytes(), nil
}

// PNG returns the figure as a grey PNG file of its size at dpi dots per inch.
func PNG(f Figure, dpi int) ([]byte, error) {
	w, h := f.Size()
	canvas := vgimg.NewWith(vgimg.UseWH(mm(w), mm(h)), vgimg.UseDPI(dpi))
	if err := f.draw(draw.New(canvas)); err != nil {
		return nil, err
	}
	picture := canvas.Image()
	grey := image.NewGray(picture.Bounds())
	stddraw.Draw(grey, grey.Bounds(), picture, picture.Bounds().Min, stddraw.Src)
	var out bytes.Buffer
	if err := png.Encode(&out, grey); err != nil {
		return nil, fmt.Errorf("write PNG: %w", err)
	}
	return out.Bytes(), nil
}

func mm(x float64) vg.Length { return vg.Length(x) * vg.Millimeter }

// The greys, from ink to paper.
var (
	ink   = color.Gray{0}
	dark  = color.Gray{70}
	mid   = color.Gray{130}
	light = color.Gray{190}
	pale  = color.Gray{228}
	paper = color.Gray{255}
)

var (
	thin   = draw.LineStyle{Color: mid, Width: vg.Points(0.5)}
	firm   = draw.LineStyle{Color: ink, Width: vg.Points(1)}
	heavy  = draw.LineStyle{Color: ink, Width: vg.Points(1.8)}
	dashed = draw.LineStyle{Color: mid, Width: vg.Points(0.6), Dashes: []vg.Length{vg.Points(3), vg.Points(2)}}
)

// textStyle is the house type: Liberation Sans, which the library carries.
func textStyle(size float64, bold bool) text.Style {
	f := font.From(font.Font{Typeface: "Liberation", Variant: "Sans"}, vg.Points(size))
	if bold {
		f.Weight = 3 // bold, on the scale of the font library's weights
	}
	return text.Style{Color: ink, Font: f, XAlign: draw.XLeft, YAlign: draw.YBottom, Handler: plot.DefaultTextHandler}
}

func aligned(s text.Style, x text.XAlignment, y text.YAlignment) text.Style {
	s.XAlign, s.YAlign = x, y
	return s
}

// newPlot returns a plot with the house type and axes.
func newPlot(title, x, y string) *plot.Plot {
	p := plot.New()
	p.BackgroundColor = paper
	p.Title.Text = title
	p.Title.Padding = vg.Points(6)
	p.Title.TextStyle = aligned(textStyle(11, true), draw.XCenter, draw.YTop)
	p.X.Label.Text, p.Y.Label.Text = x, y
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Padding = 0
		a.LineStyle = draw.LineStyle{Color: dark, Width: vg.Points(0.6)}
		a.Tick.LineStyle = a.LineStyle
		a.Tick.Length = vg.Points(3)
		a.Label.TextStyle.Font = textStyle(9, false).Font
		a.Tick.Label.Font = textStyle(8, false).Font
	}
	return p
}

// draft is a plotter made of a function, so that a model draws itself in the
// plot's own coordinates.
type draft func(c draw.Canvas, x, y func(float64) vg.Length)

// Plot implements plot.Plotter.
func (d draft) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	d(c, x, y)
}

// inner is the drawing's margin to the paper's edge.
func inner(c draw.Canvas) draw.Canvas {
	m := vg.Points(8)
	return draw.Crop(c, m, -m, m, -m)
}

// span returns the range of the values with a share of margin on both sides; a
// range of nothing is opened a little, so that an axis can be drawn.
func span(margin float64, values ...float64) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			continue
		}
		low, high = math.Min(low, v), math.Max(high, v)
	}
	if low > high {
		return 0, 1
	}
	if high-low < 1e-9*math.Max(1, math.Abs(high)) {
		pad := math.Max(math.Abs(high)*0.05, 1e-6)
		return low - pad, high + pad
	}
	pad := (high - low) * margin
	return low - pad, high + pad
}

func rectangle(x0, y0, x1, y1 vg.Length) []vg.Point {
	return []vg.Point{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}
}

func closed(pts []vg.Point) []vg.Point {
	return append(append([]vg.Point{}, pts...), pts[0])
}
