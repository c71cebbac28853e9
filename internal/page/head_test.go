package page

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

func letterHead() *Head {
	return &Head{House: &House{Name: "House", Trade: "stones", Address: []string{"1 Quay"}}, Word: "Quote",
		Number: "Q-1", Stamp: "DRAFT", Reader: []string{"A Shop"}, Lead: "Look at it.", Again: "Quote Q-1",
		Facts: []Fact{{"Date", Text{Value: &Value{Kind: Date, On: "2026-03-13"}}}}}
}

// places are the places of the words of a sheet, and of its lines.
func places(s Sheet) map[string]Point {
	out := map[string]Point{}
	for _, w := range s.Words {
		out[w.Words] = Point{w.X, w.Y}
	}
	return out
}

// The parts of a letter stand where windows of envelopes and readers expect them.
func TestHead_Letter(t *testing.T) {
	for size, right := range map[Size]float64{A4: 190, Letter: 195.9} {
		p := &Paper{Size: size, Head: letterHead(), Parts: []Part{{Blocks: paragraphs(Body, "text")}}}
		sheets, err := p.Sheets(half)
		if err != nil {
			t.Fatal(err)
		}
		at := places(sheets[0])
		for word, want := range map[string]Point{"House": {20, 20}, "stones": {20, 24.6}, "1 Quay": {right - 52, 18.7},
			"A Shop": {20, 53}, "Date": {right - 76, 53}, "13\u00a0March\u00a02026": {right - 52, 53},
			"Quote":       {20, 88},
			"Look at it.": {20, 94.4}} {
			if got := at[word]; fmt.Sprintf("%.2f", got) != fmt.Sprintf("%.2f", want) {
				t.Errorf("%s stands at %.2f, want %.2f", word, got, want)
			}
		}
		if text := at["text"]; text.Y < 99 || text.Y > 106 {
			t.Errorf("the text begins at %g", text.Y)
		}
		if stamp := sheets[0].Lines[0]; stamp.Rule != Firm || !stamp.Closed || stamp.Points[0].X <= at["Q-1"].X {
			t.Errorf("the stamp: %+v", stamp)
		}
	}
	p := &Paper{Head: letterHead(), Parts: []Part{{Blocks: paragraphs(Body, "text")}}}
	p.Head.House.Logo = &Picture{Wide: 1600, High: 200}
	sheets, err := p.Sheets(half)
	if err != nil || places(sheets[0])["House"].X != 45 || sheets[0].Pictures[0].Frame != (Frame{20, 14, 20, 2.5}) {
		t.Errorf("%v: a wide logo is scaled: %+v", err, sheets[0].Pictures)
	}
}

// Every further sheet begins with its line; sheets are counted where there are
// several.
func TestFooter(t *testing.T) {
	p := &Paper{Head: letterHead(), Footer: Footer{"House · tax", "Quote Q-1"}, Parts: []Part{{Blocks: paragraphs(Body,
		"text")}}}
	feet := func() (out []string) {
		sheets, err := p.Sheets(half)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range sheets {
			for _, w := range s.Words[len(s.Words)-2:] {
				out = append(out, fmt.Sprintf("%s %.0f %.0f", w.Words, w.X+w.Width, w.Y))
			}
		}
		if len(sheets) > 1 && places(sheets[1])["Quote Q-1"] != (Point{20, 15}) {
			t.Errorf("the second sheet begins with %+v", sheets[1].Words[0])
		}
		return out
	}
	if got, want := feet(), []string{"House · tax 36 286", "Quote Q-1 190 286"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	p.Parts = append(p.Parts, p.Parts[0])
	if got, want := feet(), []string{"House · tax 36 286", "Quote Q-1, page 1 of 2 190 286", "House · tax 36 286",
		"Quote Q-1, page 2 of 2 190 286"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

// What has no room in head or foot is a fault; so is what cannot be printed
// there.
func TestHead_Faults(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*Paper)
		want   string
	}{
		"address": {func(p *Paper) { p.Head.Reader = slices.Repeat([]string{"x"}, 8) }, "room for 7 lines"},
		"facts":   {func(p *Paper) { p.Head.Facts = slices.Repeat(p.Head.Facts, 8) }, "room for 7 lines"},
		"foot":    {func(p *Paper) { p.Footer = Footer{Left: strings.Repeat("a b c ", 60)} }, "foot of the paper"},
		"foot of a list": {func(p *Paper) {
			p.Landscape, p.Footer = true, Footer{Left: strings.Repeat("a b c ", 40)}
		}, "foot of the paper"},
		"word": {func(p *Paper) { p.Head.House, p.Head.Number = nil, strings.Repeat("9", 90) },
			"too wide for the head of the paper"},
		"long word":  {func(p *Paper) { p.Head.Reader = []string{strings.Repeat("x", 90)} }, "too wide for the head"},
		"letters":    {func(p *Paper) { p.Head.Number = "\x07" }, "U+0007"},
		"of a table": {func(p *Paper) { p.Parts[0].Blocks[0].Columns = []Column{{Header: "\x07"}} }, "U+0007"},
		"of a caption": {func(p *Paper) {
			p.Parts[0].Blocks[0].Rows[0].Cells[0].Drawing = &Drawing{Captions: []Caption{{Text: Text{Words: "\x07"}}}}
		}, "U+0007"},
		"of a signature": {func(p *Paper) { p.Parts[0].End = []Block{{Signatures: []Signature{{"\x07", ""}}}} },
			"U+0007"},
	} {
		p := &Paper{Head: letterHead(), Parts: []Part{{Blocks: paragraphs(Body, "text")}}}
		c.change(p)
		sheets, err := p.Sheets(half)
		if faults, ok := fault.From(err); !ok || sheets != nil || !strings.Contains(faults[0].What, c.want) {
			t.Errorf("%s: %v, want %s", name, err, c.want)
		}
	}
}

func TestValue_Words(t *testing.T) {
	for _, c := range []struct {
		value Value
		want  string
	}{
		{Value{Kind: Money, Number: num.MustDec("1234567.5"), Places: 2}, "1,234,567.50"},
		{Value{Kind: Money, Number: num.MustDec("-1175.4"), Places: 2}, "−1,175.40"},
		{Value{Kind: Money, Number: num.MustDec("-0.001"), Places: 2}, "0.00"},
		{Value{Kind: Money, Number: num.MustDec("-123"), Places: 0}, "−123"},
		{Value{Kind: Carats, Number: num.MustDec("0.525"), Places: 3}, "0.525"},
		{Value{Kind: Count, Number: num.MustDec("1000")}, "1,000"},
		{Value{Kind: Percent, Number: num.MustDec("32.84"), Places: 1}, "32.8"},
		{Value{Kind: Date, On: "2026-03-05"}, "March\u00a05,\u00a02026"},
		{Value{Kind: Date, On: "soon"}, "soon"},
	} {
		if got := c.value.words(MonthFirst); got != c.want {
			t.Errorf("%+v: %s, want %s", c.value, got, c.want)
		}
	}
	if d, y := DayFirst.Words("2026-03-05"), YearFirst.Words("2026-03-05"); d != "5\u00a0March\u00a02026" ||
		y != "2026-03-05" {
		t.Errorf("%s, %s", d, y)
	}
}

// The accent is the house's, unless a grey print would lose it.
func TestAccent(t *testing.T) {
	for ink, dark := range map[string]bool{"114/114/114": true, "115/115/115": false, "0/0/255": true, "18/82/92": true,
		"200/0/0": true, "255/0/0": false, "0/195/0": false, "0/0/0": true} {
		if _, bad := ParseInk(ink); (bad == nil) != dark {
			t.Errorf("%s: %v", ink, bad)
		}
	}
	own := Ink{110, 30, 60}
	p := &Paper{Accent: &own}
	if p.Look(Title).Ink != own || p.Look(Body).Ink != black || (&Paper{}).Look(Title).Ink != accent {
		t.Error("the accent is not where it belongs")
	}
}
