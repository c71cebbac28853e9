package page

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

func words(s Style, w string) Cell { return Cell{Text: []Text{{Style: s, Words: w}}} }

// table is a table of n rows, "1" to "n", in a frame of a height.
func table(kind Table, n int, height float64) *Paper {
	b := Block{Table: kind, Columns: []Column{{Header: "No", Width: 20}, {Header: "What"}}}
	for i := range n {
		b.Rows = append(b.Rows, Row{Cells: []Cell{words(Fine, fmt.Sprint(i+1)), words(Fine, "x")}})
	}
	return &Paper{Format: Format{Width: 100, Height: 400, Frames: []Frame{{10, 10, 60, height}}},
		Parts: []Part{{Blocks: []Block{b}}}}
}

// column are the words of each sheet at the left edge, and the level lines between
// them: - for a hairline, = for a firm one.
func column(t *testing.T, p *Paper) string {
	t.Helper()
	sheets, err := p.Sheets(half)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, s := range sheets {
		type mark struct {
			y    float64
			word string
		}
		var marks []mark
		for _, w := range s.Words {
			if w.X == 10 {
				marks = append(marks, mark{w.Y, w.Words})
			}
		}
		for _, l := range s.Lines {
			if l.Points[0].X == 10 && l.Points[0].Y == l.Points[1].Y {
				marks = append(marks, mark{l.Points[0].Y, map[Rule]string{Hairline: "-", Firm: "="}[l.Rule]})
			}
		}
		slices.SortStableFunc(marks, func(a, b mark) int { return int(math.Copysign(1, a.y-b.y)) })
		text := ""
		for _, m := range marks {
			text += " " + m.word
		}
		out = append(out, strings.TrimSpace(text))
	}
	return strings.Join(out, " | ")
}

// A table has a firm line below its heads and below its last row, hairlines
// between; where it goes on, its heads are there again and the line stays with the
// row above it. Of a list of more than 20 rows each fifth is ruled.
func TestTable_Rules(t *testing.T) {
	if got, want := column(t, table(MemoTable, 3, 100)), "No = 1 - 2 - 3 ="; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	// heads 4.9, rows 5.7
	if got, want := column(t, table(MemoTable, 3, 4.9+2*5.7)), "No = 1 - 2 - | No = 3 ="; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if got, want := column(t, table(ListTable, 7, 100)), "No = 1 - 2 - 3 - 4 - 5 - 6 - 7 ="; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	long := "No = 1 2 3 4 5 - 6 7 8 9 10 - 11 12 13 14 15 - 16 17 18 | No = 19 20 - 21 22 ="
	if got := column(t, table(ListTable, 22, 4.9+18*4.7)); got != long {
		t.Errorf("%s, want %s", got, long)
	}
}

// The head of a group takes its first row with it, a total the row above it.
func TestTable_GroupAndTotal(t *testing.T) {
	p := table(MemoTable, 4, 4.9+3*5.7+1)
	rows := p.Parts[0].Blocks[0].Rows
	rows[2] = Row{Group: true, Cells: []Cell{{Span: 2, Text: []Text{{Style: Fine, Words: "lent"}}}}}
	rows[3].Total = true
	if got, want := column(t, p), "No = 1 - 2 | No = lent = 4"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	rows[2] = rows[1]
	if got, want := column(t, p), "No = 1 - 2 - | No = 2 = 4"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	rows[2], rows[3].Total = Row{Group: true, Cells: []Cell{words(Fine, "lent")}}, false
	if got, want := column(t, p), "No = 1 - 2 | No = lent - 4 ="; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// Totals, terms and signatures stay together, and with the last row of the table;
// only what no sheet has room for is parted.
func TestPart_End(t *testing.T) {
	p := table(MemoTable, 3, 4.9+3*5.7+5)
	p.Parts[0].End = paragraphs(Fine, "terms", "sign")
	if got, want := column(t, p), "No = 1 - 2 - | No = 3 = terms sign"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	p.Parts[0].End = paragraphs(Fine, "a", "b", "c", "d", "e", "f", "g")
	if got, want := column(t, p), "No = 1 - 2 - | No = 3 = a b c d | e f g"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// Columns that are sized by what they hold fill the width; the widest gives way
// first, and a number that has no room is a fault that names its cell.
func TestTable_Fit(t *testing.T) {
	list := func(width float64, cells ...string) *Paper {
		b := Block{Table: ListTable}
		r := Row{}
		for i, c := range cells {
			b.Columns = append(b.Columns, Column{Header: fmt.Sprintf("C%d", i+1), Fit: true})
			r.Cells = append(r.Cells, words(Fine, c))
		}
		b.Rows = []Row{r}
		return &Paper{Number: "S-1", Format: Format{Frames: []Frame{{0, 0, width, 100}}},
			Parts: []Part{{Blocks: []Block{b}}}}
	}
	const wide = 0.5 * 8 * mmPerPoint // of a letter: 1.411
	lines := func(p *Paper) string {
		sheets, err := p.Sheets(half)
		if err != nil {
			t.Fatal(err)
		}
		text := ""
		for _, w := range sheets[0].Words[len(p.Parts[0].Blocks[0].Columns):] {
			text += fmt.Sprintf("%s %.1f; ", w.Words, w.X)
		}
		return text
	}
	// "aaaa" takes 5.6 + 3, "bb cc" 7.1; 60 leaves 44.3, for the first alone
	if got, want := lines(list(60, "aaaa", "bb cc")), "aaaa 0.0; bb cc 52.9; "; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if got, want := lines(list(4*wide+3+4*wide, "aaaa", "bb cc")), "aaaa 0.0; bb 8.7; cc 8.7; "; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	// a word that has no room goes on in the next line; a number is never broken
	if got, want := lines(list(4*wide+3+4*wide, "aaaa", "bbbbbb")), "aaa 0.0; a 0.0; bbbbb 7.2; b 7.2; "; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	number := list(10, "aaaa", "")
	number.Parts[0].Blocks[0].Rows[0].Cells[1] = Cell{Text: []Text{{Style: Fine, Value: &Value{Number: num.MustDec(
		"666666")}}}}
	_, err := number.Sheets(half)
	faults, ok := fault.From(err)
	if !ok || !slices.ContainsFunc(faults, func(f *fault.Fault) bool {
		return f.Code == "paper-wide" && f.Where.Ref == "S-1" &&
			f.What == `"666,666" is too wide for the column "C2" of the row "aaaa"`
	}) {
		t.Errorf("%v", err)
	}
}

// The first lines of the cells of a row stand on one line, whatever their size.
func TestRow_OneLine(t *testing.T) {
	nested := Cell{Blocks: []Block{{Rows: []Row{{Pad: 1, Cells: []Cell{words(Fine, "c")}}}}}}
	p := &Paper{Format: Format{Frames: []Frame{{0, 0, 90, 90}}}, Parts: []Part{{Blocks: []Block{{
		Columns: []Column{{}, {}, {}}, Rows: []Row{{Cells: []Cell{words(Job, "a"), words(Body, "b"), nested}},
			{Cells: []Cell{words(Body, "d")}}}}}}}}
	sheets, err := p.Sheets(half)
	if err != nil {
		t.Fatal(err)
	}
	w := sheets[0].Words
	if feet := Job.Look().baseline(); w[0].Y != feet || math.Abs(w[1].Y-feet) > 1e-9 || math.Abs(w[2].Y-feet) > 1e-9 {
		t.Errorf("%+v", w)
	}
	if w[3].Y < w[0].Y+Body.Look().Leading {
		t.Errorf("the next row stands at %g, below %g", w[3].Y, w[0].Y)
	}
}

// What is written in, ticked, crossed, framed and signed is drawn as lines.
func TestCell_Drawn(t *testing.T) {
	p := &Paper{Format: Format{Frames: []Frame{{0, 0, 100, 200}}}, Parts: []Part{{Blocks: []Block{
		{Table: WriteTable, Columns: []Column{{Width: 20}, {Width: 30, Edge: Pen}, {Edge: Pen}},
			Rows: []Row{{Cells: []Cell{words(Body, "a"), {}, {}}}}},
		{Columns: []Column{{Width: 50}}, Rows: []Row{
			{Cells: []Cell{{Text: []Text{{Words: "pieces", Write: 13}}}}},
			{Cells: []Cell{{Text: []Text{{Mark: Tick}}}}},
			{Cells: []Cell{{Text: []Text{{Words: "torch", Mark: Cross}}}}},
			{Cells: []Cell{{Frame: Thick, Inset: 3, Height: 20, Text: []Text{{Words: "never"}}}}}}},
		{Signatures: []Signature{{"we", "date"}, {"you", "date"}}}}}}}
	sheets, err := p.Sheets(half)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, l := range sheets[0].Lines {
		a, b := l.Points[0], l.Points[len(l.Points)-1]
		if l.Closed {
			b = l.Points[2]
		}
		got = append(got, fmt.Sprintf("%.2f %.1f,%.1f %.1f,%.1f", l.Rule.Width(), a.X, a.Y, b.X, b.Y))
	}
	want := []string{"0.15 20.0,0.0 20.0,7.4", "0.15 50.0,0.0 50.0,7.4", "0.15 100.0,0.0 100.0,7.4",
		"0.35 0.0,7.4 100.0,7.4", "0.15 37.0,12.6 50.0,12.6", "0.15 0.0,16.1 3.4,19.5", "0.35 0.0,21.0 2.4,23.4",
		"0.35 0.0,23.4 2.4,21.0", "0.70 0.3,24.8 49.6,44.0", "0.15 0.0,60.4 41.0,60.4", "0.15 59.0,60.4 100.0,60.4"}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if never := sheets[0].Words[3]; never.Words != "never" || never.X != 3 {
		t.Errorf("%+v", never)
	}
}

// A picture fits into its cell, in the middle of its frame, and keeps its shape.
func TestCell_Picture(t *testing.T) {
	for _, c := range []struct {
		wide, high int
		want       Frame
	}{
		{1600, 1200, Frame{0, 3.8125, 30.5, 22.875}}, {300, 600, Frame{7.625, 0, 15.25, 30.5}},
	} {
		p := &Paper{Format: Format{Frames: []Frame{{0, 0, 100, 100}}}, Parts: []Part{{Blocks: []Block{{
			Columns: []Column{{Width: 33.5}, {}}, Rows: []Row{{Cells: []Cell{{Frame: Hairline, Height: 30.5,
				Picture: &Picture{Wide: c.wide, High: c.high}}}}}}}}}}
		sheets, err := p.Sheets(half)
		if err != nil || len(sheets[0].Pictures) != 1 || sheets[0].Pictures[0].Frame != c.want {
			t.Errorf("%v, %+v, want %+v", err, sheets[0].Pictures, c.want)
		}
	}
}

// Whatever a table holds, on a sheet of the house with head, foot and end: each
// row stands once, in order, and no text stands outside the margins or over
// another.
func TestTable_Any(t *testing.T) {
	text := rapid.StringOfN(rapid.RuneFrom([]rune("abcd  ")), 1, 60, -1)
	rapid.Check(t, func(r *rapid.T) {
		kind := Table(rapid.IntRange(int(ListTable), len(pads)-1).Draw(r, "table"))
		b := Block{Table: kind, Columns: []Column{{Header: "No", Width: 20}, {Header: "What", Fit: rapid.Bool().Draw(r,
			"fit")}, {Header: "How many", Width: 20, Align: Right}}}
		n := rapid.IntRange(0, 90).Draw(r, "rows")
		for i := range n {
			b.Rows = append(b.Rows, Row{Group: rapid.IntRange(0, 9).Draw(r, "group") == 0, Cells: []Cell{words(Body,
				fmt.Sprint(i)), words(Fine, text.Draw(r, "text")), words(Fine, "7")}})
		}
		p := &Paper{Landscape: rapid.Bool().Draw(r, "landscape"), Size: Size(rapid.IntRange(0, 1).Draw(r, "size")),
			Head: &Head{Word: "List", Again: "List, again"}, Footer: Footer{"left", "right"}, Parts: []Part{{
				Blocks: []Block{b}, End: []Block{{Rows: []Row{{Cells: []Cell{words(Body, "end")}}},
					Signatures: []Signature{{
						"who", "what"}}}}}}}
		sheets, err := p.Sheets(half)
		if _, ok := fault.From(err); ok {
			return // a word that is too wide
		}
		if err != nil {
			r.Fatal(err)
		}
		row, f := 0, p.format()
		f.Frames[0].Y, f.Frames[0].Height = 5, f.Height-12 // with head and foot
		for _, s := range sheets {
			if what := misplaced(f, s); what != "" {
				r.Fatal(what)
			}
			for _, w := range s.Words {
				if w.Style == Body && w.Words == fmt.Sprint(row) {
					row++
				}
			}
		}
		if row != n {
			r.Fatalf("%d of %d rows stand in their order", row, n)
		}
	})
}
