package pdf

import (
	"bytes"
	"testing"

	"lotpaper/internal/fault"
	"lotpaper/internal/page"
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
	sheets, err := Sheets(sample())
	if err != nil {
		t.Fatal(err)
	}
	sameWords(t, written(t, sample()), sheets)
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
