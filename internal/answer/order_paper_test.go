package answer

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	paper "lotpaper/internal/page"
	"lotpaper/internal/pdf"
)

// An order takes a sheet and its Return sheet, in both sizes; the bar and the outlines
// stand on it at full size, the lines 0.12 mm broad.
func TestCutterOrder_Layout(t *testing.T) {
	for _, size := range []string{"A4", "Letter"} {
		x := sampleOrder()
		x.House = sampleHouse
		x.House.Paper = size
		x.Wanted[1].Laying = Laying{Directions: []string{"off", "colour"}, Words: []string{"", ""}}
		words, sheets := laidWords(t, "order-"+size, x.Layout())
		if sheets != 2 {
			t.Errorf("%d sheets of %s", sheets, size)
		}
		if size == "A4" {
			golden(t, "order.paper.txt", strings.Join(words, "\n")+"\n")
		}
		all, err := pdf.Sheets(x.Layout())
		if err != nil {
			t.Fatal(err)
		}
		for _, want := range [][2]float64{{50, 0}, {5, 7}, {7, 9}} {
			if !drawnAt(all[0].Lines, want[0], want[1]) {
				t.Errorf("nothing measures %g x %g mm", want[0], want[1])
			}
		}
	}
	if w := paper.Outline.Width(); w != 0.12 {
		t.Errorf("an outline is %g mm broad", w)
	}
}

// drawnAt reports whether a line fills a box of a size, within 0.01 mm.
func drawnAt(lines []paper.Line, wide, high float64) bool {
	for _, l := range lines {
		left, right, low, top := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
		for _, q := range l.Points {
			left, right, low, top = min(left, q.X), max(right, q.X), min(low, q.Y), max(top, q.Y)
		}
		if math.Abs(right-left-wide) < 0.01 && math.Abs(top-low-high) < 0.01 {
			return true
		}
	}
	return false
}

// Many items and lots, every direction, and nothing supplied can be laid out.
func TestCutterOrder_LayoutOfOthers(t *testing.T) {
	many := sampleOrder()
	for i := range 40 {
		x := many.Supplied[0]
		x.Lot, x.Item = fmt.Sprintf("P12-%d.%d", 100+i, i+1), ""
		many.Supplied = append(many.Supplied, x)
	}
	bare := sampleOrder()
	bare.Supplied, bare.Due, bare.Specialist = nil, "", ""
	for i, d := range []string{"perpendicular", "parallel", "star", "eye"} {
		w := bare.Wanted[i%2]
		w.Item, w.Laying = string(rune('C'+i)), Laying{Cabochon: i > 1, Directions: []string{d}, Words: []string{""}}
		bare.Wanted = append(bare.Wanted, w)
	}
	for name, o := range map[string]*CutterOrder{"many": many, "bare": bare} {
		o.House = sampleHouse
		laidWords(t, "order-"+name, o.Layout())
		var b bytes.Buffer
		if err := pdf.Write(&b, o.Layout()); err != nil {
			t.Error(err)
		}
	}
}
