package cutting

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestOutline_FillsItsBox(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(Shapes()).Draw(t, "shape")
		w := rapid.Float64Range(2, 20).Draw(t, "width")
		l := w * rapid.Float64Range(1, 2.5).Draw(t, "ratio")
		p := Outline(s, l, w)
		low, high := p.Box()
		for _, x := range []float64{high.X - w/2, low.X + w/2, high.Y - l/2, low.Y + l/2} {
			if math.Abs(x) > 1e-9 {
				t.Fatalf("%s %gx%g lies in %v to %v", s, l, w, low, high)
			}
		}
		if a := area(p); a <= 0.45*w*l || a > w*l+1e-9 {
			t.Fatalf("%s %gx%g: area %g of a box of %g (anticlockwise, not empty)", s, l, w, a, w*l)
		}
		for i, q := range p { // left and right are alike
			if !p.near(Point{-q.X, q.Y}, 1e-3*w) {
				t.Fatalf("%s: point %d (%g, %g) has no mirror", s, i, q.X, q.Y)
			}
		}
	})
}

func TestOutline_KnownAreas(t *testing.T) {
	for _, c := range []struct {
		s    Shape
		l, w float64
		want float64 // mm2
	}{
		{Round, 6.5, 6.5, math.Pi * 6.5 * 6.5 / 4},
		{Oval, 8, 6, math.Pi * 8 * 6 / 4},
		{OvalCabochon, 8, 6, math.Pi * 8 * 6 / 4},
		{Baguette, 5, 2.5, 12.5},
		{Princess, 4, 4, 16},
		{Asscher, 8, 8, 64 - 2*2*2}, // four corners of 2 mm at 45 degrees
		{Marquise, 10, 5, 0},
	} {
		got := area(Outline(c.s, c.l, c.w))
		if c.s == Marquise { // two circular segments: r = (a^2+b^2)/2a
			r := (2.5*2.5 + 5*5) / (2 * 2.5)
			half := math.Asin(5 / r)
			c.want = 2 * (r*r*half - r*r*math.Sin(2*half)/2)
		}
		if math.Abs(got/c.want-1) > 0.005 {
			t.Errorf("%s: area %g, want %g", c.s, got, c.want)
		}
	}
}

func TestOutline_Within(t *testing.T) {
	for _, c := range []struct {
		inner, outer Shape
		il, iw       float64
		ol, ow       float64
		want         bool
	}{
		{Round, Round, 6, 6, 6.5, 6.5, true},
		{Round, Round, 6.6, 6.6, 6.5, 6.5, false},
		{Square, Round, 4.59, 4.59, 6.5, 6.5, true}, // 6.5 / sqrt 2 = 4.596
		{Square, Round, 4.7, 4.7, 6.5, 6.5, false},
		{Oval, Oval, 8, 6, 8.4, 6.5, true},
		{Oval, EmeraldCut, 8, 6, 8, 6, true}, // an ellipse stays clear of cut corners
		{EmeraldCut, Oval, 8, 6, 8, 6, false},
		{Round, Pear, 5.9, 5.9, 9, 6, true}, // moved down to the round end
		{Round, Heart, 3, 3, 8, 8, true},
		{Oval, Heart, 8, 8, 8, 8, false},
	} {
		if got := Outline(c.inner, c.il, c.iw).Within(Outline(c.outer, c.ol, c.ow)); got != c.want {
			t.Errorf("%s %gx%g within %s %gx%g: %v", c.inner, c.il, c.iw, c.outer, c.ol, c.ow, got)
		}
	}
	rapid.Check(t, func(t *rapid.T) { // a scaled copy always fits, a larger one never
		s := rapid.SampledFrom(Shapes()).Draw(t, "shape")
		l := rapid.Float64Range(6, 14).Draw(t, "length")
		w := l / rapid.Float64Range(1, 2).Draw(t, "ratio")
		k := rapid.Float64Range(0.3, 0.97).Draw(t, "scale")
		if !Outline(s, l*k, w*k).Within(Outline(s, l, w)) {
			t.Fatalf("%s scaled by %g does not fit", s, k)
		}
		if Outline(s, l*1.05, w*1.05).Within(Outline(s, l, w)) {
			t.Fatalf("a larger %s fits", s)
		}
	})
}

// area is the area inside the path in mm2, positive when it runs anticlockwise.
func area(p Path) float64 {
	sum := 0.0
	for i, q := range p {
		r := p[(i+1)%len(p)]
		sum += q.X*r.Y - r.X*q.Y
	}
	return sum / 2
}
