package page

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lotpaper/internal/fault"
)

// half is a type in which every letter of the first planes is half as wide as it
// is high: at 9 points 1.5875 mm.
func half(_ Face, r rune) (int, bool) { return 500, r < 0x0600 }

const letter = 0.5 * 9 * mmPerPoint

func TestWrap(t *testing.T) {
	l := Body.Look()
	for _, c := range []struct {
		name, words string
		letters     float64 // a line holds
		want        []string
	}{
		{"one line", "a pouch of its own", 18, []string{"a pouch of its own"}},
		{"at spaces", "a pouch of its own", 12, []string{"a pouch of", "its own"}},
		{"no line of one word", "wear it for sport", 14, []string{"wear it", "for sport"}},
		{"unless the line above has only two", "sapphire blue green", 13, []string{"sapphire blue", "green"}},
		{"never at a no-break space", "oval 8.0\u00a0×\u00a06.0\u00a0mm", 13,
			[]string{"oval", "8.0\u00a0×\u00a06.0\u00a0mm"}},
		{"a word wider than the line", "ab-cd/efg hi", 4, []string{"ab-", "cd/", "efg", "hi"}},
		{"a hyphen that has room", "ab-cd efg", 5, []string{"ab-cd", "efg"}},
		{"spaces alone", "   ", 9, nil},
		{"nothing", "", 9, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got, wide := Advance(half).wrap(l, c.words, c.letters*letter, false); !slices.Equal(got, c.want) ||
				wide != "" {
				t.Errorf("%q, %q, want %q", got, wide, c.want)
			}
		})
	}
}

// A text that a paper cannot show is a fault that names what is wrong with it;
// all of them are told at once.
func TestSheets_BadText(t *testing.T) {
	for name, c := range map[string]struct{ words, want string }{
		"emoji":           {"Bay ring \U0001F48E", `'💎' (U+1F48E)`},
		"another script":  {"海 ring", `'海' (U+6D77)`},
		"control":         {"Bay\tring", "the control character U+0009"},
		"new line":        {"Bay\nring", "the control character U+000A"},
		"escape":          {"Bay\x1b[31m", "the control character U+001B"},
		"direction":       {"Bay\u202ering", "the control character U+202E"},
		"line separator":  {"Bay\u2028ring", "the control character U+2028"},
		"not UTF-8":       {"Bay \xff", "bytes that are no UTF-8"},
		"accent apart":    {"Cafe\u0301", `the mark U+0301 after 'e'`},
		"byte order mark": {"\ufeffBay", "the control character U+FEFF"},
	} {
		t.Run(name, func(t *testing.T) {
			p := &Paper{Number: "CARE-2026-0001", Title: c.words, Format: CareCards(), Parts: []Part{
				{Blocks: paragraphs(Body, "Bay ring", c.words)}, {Foot: paragraphs(Note, "\x00")}}}
			sheets, err := p.Sheets(half)
			faults, ok := fault.From(err)
			if sheets != nil || !ok || len(faults) != 2 {
				t.Fatalf("%v, %v", sheets, err)
			}
			if f := faults[0]; f.Kind != fault.Invalid || f.Where.Ref != p.Number || !strings.Contains(f.What, c.want) {
				t.Errorf("%+v, want %s", f, c.want)
			}
		})
	}
}

func paragraphs(s Style, words ...string) []Block {
	b := Block{}
	for _, w := range words {
		b.Rows = append(b.Rows, Row{Cells: []Cell{{Text: []Text{{Style: s, Words: w}}}}})
	}
	return []Block{b}
}

// A part begins in a frame of its own and goes on in the next one under its
// heading, above its foot; rows that keep together move together.
func TestSheets_Break(t *testing.T) {
	blocks := paragraphs(Body, "a", "b", "c", "d", "e") // 4.4 mm each
	blocks[0].Rows[2].Keep = true
	p := &Paper{Format: Format{Width: 60, Height: 50, Frames: []Frame{{5, 5, 20, 17.4}, {30, 5, 20, 17.4}}},
		Parts: []Part{{Blocks: blocks, Again: paragraphs(Note, "more"), Foot: paragraphs(Note, "end")},
			{Blocks: paragraphs(Body, "f")}}}
	if got, want := frames(t, p), "5 a b end | 30 more c d end | 5 more e end | 30 f"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	p.Parts[0].Tight = paragraphs(Fine, "a b c d e")
	if got, want := frames(t, p), "5 a b c d e end | 30 f"; got != want {
		t.Errorf("tight: %s, want %s", got, want)
	}
	p.Parts[0].Tight = paragraphs(Fine, "a", "b", "c", "d", "e", "f")
	if got, want := frames(t, p), "5 a b end | 30 more c d end | 5 more e end | 30 f"; got != want {
		t.Errorf("tight spares no frame: %s, want %s", got, want)
	}
	p.Parts[0].Tight = nil
	p.Parts[0].Blocks[0].Rows[4].Cells[0].Text = slices.Repeat([]Text{{Style: Body, Words: "e"}}, 4)
	_, err := p.Sheets(half)
	if faults, ok := fault.From(err); !ok || faults[0].Code != "paper-room" ||
		!strings.Contains(faults[0].What, `"e"`) {
		t.Errorf("a row that no frame has room for: %v", err)
	}
	p.Parts[0] = Part{Tight: paragraphs(Fine, "a")}
	if got, want := frames(t, p), "30 f"; got != want {
		t.Errorf("an empty part: %s, want %s", got, want)
	}
}

// frames are the words of each frame of a paper, after the frame's left edge.
func frames(t *testing.T, p *Paper) string {
	t.Helper()
	sheets, err := p.Sheets(half)
	if err != nil {
		t.Fatal(err)
	}
	out, left := "", 0.0
	for _, s := range sheets {
		left = 0
		for _, w := range s.Words {
			if w.X != left {
				out += fmt.Sprintf(" | %g", w.X)
			}
			left = w.X
			out += " " + w.Words
		}
	}
	return strings.TrimPrefix(out, " | ")
}

// Columns: the gutter keeps text apart, what stands at the right ends there, and
// the rule runs over the whole row.
func TestSheets_Columns(t *testing.T) {
	box := &Drawing{Width: 4, Height: 10, Lines: []Line{{Rule: Outline, Points: []Point{{0, 0}, {4, 10}}}}}
	p := &Paper{Format: Format{Width: 60, Height: 60, Frames: []Frame{{10, 10, 40, 40}}},
		Parts: []Part{{Blocks: []Block{{
			Columns: []Column{{Width: 15}, {}, {Width: 10, Align: Right}},
			Rows: []Row{{Space: 9, Rule: Firm, Pad: 1, Cells: []Cell{{Text: []Text{{Style: Body, Words: "aaaaaaa bb"}}},
				{Drawing: box},
				{Text: []Text{{Style: Body, Words: "9.50"}}}}},
				{Space: 2, Cells: []Cell{{Text: []Text{{Style: Body, Words: "below"}}}}}}}}}}}
	sheets, err := p.Sheets(half)
	if err != nil {
		t.Fatal(err)
	}
	s := sheets[0]
	words := ""
	for _, w := range s.Words {
		words += fmt.Sprintf("%s at %.2f, %.2f to %.2f\n", w.Words, w.X, w.Y, w.X+w.Width)
	}
	// Type of 9 points is 3.175 mm high: 0.83 x 3.175 + (4.4 - 3.175) / 2 = 3.248 below the top of its line.
	if want := `aaaaaaa at 10.00, 14.25 to 21.11
bb at 10.00, 18.65 to 13.18
9.50 at 43.65, 14.25 to 50.00
below at 10.00, 27.25 to 17.94
`; words != want {
		t.Errorf("got\n%swant\n%s", words, want)
	}
	rule, drawn := s.Lines[0], s.Lines[1]
	if !slices.Equal(rule.Points, []Point{{10, 10}, {50, 10}}) ||
		!slices.Equal(drawn.Points, []Point{{25, 11}, {29, 21}}) {
		t.Errorf("rule %v, drawing %v", rule.Points, drawn.Points)
	}
}

// Whatever a paper says, no text stands outside the frames and none over another.
func TestSheets_Inside(t *testing.T) {
	words := rapid.StringOfN(rapid.RuneFrom([]rune("abcdefg  ")), 0, 120, -1)
	styles := rapid.Map(rapid.IntRange(0, len(looks)-1), func(i int) Style { return Style(i) })
	rapid.Check(t, func(r *rapid.T) {
		row := rapid.Custom(func(r *rapid.T) Row {
			cell := func() Cell {
				return Cell{Text: []Text{{Style: styles.Draw(r, "style"), Words: words.Draw(r, "words")}}}
			}
			return Row{Space: rapid.Float64Range(0, 5).Draw(r, "space"), Keep: rapid.Bool().Draw(r, "keep"),
				Cells: []Cell{cell(), cell()}}
		})
		block := Block{Columns: []Column{{Width: 30}, {}}, Rows: rapid.SliceOfN(row, 0, 8).Draw(r, "rows")}
		p := &Paper{Format: CareCards(), Parts: []Part{{Blocks: []Block{block}, Foot: paragraphs(Note, "foot")},
			{Blocks: []Block{block}}}}
		sheets, err := p.Sheets(half)
		if _, ok := fault.From(err); ok {
			return // rows that keep together and fit nowhere
		}
		if err != nil {
			r.Fatal(err)
		}
		for _, s := range sheets {
			if what := misplaced(p.Format, s); what != "" {
				r.Fatal(what)
			}
		}
	})
}

// misplaced says which text of a sheet stands outside the frames or over another;
// empty: none.
func misplaced(f Format, s Sheet) string {
	box := func(w Placed) Frame {
		l := w.Style.Look()
		return Frame{w.X, w.Y - l.baseline(), w.Width, l.Leading}
	}
	const eps = 1e-6
	for i, w := range s.Words {
		b := box(w)
		if !slices.ContainsFunc(f.Frames, func(o Frame) bool {
			return b.X > o.X-eps && b.Y > o.Y-eps && b.X+b.Width < o.X+o.Width+eps && b.Y+b.Height < o.Y+o.Height+eps
		}) {
			return fmt.Sprintf("%q at %+v stands outside every frame", w.Words, b)
		}
		for _, other := range s.Words[:i] {
			o := box(other)
			if b.X < o.X+o.Width-eps && o.X < b.X+b.Width-eps && b.Y < o.Y+o.Height-eps && o.Y < b.Y+b.Height-eps {
				return fmt.Sprintf("%q stands over %q", w.Words, other.Words)
			}
		}
	}
	return ""
}

// Nothing on a paper is smaller than 8 points, and no lines are nearer than their
// letters are high.
func TestLooks(t *testing.T) {
	for s := range looks {
		if l := Style(s).Look(); l.Points < 8 || l.Leading < l.Points*mmPerPoint {
			t.Errorf("style %d: %+v", s, l)
		}
	}
}

// Nothing is printed within 10 mm of a cut or an edge, except the marks, which
// lie on the cuts.
func TestCareCards(t *testing.T) {
	f := CareCards()
	if f.Width != 210 || f.Height != 297 || len(f.Frames) != 4 {
		t.Fatalf("%+v", f)
	}
	far := func(low, high, cut float64) bool { return high <= cut-10 || low >= cut+10 }
	for _, b := range f.Frames {
		for _, cut := range []float64{0, 105, 210} {
			if !far(b.X, b.X+b.Width, cut) {
				t.Errorf("%+v is near the cut at x = %g", b, cut)
			}
		}
		for _, cut := range []float64{0, 148.5, 297} {
			if !far(b.Y, b.Y+b.Height, cut) {
				t.Errorf("%+v is near the cut at y = %g", b, cut)
			}
		}
	}
	for _, m := range f.Marks {
		a, b := m.Points[0], m.Points[1]
		if (a.X != 105 || b.X != 105) && (a.Y != 148.5 || b.Y != 148.5) {
			t.Errorf("the mark %v lies on no cut", m.Points)
		}
	}
}
