package pdf

import (
	"bytes"
	"compress/zlib"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"regexp"
	"strings"
	"testing"

	"lotpaper/internal/fault"
	"lotpaper/internal/page"
	"lotpaper/internal/testkit/office"
)

// sample has Latin, Greek and Cyrillic, signs of every paper, every face, and a
// bar of 50 mm.
func sample() *page.Paper {
	row := func(s page.Style, words string) page.Row {
		return page.Row{Cells: []page.Cell{{Text: []page.Text{{Style: s, Words: words}}}}}
	}
	bar := &page.Drawing{Width: 50, Height: 5, Lines: []page.Line{{Rule: page.Outline,
		Points: []page.Point{{X: 0, Y: 2}, {X: 50, Y: 2}}}}}
	return &page.Paper{Number: "CARE-2026-0001", Title: "Care cards: Ærø (π)", Author: "Tide & Quill", Language: "en",
		On: "2026-03-13", Format: page.CareCards(), Parts: []page.Part{{Blocks: []page.Block{{Rows: []page.Row{
			row(page.Piece, "Łódź ring (Ærø)"), row(page.Heading, "Σάπφειρος"), row(page.Body, "Сапфир, тёмно-синий"),
			row(page.Small, "7.90–8.10\u00a0×\u00a05.90\u00a0mm, −1 % ☐ ✓"), row(page.Label, "Wear"),
			row(page.Strong, "Never"), {Cells: []page.Cell{{Drawing: bar}}}}}}}}}
}

func written(t *testing.T, p *page.Paper) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, p); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// The same paper is the same bytes, and says of itself what the paper says.
func TestWrite_SameBytes(t *testing.T) {
	raw := written(t, sample())
	if again := written(t, sample()); !bytes.Equal(raw, again) {
		t.Error("a paper drawn twice is two files")
	}
	for _, want := range []string{"/Producer (lotpaper)", "/Lang (en)", "D:20260313000000", "/Count 1\n"} {
		if !bytes.Contains(raw, []byte(want)) {
			t.Errorf("the file lacks %q", want)
		}
	}
}

// Each text of the layout is found in the file, at its place within 0.1 mm, in
// the order in which it was set, by a program that is not ours.
func TestWrite_Words(t *testing.T) {
	type word struct {
		X    float64 `xml:"xMin,attr"`
		End  float64 `xml:"xMax,attr"`
		Text string  `xml:",chardata"`
	}
	var found struct {
		Words []word `xml:"body>doc>page>word"`
	}
	if err := xml.Unmarshal(office.Poppler(t, written(t, sample()), "pdftotext", "-bbox", "-raw"), &found); err != nil {
		t.Fatal(err)
	}
	advance, err := advance()
	if err != nil {
		t.Fatal(err)
	}
	sheets, err := sample().Sheets(advance)
	if err != nil {
		t.Fatal(err)
	}
	i := 0
	for _, set := range sheets[0].Words {
		fields := strings.Fields(set.Words) // a no-break space parts words too
		if i+len(fields) > len(found.Words) {
			t.Fatalf("the file ends before %q", set.Words)
		}
		first, last := found.Words[i], found.Words[i+len(fields)-1]
		for _, f := range fields {
			if found.Words[i].Text != f {
				t.Errorf("%q, want %q of %q", found.Words[i].Text, f, set.Words)
			}
			i++
		}
		const mm = 25.4 / 72
		if math.Abs(first.X*mm-set.X) > 0.1 || math.Abs(last.End*mm-set.X-set.Width) > 0.1 {
			t.Errorf("%q stands from %.2f to %.2f mm, want %.2f to %.2f", set.Words, first.X*mm, last.End*mm, set.X,
				set.X+set.Width)
		}
	}
	if i != len(found.Words) {
		t.Errorf("the file says more: %v", found.Words[i:])
	}
}

// A length is drawn at full size: the bar of 50 mm measures 50 mm within 0.1 mm.
func TestWrite_FullSize(t *testing.T) {
	raw := written(t, sample())
	line := regexp.MustCompile(`([\d.]+) ([\d.]+) m ([\d.]+) ([\d.]+) l`)
	for _, stream := range bytes.Split(raw, []byte("stream\n"))[1:] {
		z, err := zlib.NewReader(bytes.NewReader(stream))
		if err != nil {
			continue
		}
		text, _ := io.ReadAll(z)
		for _, m := range line.FindAllSubmatch(bytes.ReplaceAll(text, []byte("\n"), []byte(" ")), -1) {
			var x1, y1, x2, y2 float64
			if _, err := fmt.Sscan(string(bytes.Join(m[1:], []byte(" "))), &x1, &y1, &x2, &y2); err != nil {
				t.Fatal(err)
			}
			if long := math.Hypot(x2-x1, y2-y1) / 72 * 25.4; math.Abs(long-50) < 0.1 {
				return
			}
		}
	}
	t.Error("no line measures 50 mm")
}

// What the library would panic at, or print as an empty box, is a fault, and
// nothing is written.
func TestWrite_BadText(t *testing.T) {
	for _, bad := range []string{"Bay ring \U0001F48E", "\U0010FFFF", "\U00010000", "海", "טבעת", "خاتم",
		"a\tb", "a\x00b",
		"\xff\xfe", "e\u0301", "\u200b", "\uffff"} {
		p := sample()
		p.Parts[0].Blocks[0].Rows[0].Cells[0].Text[0].Words = bad
		var b bytes.Buffer
		err := Write(&b, p)
		if faults, ok := fault.From(err); !ok || faults[0].Where.Ref != p.Number || b.Len() > 0 {
			t.Errorf("%q: %v, %d bytes", bad, err, b.Len())
		}
		p = sample()
		p.Author, p.Title = bad, bad
		if _, ok := fault.From(Write(&b, p)); !ok {
			t.Errorf("%q as a title is no fault", bad)
		}
	}
}

// The widths that papers are laid out by are those that the library prints.
func TestAdvance_IsTheLibrarys(t *testing.T) {
	advance, err := advance()
	if err != nil {
		t.Fatal(err)
	}
	doc, err := open(sample(), []page.Sheet{{Width: 210, Height: 297}})
	if err != nil {
		t.Fatal(err)
	}
	for i, f := range faces {
		doc.SetFont(family, f.style, 9)
		letters := 0
		for r := rune(' '); r <= lastLetter; r++ {
			width, has := advance(page.Face(i), r)
			if !has {
				continue
			}
			letters++
			if got := doc.GetStringSymbolWidth(string(r)); got != width {
				t.Errorf("%s, %q: %d, the library has %d", f.file, r, width, got)
			}
		}
		if letters < 500 {
			t.Errorf("%s has %d letters", f.file, letters)
		}
		zero, _ := advance(page.Face(i), '0')
		for _, r := range "123456789" { // figures stand in columns
			if w, _ := advance(page.Face(i), r); w != zero {
				t.Errorf("%s: %q is %d wide, 0 is %d", f.file, r, w, zero)
			}
		}
	}
}
