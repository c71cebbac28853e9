package chart

import (
	"fmt"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Dose is the light that a stone has taken over the years, against a limit.
// Both axes are logarithmic: a showcase and a jewel box differ a thousandfold.
type Dose struct {
	Title  string
	Ways   []DoseWay   // lit showcase, evening wear, closed box ...
	Limits []DoseLimit // doses that a source or the user gives
}

// DoseWay is one way of keeping or wearing the piece.
type DoseWay struct {
	Name string
	Rate float64 // million lux-hours in a year; more than 0
}

// DoseLimit is a dose in million lux-hours.
type DoseLimit struct {
	Name string
	Dose float64
}

// Size is 160 x 100 mm.
func (Dose) Size() (float64, float64) { return 160, 100 }

const (
	doseFrom = 1.0 / 52 // years: a week
	doseTo   = 100.0
)

func (f Dose) draw(c draw.Canvas) error {
	p := newPlot(f.Title, "time", "dose, million lux-hours")
	low, high := math.Inf(1), math.Inf(-1)
	for _, w := range f.Ways {
		if w.Rate <= 0 || math.IsNaN(w.Rate) {
			return fmt.Errorf("light dose of %q is not more than 0", w.Name)
		}
		low, high = math.Min(low, w.Rate*doseFrom), math.Max(high, w.Rate*doseTo)
	}
	for _, l := range f.Limits {
		if l.Dose <= 0 {
			return fmt.Errorf("dose limit %q is not more than 0", l.Name)
		}
		low, high = math.Min(low, l.Dose/2), math.Max(high, l.Dose*2)
	}
	if low > high {
		low, high = 0.001, 1000
	}
	p.X.Min, p.X.Max = doseFrom, doseTo
	p.Y.Min, p.Y.Max = math.Pow(10, math.Floor(math.Log10(low))), math.Pow(10, math.Ceil(math.Log10(high)))
	p.X.Scale, p.Y.Scale = plot.LogScale{}, plot.LogScale{}
	p.X.Tick.Marker = plot.ConstantTicks{
		{Value: 1.0 / 52, Label: "1 week"}, {Value: 1.0 / 12, Label: "1 month"}, {Value: 0.5, Label: "6 months"},
		{Value: 1, Label: "1 year"}, {Value: 5, Label: "5 years"}, {Value: 20, Label: "20 years"}, {Value: 100,
			Label: "100 years"},
	}
	p.Y.Tick.Marker = powerTicks{}
	p.Add(draft(func(c draw.Canvas, x, y func(float64) vg.Length) {
		var labels []label
		var lines []rect
		for _, l := range f.Limits {
			c.StrokeLine2(draw.LineStyle{Color: ink, Width: vg.Points(1), Dashes: dashed.Dashes}, x(doseFrom),
				y(l.Dose), x(doseTo), y(l.Dose))
			at := rect{float64(x(doseFrom)), float64(y(l.Dose)) - 1, float64(x(doseTo)), float64(y(l.Dose)) + 1}
			lines = append(lines, at)
			labels = append(labels, label{text: l.Name, of: rect{at.x0, at.y0, at.x0 + 60, at.y1}})
		}
		dashes := [][]vg.Length{nil, {vg.Points(6), vg.Points(2)}, {vg.Points(2), vg.Points(2)},
			{vg.Points(8), vg.Points(2), vg.Points(2), vg.Points(2)}, {vg.Points(12), vg.Points(4)}}
		for i, w := range f.Ways {
			style := draw.LineStyle{Color: ink, Width: vg.Points(1.2), Dashes: dashes[i%len(dashes)]}
			c.StrokeLine2(style, x(doseFrom), y(w.Rate*doseFrom), x(doseTo), y(w.Rate*doseTo))
			const parts = 60 // the slanted line as a chain of small boxes that labels keep off
			var chain []rect
			for k := range parts {
				a := doseFrom * math.Pow(doseTo/doseFrom, float64(k)/parts)
				b := doseFrom * math.Pow(doseTo/doseFrom, float64(k+1)/parts)
				chain = append(chain, rect{float64(x(a)), float64(y(w.Rate * a)), float64(x(b)),
					float64(y(w.Rate * b))})
			}
			lines = append(lines, chain...)
			labels = append(labels, label{text: w.Name, of: chain[parts*2/3]})
		}
		drawLabels(c, textStyle(8, false), labels, lines)
	}))
	p.Draw(inner(c))
	return nil
}

// powerTicks are the powers of ten, written out.
type powerTicks struct{}

// Ticks implements plot.Ticker.
func (powerTicks) Ticks(low, high float64) []plot.Tick {
	var out []plot.Tick
	for e := math.Ceil(math.Log10(low) - 1e-9); e <= math.Log10(high)+1e-9; e++ {
		v := math.Pow(10, e)
		label := group(v)
		if e < 0 {
			label = fmt.Sprintf("%.*f", int(-e), v)
		}
		out = append(out, plot.Tick{Value: v, Label: label})
	}
	return out
}
