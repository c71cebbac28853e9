package chart

import (
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Outline is the edge of a stone seen from above, in millimetres, x to the
// right and y up. Its first point is not repeated at the end.
type Outline [][2]float64

// bounds is the outline's extent.
func (o Outline) bounds() (x0, y0, x1, y1 float64) {
	x0, y0, x1, y1 = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, p := range o {
		x0, x1 = math.Min(x0, p[0]), math.Max(x1, p[0])
		y0, y1 = math.Min(y0, p[1]), math.Max(y1, p[1])
	}
	if len(o) == 0 {
		return 0, 0, 0, 0
	}
	return x0, y0, x1, y1
}

// stroke draws the outline with its middle at (cx, cy); scale is millimetres of
// paper per millimetre of stone.
func (o Outline) stroke(c draw.Canvas, cx, cy vg.Length, scale float64, style draw.LineStyle, fill bool) {
	if len(o) < 3 {
		return
	}
	x0, y0, x1, y1 := o.bounds()
	pts := make([]vg.Point, len(o))
	for i, p := range o {
		pts[i] = vg.Point{X: cx + mm((p[0]-(x0+x1)/2)*scale), Y: cy + mm((p[1]-(y0+y1)/2)*scale)}
	}
	if fill {
		c.FillPolygon(pale, pts)
	}
	c.StrokeLines(style, closed(pts))
}

// Plan is the line at a glance: each piece with its stones to scale.
type Plan struct {
	Title  string
	Pieces []PlanPiece
}

// PlanPiece is one piece and its stones.
type PlanPiece struct {
	Name   string // "Ring Tide"
	Note   string // "3 planned of 5"
	Stones []PlanStone
}

// PlanStone is one kind of stone in the piece.
type PlanStone struct {
	Outline Outline
	Name    string // "aquamarine 7x5"
	Count   int
}

const (
	planColumns = 3
	planWidth   = 180.0
	planCell    = 44.0 // height of one piece
	planHead    = 14.0
)

// Size is 180 mm wide and grows by the row of three pieces.
func (f Plan) Size() (float64, float64) {
	rows := (max(len(f.Pieces), 1) + planColumns - 1) / planColumns
	return planWidth, planHead + planCell*float64(rows) + 10
}

// scale is the largest at which every stone fits its cell.
func (f Plan) scale() float64 {
	scale := 2.0
	room := planWidth/planColumns - 10
	for _, p := range f.Pieces {
		wide, high := 0.0, 0.0
		for _, s := range p.Stones {
			x0, y0, x1, y1 := s.Outline.bounds()
			wide += x1 - x0 + 2
			high = math.Max(high, y1-y0)
		}
		if wide > 0 {
			scale = math.Min(scale, room/wide)
		}
		if high > 0 {
			scale = math.Min(scale, 20/high)
		}
	}
	return scale
}

func (f Plan) draw(c draw.Canvas) error {
	head, name, small := textStyle(12, true), textStyle(9, true), textStyle(7.5, false)
	c.FillText(aligned(head, draw.XLeft, draw.YTop), vg.Point{X: c.Min.X + mm(3), Y: c.Max.Y - mm(3)}, f.Title)
	scale := f.scale()
	cell := planWidth / planColumns
	for i, p := range f.Pieces {
		left := c.Min.X + mm(cell*float64(i%planColumns))
		top := c.Max.Y - mm(planHead+planCell*float64(i/planColumns))
		box := rectangle(left+mm(2), top-mm(planCell-2), left+mm(cell-2), top)
		c.StrokeLines(thin, closed(box))
		c.FillText(aligned(name, draw.XLeft, draw.YTop), vg.Point{X: left + mm(4), Y: top - mm(2)},
			fit(name.Width, p.Name, mm(cell-8)))
		c.FillText(aligned(small, draw.XLeft, draw.YTop), vg.Point{X: left + mm(4), Y: top - mm(6.5)},
			fit(small.Width, p.Note, mm(cell-8)))
		x := left + mm(5)
		words := ""
		for k, s := range p.Stones {
			x0, _, x1, _ := s.Outline.bounds()
			half := mm((x1 - x0) / 2 * scale)
			s.Outline.stroke(c, x+half, top-mm(21), scale, draw.LineStyle{Color: ink, Width: vg.Points(0.8)}, true)
			x += 2*half + mm(2*scale)
			line := s.Name
			if s.Count > 1 {
				line = group(float64(s.Count)) + " x " + line
			}
			if k < 3 {
				words += fit(small.Width, line, mm(cell-8)) + "\n"
			} else if k == 3 {
				words = words[:len(words)-1] + " ...\n"
			}
		}
		if words != "" {
			c.FillText(aligned(small, draw.XLeft, draw.YTop), vg.Point{X: left + mm(4), Y: top - mm(32)},
				words[:len(words)-1])
		}
	}
	f.bar(c, scale)
	return nil
}

// bar is the 10 mm bar at the drawing's scale.
func (f Plan) bar(c draw.Canvas, scale float64) {
	y := c.Min.Y + mm(5)
	x0, x1 := c.Min.X+mm(4), c.Min.X+mm(4+10*scale)
	c.StrokeLine2(firm, x0, y, x1, y)
	for _, x := range []vg.Length{x0, x1} {
		c.StrokeLine2(firm, x, y-mm(1), x, y+mm(1))
	}
	c.FillText(aligned(textStyle(7.5, false), draw.XLeft, draw.YCenter), vg.Point{X: x1 + mm(2), Y: y},
		"10 mm of stone; all stones to one scale")
}

// fit shortens a text to a width.
func fit(width func(string) vg.Length, s string, room vg.Length) string {
	if width(s) <= room {
		return s
	}
	r := []rune(s)
	for len(r) > 1 && width(string(r)+"...") > room {
		r = r[:len(r)-1]
	}
	return string(r) + "..."
}

// Sheet is one page of outlines at full size, for a cutter to lay stones on.
type Sheet struct {
	Width, Height float64 // mm
	Head          string
	Items         []SheetItem
}

// SheetItem is one outline and what is written under it.
type SheetItem struct {
	Outline Outline
	Lines   []string
}

const (
	sheetHead = 26.0 // mm: head line and check bar
	sheetGap  = 6.0
	sheetText = 3.6 // mm per line of text
	// CheckBar is the length of the bar that shows whether a page was printed
	// at full size.
	CheckBar = 50.0
)

// Sheets lays the items out on as many pages of the given size as they need.
func Sheets(width, height float64, head string, items []SheetItem) []Sheet {
	var pages []Sheet
	page := Sheet{Width: width, Height: height, Head: head}
	for _, item := range items {
		try := page
		try.Items = append(append([]SheetItem{}, page.Items...), item)
		if at := try.layout(); len(page.Items) > 0 && at[len(at)-1].bottom > height {
			pages = append(pages, page)
			page = Sheet{Width: width, Height: height, Head: head, Items: []SheetItem{item}}
			continue
		}
		page = try
	}
	return append(pages, page)
}

// Size is the page's.
func (f Sheet) Size() (float64, float64) { return f.Width, f.Height }

// spot is where an item lies, in millimetres from the left and the top.
type spot struct{ left, top, width, high, bottom float64 }

// layout puts the items in rows from the left, each row as high as its highest.
func (f Sheet) layout() []spot {
	spots := make([]spot, len(f.Items))
	x, y, row := 0.0, sheetHead, 0.0
	style := textStyle(8, false)
	for i, item := range f.Items {
		x0, y0, x1, y1 := item.Outline.bounds()
		width := x1 - x0
		for _, l := range item.Lines {
			width = math.Max(width, float64(style.Width(l)/vg.Millimeter))
		}
		high := y1 - y0
		if x > 0 && x+width > f.Width {
			x, y, row = 0, y+row+sheetGap, 0
		}
		total := high + 2 + sheetText*float64(len(item.Lines))
		spots[i] = spot{left: x, top: y, width: width, high: high, bottom: y + total}
		x += width + sheetGap
		row = math.Max(row, total)
	}
	return spots
}

func (f Sheet) draw(c draw.Canvas) error {
	head, small := textStyle(10, true), textStyle(8, false)
	c.FillText(aligned(head, draw.XLeft, draw.YTop), vg.Point{X: c.Min.X, Y: c.Max.Y - mm(1)}, fit(head.Width, f.Head,
		mm(f.Width)))
	y := c.Max.Y - mm(14)
	x0 := c.Min.X + mm(0.5)
	c.StrokeLine2(firm, x0, y, x0+mm(CheckBar), y)
	for k := 0; k <= int(CheckBar)/10; k++ {
		tick := 1.2
		if k == 0 || k == int(CheckBar)/10 {
			tick = 2.4
		}
		c.StrokeLine2(firm, x0+mm(10*float64(k)), y-mm(tick), x0+mm(10*float64(k)), y+mm(tick))
	}
	c.FillText(aligned(small, draw.XLeft, draw.YCenter), vg.Point{X: x0 + mm(CheckBar+3), Y: y},
		"This bar is 50 mm long when the page is printed at 100 %.\nMeasure it before you lay a stone on an outline.")
	line := draw.LineStyle{Color: ink, Width: vg.Points(0.7)}
	for i, at := range f.layout() {
		item := f.Items[i]
		ox0, _, ox1, _ := item.Outline.bounds()
		cx := c.Min.X + mm(at.left+(ox1-ox0)/2+0.5)
		cy := c.Max.Y - mm(at.top+at.high/2)
		item.Outline.stroke(c, cx, cy, 1, line, false)
		c.StrokeLine2(thin, cx-mm(1), cy, cx+mm(1), cy)
		c.StrokeLine2(thin, cx, cy-mm(1), cx, cy+mm(1))
		for k, l := range item.Lines {
			style := small
			if k == 0 {
				style = textStyle(8, true)
			}
			c.FillText(aligned(style, draw.XLeft, draw.YTop), vg.Point{X: c.Min.X + mm(at.left+0.5),
				Y: c.Max.Y - mm(at.top+at.high+2+sheetText*float64(k))}, l)
		}
	}
	return nil
}
