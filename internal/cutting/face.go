package cutting

import "math"

// fewFacets is the longest side, in mm, of a stone that is drawn with its table
// and mains alone: more lines would run together.
const fewFacets = 3

// Face is how a stone of that shape looks from above: its girdle outline, and
// lines inside it, to scale in mm. Facets are those of the shape's usual cut, a
// brilliant or steps (common practice); a cabochon and a bead have a reflection.
// The stone's own facets are not known.
func Face(s Shape, length, width float64) (outline Path, lines []Path) {
	outline = Outline(s, length, width)
	if len(outline) == 0 {
		return nil, nil
	}
	if s.IsCabochon() || s == Bead {
		return outline, []Path{outline.around(0.72, 2.0, 2.8, 12)}
	}
	switch s {
	case Square, Baguette, TaperedBaguette, EmeraldCut, Asscher:
		return outline, outline.steps(0.8, 0.58)
	case Princess, Radiant:
		return outline, outline.steps(0.58)
	case Trillion:
		return outline, outline.brilliant(6, -math.Pi/2, max(length, width) < fewFacets)
	}
	return outline, outline.brilliant(8, math.Pi/8, max(length, width) < fewFacets)
}

// brilliant is a table of n corners, the first in the direction of the angle
// start, with its stars, mains and halves; few leaves out stars and halves.
func (p Path) brilliant(n int, start float64, few bool) []Path {
	const table, star = 0.55, 0.78 // of the way from the middle to the girdle
	step := 2 * math.Pi / float64(n)
	var corners, stars, mains Path
	var halves []Path
	for i := range n + 1 {
		main := start + float64(i)*step
		corner, foot, tip := p.toward(main, table), p.toward(main, 1), p.toward(main+step/2, star)
		corners, stars, mains = append(corners, corner), append(stars, corner), append(mains, foot)
		switch {
		case i == n:
		case few:
			halves = append(halves, Path{corner, foot})
		default:
			stars, mains = append(stars, tip), append(mains, tip)
			halves = append(halves, Path{tip, p.toward(main+step/2, 1)})
		}
	}
	if few {
		return append([]Path{corners}, halves...)
	}
	return append([]Path{corners, stars, mains}, halves...)
}

// steps are outlines one within the other, at parts of the way from the middle
// to the girdle, and the edges between their corners.
func (p Path) steps(parts ...float64) []Path {
	var out []Path
	for _, part := range parts {
		var inner Path
		for i := range len(p) + 1 {
			inner = append(inner, p[i%len(p)].times(part))
		}
		out = append(out, inner)
	}
	for _, corner := range p {
		out = append(out, Path{corner, corner.times(parts[len(parts)-1])})
	}
	return out
}

// around is the line from one angle to another at a part of the way from the
// middle to the girdle.
func (p Path) around(part, from, to float64, points int) Path {
	var out Path
	for i := range points + 1 {
		out = append(out, p.toward(from+(to-from)*float64(i)/float64(points), part))
	}
	return out
}

// toward is the point at a part of the way from the middle to the girdle. Angles
// are those of a circle that is stretched to the path's box, so that facets keep
// their share of a long stone.
func (p Path) toward(angle, part float64) Point {
	_, high := p.Box()
	dx, dy := high.X*math.Cos(angle), high.Y*math.Sin(angle)
	reach := 0.0
	for i, a := range p {
		b := p[(i+1)%len(p)]
		ex, ey := b.X-a.X, b.Y-a.Y
		if cross := dx*ey - dy*ex; cross != 0 {
			along, side := (a.X*ey-a.Y*ex)/cross, (a.X*dy-a.Y*dx)/cross
			if along > reach && side >= 0 && side <= 1 {
				reach = along
			}
		}
	}
	return Point{dx, dy}.times(reach * part)
}

func (q Point) times(f float64) Point { return Point{q.X * f, q.Y * f} }
