package cutting

import "math"

// Point is a place in millimetres; x runs along the width, y along the length,
// y upwards, the origin in the middle of the box around the stone.
type Point struct{ X, Y float64 }

// Path is a closed polygon, anticlockwise, its last point not repeated.
type Path []Point

// arcPoints is the number of points of a full turn: a chord of a 30 mm stone
// leaves the true curve by less than 0.02 mm.
const arcPoints = 96

// Outline is the girdle outline of a stone of that shape, to scale in mm, as
// seen from above. Proportions that the measures leave open (the cut corners
// of an emerald cut, the shoulders of a pear) are common practice.
func Outline(s Shape, length, width float64) Path {
	if length <= 0 || width <= 0 {
		return nil
	}
	if length < width && s.Outline() != Heart && s.Outline() != Trillion {
		length, width = width, length
	}
	a, b := width/2, length/2
	var p Path
	switch s.Outline() {
	case Oval, Round, Bead:
		p = arc(nil, 0, 0, a, b, 0, 2*math.Pi)
	case Cushion:
		p = superellipse(a, b, 3)
	case Square, Princess, Baguette:
		p = Path{{a, -b}, {a, b}, {-a, b}, {-a, -b}}
	case TaperedBaguette:
		p = Path{{a * 0.75, -b}, {a, b}, {-a, b}, {-a * 0.75, -b}} // the narrow end 3/4 of the wide one
	case EmeraldCut, Asscher, Radiant:
		c := 0.3 * a // corners cut at 45 degrees
		if s.Outline() == Asscher {
			c = 0.5 * a
		}
		p = Path{{a, -b + c}, {a, b - c}, {a - c, b}, {-a + c, b}, {-a, b - c}, {-a, -b + c}, {-a + c, -b}, {a - c, -b}}
	case Marquise:
		p = lens(a, b)
	case Pear:
		p = pear(a, b)
	case Heart:
		p = heart(a, b)
	case Trillion:
		p = trillion()
	default:
		return nil
	}
	return fit(p, width, length)
}

// arc appends the points of an ellipse around (x, y) from angle t0 to t1, the
// end not included.
func arc(p Path, x, y, a, b, t0, t1 float64) Path {
	n := max(2, int(math.Round(arcPoints*math.Abs(t1-t0)/(2*math.Pi))))
	for i := range n {
		t := t0 + (t1-t0)*float64(i)/float64(n)
		p = append(p, Point{x + a*math.Cos(t), y + b*math.Sin(t)})
	}
	return p
}

func superellipse(a, b, n float64) Path {
	var p Path
	for i := range arcPoints {
		t := 2 * math.Pi * float64(i) / arcPoints
		c, s := math.Cos(t), math.Sin(t)
		p = append(p, Point{a * math.Copysign(math.Pow(math.Abs(c), 2/n), c),
			b * math.Copysign(math.Pow(math.Abs(s), 2/n), s)})
	}
	return p
}

// lens is two circular arcs that meet in points above and below.
func lens(a, b float64) Path {
	r := (a*a + b*b) / (2 * a) // through (0, b), (a, 0), (0, -b)
	half := math.Atan2(b, r-a)
	p := arc(nil, a-r, 0, r, r, -half, half)
	return arc(p, r-a, 0, r, r, math.Pi-half, math.Pi+half)
}

// pear is a half ellipse below and two arcs that meet in a point above; the
// arcs leave the widest line upright, so the sides have no kink.
func pear(a, b float64) Path {
	low := a          // the round end is as deep as half the width
	high := 2*b - low // from the widest line to the point
	if high < 1.1*a { // a very short pear keeps a point
		low, high = 0.9*b, 1.1*b
	}
	y0 := -b + low
	p := arc(nil, 0, y0, a, low, math.Pi, 2*math.Pi)
	r := (a*a + high*high) / (2 * a) // circle tangent to x = a at y0, through (0, y0 + high)
	end := math.Asin(high / r)
	if a > high {
		end = math.Pi - end
	}
	p = arc(p, a-r, y0, r, r, 0, end)
	return arc(p, r-a, y0, r, r, math.Pi-end, math.Pi)
}

// heart is two lobes that meet in a shallow cleft, on a point whose sides leave
// the widest line upright. A lobe's radius of 0.58 of half the width makes the
// cleft 9 % of the length (common practice).
func heart(a, b float64) Path {
	r := 0.58 * a
	y0 := b - r // the widest line
	h := y0 + b
	side := (a*a + h*h) / (2 * a) // circle tangent to x = a at y0, through (0, -b)
	end := math.Asin(h / side)
	if a > h {
		end = math.Pi - end
	}
	cleft := math.Pi - math.Acos((a-r)/r)
	p := arc(nil, a-side, y0, side, side, -end, 0)
	p = arc(p, a-r, y0, r, r, 0, cleft)
	p = arc(p, r-a, y0, r, r, math.Pi-cleft, math.Pi)
	return arc(p, side-a, y0, side, side, math.Pi, math.Pi+end)
}

// trillion is a triangle of slightly bowed sides, point down, in units that fit
// scales.
func trillion() Path {
	corner := func(k int) Point {
		t := -math.Pi/2 + 2*math.Pi*float64(k)/3
		return Point{math.Cos(t), math.Sin(t)}
	}
	const bow = 0.12 // of the side: common for curved trillions
	var p Path
	for k := range 3 {
		from, to := corner(k), corner(k+1)
		mx, my := (from.X+to.X)/2, (from.Y+to.Y)/2
		out := math.Hypot(mx, my)
		for i := range arcPoints / 3 {
			f := float64(i) / (arcPoints / 3)
			lift := 4 * f * (1 - f) * bow * math.Sqrt(3)
			p = append(p, Point{from.X + (to.X-from.X)*f + mx/out*lift, from.Y + (to.Y-from.Y)*f + my/out*lift})
		}
	}
	return p
}

// fit scales and moves a path so that its box is width x length around the
// origin.
func fit(p Path, width, length float64) Path {
	low, high := p.Box()
	sx, sy := width/(high.X-low.X), length/(high.Y-low.Y)
	out := make(Path, len(p))
	for i, q := range p {
		out[i] = Point{(q.X - (low.X+high.X)/2) * sx, (q.Y - (low.Y+high.Y)/2) * sy}
	}
	return out
}

// Box is the corners of the upright box around the path.
func (p Path) Box() (low, high Point) {
	low, high = Point{math.Inf(1), math.Inf(1)}, Point{math.Inf(-1), math.Inf(-1)}
	for _, q := range p {
		low = Point{math.Min(low.X, q.X), math.Min(low.Y, q.Y)}
		high = Point{math.Max(high.X, q.X), math.Max(high.Y, q.Y)}
	}
	return low, high
}

// holds reports whether q lies inside the path or on it (within slack).
func (p Path) holds(q Point, slack float64) bool {
	inside := false
	for i := range p {
		a, b := p[i], p[(i+1)%len(p)]
		if distance(q, a, b) <= slack {
			return true
		}
		if (a.Y > q.Y) != (b.Y > q.Y) && q.X < a.X+(b.X-a.X)*(q.Y-a.Y)/(b.Y-a.Y) {
			inside = !inside
		}
	}
	return inside
}

// distance is from q to the segment a-b.
func distance(q, a, b Point) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = math.Max(0, math.Min(1, ((q.X-a.X)*dx+(q.Y-a.Y)*dy)/l))
	}
	return math.Hypot(q.X-a.X-t*dx, q.Y-a.Y-t*dy)
}

// slack is how far a point may stand out by rounding of curves into chords.
const slack = 0.02

// Inside reports whether the path lies within outer, when turned by a quarter if
// that is asked and moved by (dx, dy).
func (p Path) inside(outer Path, quarter bool, dx, dy float64) bool {
	moved := make(Path, len(p))
	for i, q := range p {
		if quarter {
			q = Point{-q.Y, q.X}
		}
		moved[i] = Point{q.X + dx, q.Y + dy}
		if !outer.holds(moved[i], slack) {
			return false
		}
	}
	for _, q := range outer { // a notch of the outer path may reach into a side
		if moved.holds(q, 0) && !moved.near(q, slack) {
			return false
		}
	}
	return true
}

func (p Path) near(q Point, within float64) bool {
	for i := range p {
		if distance(q, p[i], p[(i+1)%len(p)]) <= within {
			return true
		}
	}
	return false
}

// Within finds a place for the path inside outer: as it lies or turned by a
// quarter or half, moved up or down the stone's long axis.
func (p Path) Within(outer Path) bool {
	low, high := outer.Box()
	for _, quarter := range []bool{false, true} {
		for _, flip := range []bool{false, true} {
			q := p
			if flip {
				q = make(Path, len(p))
				for i, r := range p {
					q[i] = Point{r.X, -r.Y}
				}
			}
			pl, ph := q.Box()
			tall := ph.Y - pl.Y
			if quarter {
				tall = ph.X - pl.X
			}
			room := (high.Y - low.Y) - tall
			if room < -slack {
				continue
			}
			const steps = 8
			for k := -steps; k <= steps; k++ {
				if q.inside(outer, quarter, 0, float64(k)/steps*math.Max(0, room)/2) {
					return true
				}
			}
		}
	}
	return false
}
