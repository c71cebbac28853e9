package chart

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Tornado is what each input does to a result when it moves over its own
// range, the largest effect on top.
type Tornado struct {
	Title string
	Unit  string // of the result: "profit, EUR"
	Base  float64
	Bars  []TornadoBar
}

// TornadoBar is one input: the result at the low and the high end of its range.
type TornadoBar struct {
	Input     string // "gold, EUR/g fine"
	Low, High string // the ends of the range, as words
	AtLow     float64
	AtHigh    float64
}

// Size is 160 mm wide and grows by the bar.
func (f Tornado) Size() (float64, float64) { return 160, 34 + 9*float64(max(len(f.Bars), 1)) }

func (f Tornado) draw(c draw.Canvas) error {
	p := newPlot(f.Title, f.Unit, "")
	values := []float64{f.Base}
	for _, b := range f.Bars {
		values = append(values, b.AtLow, b.AtHigh)
	}
	p.X.Min, p.X.Max = span(0.22, values...)
	p.X.Tick.Marker = wholeTicks{}
	p.Y.Min, p.Y.Max = -0.6, float64(len(f.Bars))-0.4
	p.Y.LineStyle.Width = 0
	p.Y.Tick.Length = 0
	ticks := make(plot.ConstantTicks, len(f.Bars))
	for i, b := range f.Bars {
		ticks[i] = plot.Tick{Value: float64(len(f.Bars) - 1 - i), Label: b.Input}
	}
	p.Y.Tick.Marker = ticks
	p.Add(draft(func(c draw.Canvas, x, y func(float64) vg.Length) {
		half := (y(1) - y(0)) * 0.32
		small := textStyle(7.5, false)
		for i, b := range f.Bars {
			at := y(float64(len(f.Bars) - 1 - i))
			f.bar(c, x(f.Base), x(b.AtLow), at, half, light)
			f.bar(c, x(f.Base), x(b.AtHigh), at, half, dark)
			lowStyle, highStyle := aligned(small, draw.XRight, draw.YCenter), aligned(small, draw.XLeft, draw.YCenter)
			lowGap, highGap := -vg.Points(3), vg.Points(3)
			if b.AtLow > b.AtHigh {
				lowStyle, highStyle, lowGap, highGap = highStyle, lowStyle, highGap, lowGap
			}
			c.FillText(lowStyle, vg.Point{X: outer(x, f.Base, b.AtLow, b.AtHigh, b.AtLow <= b.AtHigh) + lowGap, Y: at},
				b.Low)
			c.FillText(highStyle, vg.Point{X: outer(x, f.Base, b.AtLow, b.AtHigh, b.AtLow > b.AtHigh) + highGap, Y: at},
				b.High)
		}
		c.StrokeLine2(firm, x(f.Base), c.Min.Y, x(f.Base), c.Max.Y)
	}))
	c = inner(c)
	note := textStyle(7.5, false)
	p.Draw(draw.Crop(c, 0, 0, note.Height("X")*1.6, 0))
	c.FillText(note, c.Min, "light: at the low end of the input    dark: at the high end    line: as planned")
	return nil
}

func (f Tornado) bar(c draw.Canvas, from, to, at, half vg.Length, fill interface{ RGBA() (r, g, b, a uint32) }) {
	box := rectangle(from, at-half, to, at+half)
	c.FillPolygon(fill, box)
	c.StrokeLines(draw.LineStyle{Color: ink, Width: vg.Points(0.4)}, closed(box))
}

// outer is the left or right end of everything that is drawn for a bar.
func outer(x func(float64) vg.Length, base, a, b float64, left bool) vg.Length {
	if left {
		return x(math.Min(base, math.Min(a, b)))
	}
	return x(math.Max(base, math.Max(a, b)))
}

// Histogram is the outcome of a simulation with its deciles.
type Histogram struct {
	Title string
	Unit  string // "profit of the line, EUR"
	Bars  []HistogramBar
	P10   float64
	P50   float64
	P90   float64
}

// HistogramBar is how often the result fell from Low up to High.
type HistogramBar struct {
	Low, High float64
	Count     int
}

// Size is 160 x 90 mm.
func (Histogram) Size() (float64, float64) { return 160, 90 }

func (f Histogram) draw(c draw.Canvas) error {
	p := newPlot(f.Title, f.Unit, "runs")
	values := []float64{f.P10, f.P50, f.P90}
	top := 1.0
	for _, b := range f.Bars {
		values = append(values, b.Low, b.High)
		top = math.Max(top, float64(b.Count))
	}
	p.X.Min, p.X.Max = span(0.02, values...)
	p.Y.Min, p.Y.Max = 0, top*1.28 // room for the words above the bars
	p.X.Tick.Marker, p.Y.Tick.Marker = wholeTicks{}, wholeTicks{}
	p.Add(draft(func(c draw.Canvas, x, y func(float64) vg.Length) {
		edge := draw.LineStyle{Color: dark, Width: vg.Points(0.4)}
		for _, b := range f.Bars {
			fill := light
			if b.High <= 0 {
				fill = mid // a loss is darker
			}
			box := rectangle(x(b.Low), y(0), x(b.High), y(float64(b.Count)))
			c.FillPolygon(fill, box)
			c.StrokeLines(edge, closed(box))
		}
		if p.X.Min < 0 && p.X.Max > 0 {
			c.StrokeLine2(firm, x(0), y(0), x(0), y(top*1.04))
		}
		var marks []label
		for _, m := range []struct {
			name string
			at   float64
		}{{"P10", f.P10}, {"P50", f.P50}, {"P90", f.P90}} {
			at := x(m.at)
			c.StrokeLine2(draw.LineStyle{Color: ink, Width: vg.Points(1), Dashes: dashed.Dashes}, at, y(0),
				at, y(top*1.06))
			marks = append(marks, label{text: m.name + "  " + group(m.at), of: rect{float64(at), float64(y(top * 1.05)),
				float64(at), float64(y(top * 1.06))}})
		}
		style := textStyle(8, true)
		bars := rect{float64(c.Min.X), float64(c.Min.Y), float64(c.Max.X), float64(y(top * 1.07))}
		drawLabels(c, style, marks, []rect{bars})
	}))
	p.Draw(inner(c))
	return nil
}

// wholeTicks are round numbers with grouped digits, no exponent.
type wholeTicks struct{}

// Ticks implements plot.Ticker.
func (wholeTicks) Ticks(low, high float64) []plot.Tick {
	var out []plot.Tick
	step := niceStep((high - low) / 6)
	for k := math.Ceil(low / step); k*step <= high; k++ {
		v := k * step
		label := group(v)
		if step < 1 {
			label = decimals(v, step)
		}
		out = append(out, plot.Tick{Value: v, Label: label})
	}
	return out
}

// niceStep is the next of 1, 2, 5 x 10^n from about.
func niceStep(about float64) float64 {
	if about <= 0 || math.IsNaN(about) || math.IsInf(about, 0) {
		return 1
	}
	power := math.Pow(10, math.Floor(math.Log10(about)))
	for _, m := range []float64{1, 2, 5} {
		if m*power >= about {
			return m * power
		}
	}
	return 10 * power
}

// group prints a whole number with thin groups of three: "12 500".
func group(v float64) string {
	s := fmt.Sprintf("%.0f", math.Abs(v))
	var b strings.Builder
	if v < 0 && s != "0" {
		b.WriteByte('-')
	}
	for i, c := range s {
		if i > 0 && (len(s)-i)%3 == 0 {
			b.WriteByte(' ')
		}
		b.WriteRune(c)
	}
	return b.String()
}
