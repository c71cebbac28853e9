package chart

import (
	"bytes"
	"flag"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

var pictures = flag.String("pictures", "", "folder to write every sample picture to, to look at")

func circle(d float64) Outline {
	var o Outline
	for i := range 48 {
		a := 2 * math.Pi * float64(i) / 48
		o = append(o, [2]float64{d / 2 * math.Cos(a), d / 2 * math.Sin(a)})
	}
	return o
}

func ellipse(l, w float64) Outline {
	o := circle(1)
	for i := range o {
		o[i][0] *= w
		o[i][1] *= l
	}
	return o
}

// samples are one of each figure. The gem constants are those of common
// tables (International Gem Society, gem property tables); they only have to
// look alive here.
func samples() map[string]Figure {
	identity := Identity{
		Title: "Lot P1-4: n against SG",
		Boxes: []IdentityBox{
			{Name: "aquamarine", SGLow: 2.68, SGHigh: 2.74, NLow: 1.567, NHigh: 1.590, Claimed: true},
			{Name: "topaz", SGLow: 3.49, SGHigh: 3.57, NLow: 1.606, NHigh: 1.644, Left: true},
			{Name: "tourmaline", SGLow: 3.00, SGHigh: 3.26, NLow: 1.614, NHigh: 1.666, Left: true},
			{Name: "apatite", SGLow: 3.16, SGHigh: 3.23, NLow: 1.628, NHigh: 1.649, Left: true},
			{Name: "danburite", SGLow: 2.97, SGHigh: 3.03, NLow: 1.627, NHigh: 1.639, Left: true},
			{Name: "andalusite", SGLow: 3.12, SGHigh: 3.20, NLow: 1.627, NHigh: 1.650},
			{Name: "spodumene", SGLow: 3.15, SGHigh: 3.21, NLow: 1.653, NHigh: 1.682},
			{Name: "sillimanite", SGLow: 3.20, SGHigh: 3.31, NLow: 1.654, NHigh: 1.684},
			{Name: "kornerupine", SGLow: 3.27, SGHigh: 3.45, NLow: 1.660, NHigh: 1.699},
			{Name: "fluorite", SGLow: 3.17, SGHigh: 3.19, NLow: 1.432, NHigh: 1.434},
			{Name: "iolite", SGLow: 2.56, SGHigh: 2.66, NLow: 1.527, NHigh: 1.560},
		},
		Stones: []IdentityStone{{Name: "stone 3", SG: 3.12, SGU: 0.05, NLow: 1.620, NHigh: 1.638, NU: 0.0018}},
	}
	onlyN := Identity{Title: "n alone", Boxes: identity.Boxes[:4], Stones: []IdentityStone{{Name: "spot", NLow: 1.62,
		NHigh: 1.62, NU: 0.005}}}
	var bars []HistogramBar
	for i := range 40 {
		x := -4000 + 500*float64(i)
		bars = append(bars, HistogramBar{Low: x, High: x + 500,
			Count: int(900 * math.Exp(-math.Pow((x-6500)/4200, 2)))})
	}
	var plan Plan
	plan.Title = "Line Tideline: stones to scale"
	for _, n := range []string{"Ring Tide", "Pendant Drift", "Earrings Foam", "Bracelet Current"} {
		plan.Pieces = append(plan.Pieces, PlanPiece{Name: n, Note: "4 planned of 5, gold 750", Stones: []PlanStone{
			{Outline: ellipse(9, 7), Name: "topaz, blue 9x7", Count: 1}, {Outline: circle(3),
				Name: "tourmaline 3", Count: 6}}})
	}
	var items []SheetItem
	for i := range 14 {
		items = append(items, SheetItem{Outline: ellipse(6+float64(i), 5+float64(i)/2), Lines: []string{"A oval",
			"9.00 x 7.00 mm +/- 0.10", "3 + 1 spare"}})
	}
	return map[string]Figure{
		"identity":   identity,
		"identity-n": onlyN,
		"tornado": Tornado{Title: "What moves the line's profit", Unit: "profit, EUR", Base: 6200, Bars: []TornadoBar{
			{Input: "gold, EUR/g fine", Low: "95", High: "135", AtLow: 8100, AtHigh: 4300},
			{Input: "sell-through, %", Low: "70", High: "95", AtLow: 4700, AtHigh: 7000},
			{Input: "breakage in setting, %", Low: "0.5", High: "4", AtLow: 6400, AtHigh: 5500},
			{Input: "labour, EUR/h", Low: "32", High: "40", AtLow: 6500, AtHigh: 5900}}},
		"histogram": Histogram{Title: "Profit of the line, 10 000 runs", Unit: "profit, EUR", Bars: bars, P10: 1900,
			P50: 6300, P90: 10900},
		"dose": Dose{Title: "Light on kunzite", Ways: []DoseWay{{"lit showcase 1500 lx", 5.6}, {"daily wear", 0.2},
			{"evening wear", 0.01}},
			Limits: []DoseLimit{{"limit 0.3 Mlx h (blue wool 1)", 0.3}, {"limit 3 Mlx h (blue wool 3)", 3}}},
		"reliability": Reliability{Title: "Do shares mean what they say?", Points: []ReliabilityPoint{
			{0.05, 0.04, 0.03, 0.06, 4200}, {0.25, 0.27, 0.22, 0.32, 800}, {0.5, 0.47, 0.40, 0.55, 520}, {0.75, 0.77,
				0.71, 0.83, 610}, {0.96, 0.97, 0.96, 0.98, 5100}}},
		"plan":  plan,
		"sheet": Sheets(180, 240, "Order O7: outlines at full size", items)[0],
		"layings": Layings{Width: 170, Head: "Order O7: how the stones lie", Items: []Laying{
			{Title: "A: topaz", Directions: []Direction{OffCleavage, BestColour}, Words: []string{"off the cleavage"}},
			{Title: "B: star sapphire", Cabochon: true, Directions: []Direction{StarAxis, Upright}},
			{Title: "C: cat's-eye", Cabochon: true, Directions: []Direction{EyeFibres}},
			{Title: "D: tourmaline", Directions: []Direction{Along}}}},
	}
}

func TestFigures(t *testing.T) {
	for name, f := range samples() {
		t.Run(name, func(t *testing.T) {
			svg, err := SVG(f)
			if err != nil {
				t.Fatal(err)
			}
			picture, err := PNG(f, 100)
			if err != nil {
				t.Fatal(err)
			}
			again, _ := SVG(f)
			if !bytes.Equal(svg, again) {
				t.Error("two drawings of one figure differ")
			}
			w, h := f.Size()
			config, err := png.DecodeConfig(bytes.NewReader(picture))
			if err != nil {
				t.Fatal(err)
			}
			if wantW, wantH := w/25.4*100, h/25.4*100; math.Abs(float64(config.Width)-wantW) > 1 ||
				math.Abs(float64(config.Height)-wantH) > 1 {
				t.Errorf("picture is %d x %d dots, want %.0f x %.0f", config.Width, config.Height, wantW, wantH)
			}
			if *pictures != "" {
				for ext, b := range map[string][]byte{".svg": svg, ".png": picture} {
					if err := os.WriteFile(filepath.Join(*pictures, name+ext), b, 0o644); err != nil {
						t.Fatal(err)
					}
				}
			}
		})
	}
}

// Everything that is possible, claimed or near is named in the identity chart;
// fluorite lies far off and is left out.
func TestIdentity_NamesAll(t *testing.T) {
	f := samples()["identity"].(Identity)
	svg, err := SVG(f)
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range f.Boxes {
		if named := strings.Contains(string(svg), ">"+b.Name+"<"); named != (b.Name != "fluorite") {
			t.Errorf("%s is named: %v", b.Name, named)
		}
	}
	if strings.Contains(string(svg), "no room") {
		t.Error("some label found no room")
	}
}

// A table of a hundred materials still gives a readable picture: what is left
// is named, far and unknown ones are not drawn.
func TestIdentity_ManyBoxes(t *testing.T) {
	f := samples()["identity"].(Identity)
	for i := range 100 {
		n, sg := 1.4+float64(i%10)*0.13, 1.0+float64(i/10)*0.7
		f.Boxes = append(f.Boxes, IdentityBox{Name: "other " + strconv.Itoa(i), SGLow: sg, SGHigh: sg + 0.1, NLow: n,
			NHigh: n + 0.01})
	}
	f.Boxes = append(f.Boxes, IdentityBox{Name: "unknown constants", Left: true})
	svg, err := SVG(f)
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range f.Boxes {
		named := strings.Contains(string(svg), ">"+b.Name+"<")
		if b.Left && b.known() && !named {
			t.Errorf("%s is left but not named", b.Name)
		}
		if !b.known() && named {
			t.Errorf("%s has no constants but is drawn", b.Name)
		}
	}
	if n := strings.Count(string(svg), ">other "); n > excludedShown {
		t.Errorf("%d excluded boxes are named", n)
	}
	if *pictures != "" {
		raw, err := PNG(f, 100)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(*pictures, "identity-many.png"), raw, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// A model with nothing in it is still a picture.
func TestFigures_Empty(t *testing.T) {
	for _, f := range []Figure{Identity{}, Tornado{}, Histogram{}, Dose{}, Reliability{}, Plan{},
		Sheets(100, 100, "", nil)[0], Identity{Stones: []IdentityStone{{}}},
		Plan{Pieces: []PlanPiece{{Name: "bare"}}}, Layings{Width: 100}} {
		if _, err := SVG(f); err != nil {
			t.Errorf("%T: %v", f, err)
		}
	}
}

// Each direction of a laying draws something of its own; the axis of a star is drawn
// once.
func TestLayings_EachDirection(t *testing.T) {
	drawing := func(d ...Direction) string {
		svg, err := SVG(Layings{Width: 170, Items: []Laying{{Title: "A", Cabochon: true, Directions: d}}})
		if err != nil {
			t.Fatal(err)
		}
		return string(svg)
	}
	seen := map[string]Direction{drawing(): "none"}
	for _, d := range []Direction{OffCleavage, Upright, Along, BestColour, StarAxis, EyeFibres} {
		if as, twice := seen[drawing(d)]; twice {
			t.Errorf("%s is drawn as %s", d, as)
		}
		seen[drawing(d)] = d
	}
	if drawing(StarAxis) != drawing(Upright, StarAxis) {
		t.Error("the axis of a star is drawn twice")
	}
}

// Placed labels never overlap each other or an obstacle, and stay in the area.
func TestPlace_NoOverlap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		area := rect{0, 0, 400, 300}
		box := rapid.Custom(func(t *rapid.T) rect {
			x, y := rapid.Float64Range(0, 380).Draw(t, "x"), rapid.Float64Range(0, 280).Draw(t, "y")
			return rect{x, y, x + rapid.Float64Range(1, 60).Draw(t, "w"), y + rapid.Float64Range(1, 40).Draw(t, "h")}
		})
		obstacles := rapid.SliceOfN(box, 0, 4).Draw(t, "obstacles")
		var labels []label
		for _, b := range rapid.SliceOfN(box, 1, 30).Draw(t, "boxes") {
			labels = append(labels, label{of: b, w: rapid.Float64Range(10, 70).Draw(t, "width"), h: 9})
		}
		place(labels, obstacles, area)
		for i, l := range labels {
			if !l.set {
				continue
			}
			if !l.at.inside(area) {
				t.Fatalf("label %d lies outside", i)
			}
			for _, o := range obstacles {
				if l.at.overlaps(o) {
					t.Fatalf("label %d covers an obstacle", i)
				}
			}
			for j, m := range labels[:i] {
				if m.set && l.at.overlaps(m.at) {
					t.Fatalf("labels %d and %d overlap", i, j)
				}
			}
		}
	})
}

// A page of outlines is at full size: at 254 dpi a millimetre is ten dots, so
// the check bar must be 500 dots long and a 10 mm round stone 100 dots wide.
func TestSheet_FullSize(t *testing.T) {
	page := Sheets(100, 80, "page", []SheetItem{{Outline: circle(10), Lines: []string{"A"}}})[0]
	raw, err := PNG(page, 254)
	if err != nil {
		t.Fatal(err)
	}
	picture, err := png.Decode(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	darkSpan := func(y int, to int) (first, last int) {
		first, last = -1, -1
		for x := range to {
			if r, _, _, _ := picture.At(x, y).RGBA(); r < 0x8000 {
				if first < 0 {
					first = x
				}
				last = x
			}
		}
		return first, last
	}
	if first, last := darkSpan(140, 540); math.Abs(float64(last-first)-500) > 5 {
		t.Errorf("check bar runs from dot %d to %d, want 500 dots", first, last)
	}
	widest := 0
	for y := int(10 * sheetHead); y < int(10*(sheetHead+10)); y++ {
		first, last := darkSpan(y, 400)
		widest = max(widest, last-first)
	}
	if math.Abs(float64(widest)-100) > 4 {
		t.Errorf("a 10 mm stone is %d dots wide, want 100", widest)
	}
}

// All items are on some page, and none reaches over the page's foot.
func TestSheets_AllItems(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var items []SheetItem
		for range rapid.IntRange(1, 40).Draw(t, "items") {
			l := rapid.Float64Range(1, 60).Draw(t, "length")
			items = append(items, SheetItem{Outline: ellipse(l, l*0.8), Lines: []string{"A", "size"}})
		}
		n := 0
		for _, page := range Sheets(180, 240, "h", items) {
			n += len(page.Items)
			for _, at := range page.layout() {
				if at.bottom > 240 || at.left+at.width > 181 {
					t.Fatalf("an item reaches %v x %v on a page of 180 x 240", at.left+at.width, at.bottom)
				}
			}
		}
		if n != len(items) {
			t.Fatalf("%d items on pages, want %d", n, len(items))
		}
	})
}

func TestDose_RefusesZero(t *testing.T) {
	if _, err := SVG(Dose{Ways: []DoseWay{{"dark", 0}}}); err == nil {
		t.Error("a rate of 0 has no place on a logarithmic axis, but was drawn")
	}
}
