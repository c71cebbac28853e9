package answer

import (
	"slices"
	"strconv"
	"strings"

	"lotpaper/internal/cutting"
	"lotpaper/internal/num"
	paper "lotpaper/internal/page"
)

// The box that a card's stones are drawn in, and the space between two stones,
// mm.
const (
	drawnWidth, drawnHeight = 36, 17
	drawnApart              = 1.5
)

// scales are how large the stones of a piece are drawn; the first that fits is
// taken.
var scales = []float64{3, 2.5, 2, 1.5, 1, 0.75, 0.5}

// mostInRow is how many stones of a kind are drawn side by side; of more, one is
// drawn.
const mostInRow = 6

// drawnStones are the stones of one kind, side by side.
type drawnStones struct {
	pieces        int
	shape         cutting.Shape
	length, width float64
	letter        string // beside them; empty: none
}

// drawing is the piece's stones from above, each kind in a row, and how large
// they are drawn. Stones without shape and size are left out; without any there
// is none.
func (card CareCard) drawing() (*paper.Drawing, string) {
	var rows []drawnStones
	for _, s := range card.Stones {
		rows = append(rows, drawnAs(s.Pieces, s.Shape, s.Size)...)
	}
	return drawAny(rows, drawnWidth, drawnHeight)
}

// drawnAs are stones of one kind as they are drawn; none without shape and size.
func drawnAs(pieces int64, named, size string) []drawnStones {
	shape, fault := cutting.ParseShape(named)
	length, width := middleSize(size)
	if fault != nil || length == 0 {
		return nil
	}
	if isRound(named) {
		width = length // the second measure may be the depth
	}
	if pieces > mostInRow {
		pieces = 1
	}
	return []drawnStones{{int(pieces), shape, length, width, ""}}
}

// drawAny draws rows of stones as large as a box has room for, and says how large.
func drawAny(rows []drawnStones, width, height float64) (*paper.Drawing, string) {
	d, scale := drawLargest(rows, width, height)
	switch {
	case d == nil:
		return nil, ""
	case scale == 1:
		return d, "stones at true size"
	}
	return d, "stones at " + strconv.FormatFloat(scale, 'f', -1, 64) + noBreak + "times their size"
}

// drawLargest draws rows of stones at the largest scale that a box has room for; nil:
// there are none, or none fits.
func drawLargest(rows []drawnStones, width, height float64) (*paper.Drawing, float64) {
	for _, scale := range scales {
		if d := draw(rows, scale); len(rows) > 0 && d.Width <= width && d.Height <= height {
			return d, scale
		}
	}
	return nil, 0
}

// isRound reports whether a shape has one measure for length and width.
func isRound(shape string) bool {
	s, _ := cutting.ParseShape(shape)
	return s.Outline() == cutting.Round || s == cutting.Bead
}

// letterRoom is what the letter beside a row of stones takes, mm.
const letterRoom = 6

// draw draws rows of stones at a scale, the long axis upright.
func draw(rows []drawnStones, scale float64) *paper.Drawing {
	d := &paper.Drawing{}
	wide := func(r drawnStones, low, high cutting.Point) float64 {
		return float64(r.pieces)*(high.X-low.X+drawnApart) - drawnApart
	}
	for _, r := range rows {
		low, high := cutting.Outline(r.shape, r.length*scale, r.width*scale).Box()
		d.Width = max(d.Width, wide(r, low, high))
	}
	inner := d.Width
	if slices.ContainsFunc(rows, func(r drawnStones) bool { return r.letter != "" }) {
		d.Width += letterRoom
	}
	for i, r := range rows {
		if i > 0 {
			d.Height += drawnApart
		}
		outline, facets := cutting.Face(r.shape, r.length*scale, r.width*scale)
		low, high := outline.Box()
		x, y := (inner-wide(r, low, high))/2-low.X, d.Height+high.Y
		for range r.pieces {
			d.Lines = append(d.Lines, drawnLine(paper.Outline, outline, x, y, true))
			for _, f := range facets {
				d.Lines = append(d.Lines, drawnLine(paper.Facet, f, x, y, false))
			}
			x += high.X - low.X + drawnApart
		}
		if r.letter != "" {
			d.Captions = append(d.Captions, paper.Caption{X: d.Width, Y: d.Height + (high.Y-low.Y)/2 + 1,
				Align: paper.Right, Text: textOf(paper.FineStrong, r.letter)})
		}
		d.Height += high.Y - low.Y
	}
	return d
}

// drawnLine is a path around (x, y) on paper, where y runs down.
func drawnLine(rule paper.Rule, p cutting.Path, x, y float64, closed bool) paper.Line {
	line := paper.Line{Rule: rule, Closed: closed}
	for _, q := range p {
		line.Points = append(line.Points, paper.Point{X: x + q.X, Y: y - q.Y})
	}
	return line
}

// middleSize reads the length and width of a size as SizeWords writes it, each
// at the middle of its range; a stone of one measure is as wide as long. They
// are 0 when it cannot be read.
func middleSize(size string) (length, width float64) {
	var sides []float64
	for side := range strings.SplitSeq(size, " x ") {
		low, high, ranged := strings.Cut(side, "-")
		if !ranged {
			high = low
		}
		from, f := num.ParseMillimetre(low)
		to, g := num.ParseMillimetre(high)
		if f != nil || g != nil {
			return 0, 0
		}
		sides = append(sides, (from.Float()+to.Float())/2)
	}
	if len(sides) == 1 {
		sides = append(sides, sides[0])
	}
	return sides[0], sides[1]
}
