package chart

import (
	"bufio"
	"flag"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

var update = flag.Bool("update", false, "write the golden pictures anew")

// The reliability diagram of the identification, drawn from its calibration
// table: the shares that it gives stones of a model that is not its own. The
// bars are Wilson's 95 % intervals.
func TestReliability_OfTheIdentification(t *testing.T) {
	f, err := os.Open("../../testdata/golden/identify/calibration.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	fig := Reliability{Title: "Do shares mean what they say?"}
	other := false
	for lines := bufio.NewScanner(f); lines.Scan(); {
		other = other || strings.HasPrefix(lines.Text(), "the other model")
		cells := strings.Fields(lines.Text())
		if !other || len(cells) != 6 || cells[1] != "to" {
			continue
		}
		var v [3]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(cells[3+i], 64); err != nil {
				t.Fatal(err)
			}
		}
		low, high := wilson(v[2], v[0])
		fig.Points = append(fig.Points, ReliabilityPoint{Said: v[1], Seen: v[2], Low: low, High: high, N: int(v[0])})
	}
	if len(fig.Points) < 8 {
		t.Fatalf("only %d classes in the table", len(fig.Points))
	}
	got, err := SVG(fig)
	if err != nil {
		t.Fatal(err)
	}
	const path = "../../testdata/golden/identify/reliability.svg"
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if string(want) != string(got) {
		t.Error("reliability.svg differs; run the test with -update and look at the picture")
	}
}

// wilson is the interval of a share seen n times (Wilson, Journal of the
// American Statistical Association 22, 1927).
func wilson(p, n float64) (low, high float64) {
	const z = 1.96
	middle := (p + z*z/(2*n)) / (1 + z*z/n)
	half := z / (1 + z*z/n) * math.Sqrt(p*(1-p)/n+z*z/(4*n*n))
	return middle - half, middle + half
}

// Reliability is how often a thing was true when it was said to be likely: on
// the diagonal, shares mean what they say.
type Reliability struct {
	Title  string
	Points []ReliabilityPoint
}

// ReliabilityPoint is one class of shares.
type ReliabilityPoint struct {
	Said      float64 // mean share in the class
	Seen      float64 // how often it was true
	Low, High float64 // interval of Seen
	N         int
}

// Size is 110 x 110 mm.
func (Reliability) Size() (float64, float64) { return 110, 110 }

func (f Reliability) draw(c draw.Canvas) error {
	p := newPlot(f.Title, "share said", "share found true")
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = 0, 1, 0, 1
	p.Add(draft(func(c draw.Canvas, x, y func(float64) vg.Length) {
		c.StrokeLine2(dashed, x(0), y(0), x(1), y(1))
		var labels []label
		var bars []rect
		for _, pt := range f.Points {
			px := x(pt.Said)
			c.StrokeLine2(firm, px, y(pt.Low), px, y(pt.High))
			for _, end := range []float64{pt.Low, pt.High} {
				c.StrokeLine2(firm, px-vg.Points(2), y(end), px+vg.Points(2), y(end))
			}
			c.DrawGlyphNoClip(draw.GlyphStyle{Color: ink, Radius: vg.Points(2.5), Shape: draw.CircleGlyph{}},
				vg.Point{X: px, Y: y(pt.Seen)})
			at := rect{float64(px) - 3, float64(y(pt.Seen)) - 3, float64(px) + 3, float64(y(pt.Seen)) + 3}
			bars = append(bars, at, rect{float64(px) - 2, float64(y(pt.Low)), float64(px) + 2, float64(y(pt.High))})
			labels = append(labels, label{text: fmt.Sprintf("n %s", group(float64(pt.N))), of: at})
		}
		drawLabels(c, textStyle(7, false), labels, bars)
	}))
	p.Draw(inner(c))
	return nil
}
