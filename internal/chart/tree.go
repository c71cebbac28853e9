package chart

import (
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Tree is things that became others, each below what it came from.
type Tree struct {
	Title string
	Nodes []TreeNode // from top to bottom
}

// TreeNode is one thing, with lines about it.
type TreeNode struct {
	Text   string
	Depth  int // below the first
	Strong bool
	Lines  []string
}

const (
	treeRow    = 5.5  // mm
	treeIndent = 9.0  // mm
	treeMargin = 8.0  // mm
	treeLetter = 1.75 // mm, the mean width of a letter
)

// Size is as high as the lines and as wide as the longest.
func (t *Tree) Size() (width, height float64) {
	rows := 2.0
	width = 90
	for _, n := range t.Nodes {
		rows += 1 + float64(len(n.Lines)) + 0.5
		indent := float64(n.Depth)*treeIndent + 2*treeMargin + 4
		width = max(width, indent+float64(len([]rune(n.Text)))*treeLetter*1.1)
		for _, l := range n.Lines {
			width = max(width, indent+float64(len([]rune(l)))*treeLetter)
		}
	}
	return width, rows*treeRow + 2*treeMargin
}

func (t *Tree) draw(c draw.Canvas) error {
	_, height := t.Size()
	c.SetColor(paper)
	c.Fill(c.Rectangle.Path())
	y := height - treeMargin - treeRow
	c.FillText(textStyle(11, true), vg.Point{X: mm(treeMargin), Y: mm(y)}, t.Title)
	y -= treeRow * 0.5
	var above []float64 // the foot of the last node of each depth
	for _, n := range t.Nodes {
		y -= treeRow
		x := treeMargin + float64(n.Depth)*treeIndent
		if n.Depth > 0 && n.Depth <= len(above) {
			from := x - treeIndent + 1.5
			c.StrokeLine2(thin, mm(from), mm(above[n.Depth-1]), mm(from), mm(y+1.5))
			c.StrokeLine2(thin, mm(from), mm(y+1.5), mm(x-1), mm(y+1.5))
		}
		above = append(above[:min(n.Depth, len(above))], y-1)
		c.FillText(textStyle(9, true), vg.Point{X: mm(x), Y: mm(y)}, n.Text)
		if n.Strong {
			c.StrokeLine2(heavy, mm(x), mm(y-0.8), mm(x)+textStyle(9, true).Width(n.Text), mm(y-0.8))
		}
		for _, l := range n.Lines {
			y -= treeRow
			c.FillText(textStyle(8, false), vg.Point{X: mm(x + 4), Y: mm(y)}, l)
		}
		y -= treeRow * 0.5
	}
	return nil
}
