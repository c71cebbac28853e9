package answer

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"testing"

	"lotpaper/data"
	"lotpaper/internal/book"
	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
	paper "lotpaper/internal/page"
	"lotpaper/internal/pdf"
	"lotpaper/internal/testkit/office"
)

// words are what blocks of a paper say, one cell a line.
func words(blocks []paper.Block) string {
	var b strings.Builder
	for _, block := range blocks {
		for _, r := range block.Rows {
			for _, c := range r.Cells {
				for _, t := range c.Text {
					fmt.Fprintln(&b, t.Words)
				}
				if c.Drawing != nil {
					fmt.Fprintf(&b, "[%d lines, %.2f x %.2f mm]\n", len(c.Drawing.Lines), c.Drawing.Width,
						c.Drawing.Height)
				}
			}
		}
	}
	return b.String()
}

func TestCareCards_Paper(t *testing.T) {
	p := sampleCards(t).Layout()
	text := fmt.Sprintf("%s, %s, %s, %s, %s\n", p.Number, p.Title, p.Author, p.Language, p.On)
	for _, part := range p.Parts {
		text += "\n" + words(part.Blocks) + "again: " + words(part.Again) + "foot: " + words(part.Foot)
		if tight := words(part.Tight); tight != words(part.Blocks) {
			t.Errorf("the smaller form says something else:\n%s", tight)
		}
	}
	golden(t, "care.paper.txt", text)
}

// The file says what the paper says, cell by cell and in its order, and nothing
// else; what is drawn from the kept model is what was drawn from the cards.
func TestCareCards_PDF(t *testing.T) {
	cards := sampleCards(t)
	cards.Cards[1].Safety = []string{"hydrogen fluoride (fluorite): never in acid"}
	kept, err := cards.JSON()
	if err != nil {
		t.Fatal(err)
	}
	p, err := PaperOf(book.Document{Number: cards.Number, Kind: "CARE", Model: kept})
	if err != nil {
		t.Fatal(err)
	}
	var raw, direct bytes.Buffer
	if err := pdf.Write(&raw, p); err != nil {
		t.Fatal(err)
	}
	if err := pdf.Write(&direct, cards.Layout()); err != nil || !bytes.Equal(raw.Bytes(), direct.Bytes()) {
		t.Errorf("%v: the kept model gives another file", err)
	}
	out := office.Poppler(t, raw.Bytes(), "pdftotext", "-raw")
	rest := strings.Join(strings.Fields(string(out)), " ")
	for _, part := range p.Parts {
		for _, block := range slices.Concat(part.Blocks, part.Foot) {
			for _, r := range block.Rows {
				for _, c := range r.Cells {
					for _, text := range c.Text {
						want := strings.Join(strings.Fields(text.Words), " ")
						after, found := strings.CutPrefix(rest, want)
						if !found {
							t.Fatalf("want %q, the file goes on with %.80q", want, rest)
						}
						rest = strings.TrimSpace(after)
					}
				}
			}
		}
	}
	if rest != "" {
		t.Errorf("the file says more: %q", rest)
	}
}

// A model of another kind of document, or a broken one, is an error; documents
// without this form have no paper.
func TestPaperOf_Other(t *testing.T) {
	for model, want := range map[string]string{"{": "read CARE-2026-0001: unexpected end",
		`{"schema":"lotpaper/care-cards/2"}`: `its model is a "lotpaper/care-cards/2"`} {
		_, err := PaperOf(book.Document{Number: "CARE-2026-0001", Kind: "CARE", Model: json.RawMessage(model)})
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", model, err)
		}
	}
	if p, err := PaperOf(book.Document{Kind: "PROPOSAL"}); p != nil || err != nil {
		t.Errorf("%v, %v", p, err)
	}
}

// The card of every material in every setting says no less than the findings: a
// sentence at caution or worse stands on it with its word, one at the mildest
// level stands on it or beside one that says as much, and each bench step is
// named by what is allowed of it.
func TestCareCard_NeverWeaker(t *testing.T) {
	for _, m := range facts.Materials() {
		for _, set := range facts.Settings() {
			s := durability.Situation{Stone: durability.Stone{Material: m},
				Position: durability.Position{Setting: set, Piece: "ring", Wear: "daily"}, Bench: durability.Steps[:]}
			care := durability.CareOf(s, durability.Judge(s))
			card := CareCard{CareWords: CareWords{Safety: []string{"hydrogen fluoride (fluorite): never in acid"},
				Wear: care.Wear, Cleaning: care.Clean, Storage: care.Store, Light: care.Display, Repair: care.Repair}}
			told := words([]paper.Block{card.advice(paper.Body, 1)}) + careYearly
			for _, topic := range card.lines() {
				for _, sentence := range topic.words {
					if what := untold(told, sentence); what != "" {
						t.Fatalf("%s in %s: %q is not told (%s):\n%s", m.Name, set.Name, sentence, what, told)
					}
				}
			}
		}
	}
}

// untold says what is missing of a sentence in what a card tells.
func untold(told, sentence string) string {
	line := func(start, holds string) bool {
		return slices.ContainsFunc(strings.Split(told, "\n"), func(l string) bool {
			return strings.Contains(l, start) && strings.Contains(l, holds)
		})
	}
	for _, w := range stepWords {
		switch sentence {
		case durability.SayForbidden + w.step + ".":
			if !line("", w.words) || line("Only by an expert: ", w.words) {
				return "never " + w.words
			}
			return ""
		case durability.SayGuarded + w.step + ".":
			if !line("Only by an expert: ", w.words) {
				return "an expert for " + w.words
			}
			return ""
		}
	}
	plain := unleveled(sentence)
	says := func(s string) bool {
		s = strings.TrimPrefix(strings.TrimPrefix(s, durability.SayCare), "Clean by")
		if strict, ok := strings.CutPrefix(s, durability.SayAvoid); ok {
			s = durability.SayAvoid + strings.ToLower(strict[:1]) + strict[1:]
		}
		return strings.Contains(told, s)
	}
	order, never := strings.CutPrefix(plain, "Never ")
	switch {
	case says(sentence), says(capital(sentence)):
		return ""
	case never && slices.Contains(strings.Split(told, "\n"), strings.TrimSuffix(order, ".")):
		return ""
	case sentence == plain || sentence == durability.SayCare+plain:
		if slices.ContainsFunc(saidBy[plain], says) {
			return ""
		}
	}
	for _, w := range stepWords {
		if forbiddenSays[plain] == w.step && line("", w.words) && !line("Only by an expert: ", w.words) {
			return ""
		}
	}
	return "the sentence"
}

// Each sentence that the cards know by its words is one of the tables.
func TestSaidBy_InTables(t *testing.T) {
	var tables strings.Builder
	names, err := fs.Glob(data.FS, "rules_*.csv")
	if err != nil || len(names) == 0 {
		t.Fatal(err)
	}
	for _, name := range names {
		raw, err := fs.ReadFile(data.FS, name)
		if err != nil {
			t.Fatal(err)
		}
		tables.Write(raw)
	}
	known := []string{careYearly}
	for s, by := range saidBy {
		known = append(append(known, s), by...)
	}
	for s := range forbiddenSays {
		known = append(known, s)
	}
	for _, s := range known {
		if !strings.Contains(tables.String(), s) {
			t.Errorf("no table says %q", s)
		}
	}
	for i, w := range stepWords {
		if !slices.Contains(durability.Steps[:], w.step) || len(stepWords) != len(durability.Steps) {
			t.Errorf("%d: %s is no step of %v", i, w.step, durability.Steps)
		}
	}
}

// A nature or treatment that nobody stated is never passed over, and what a
// laboratory reported says so.
func TestCareStone_Disclosure(t *testing.T) {
	lab := Facet{"natural", book.LabReported}
	for _, c := range []struct {
		words StoneWords
		want  string
	}{
		{StoneWords{}, "Nature not stated. Treatment not stated."},
		{StoneWords{Nature: Facet{"natural", book.Stated}, Assumed: "dyed, not permanent",
			SpecialCare: "Keep from solvents."}, "Natural. No treatment was stated to us, so we call it dyed, not " +
			"permanent. Keep from solvents."},
		{StoneWords{Nature: Facet{"laboratory-grown", book.Stated}, Treatment: Facet{"none", book.Stated},
			Permanence: "no treatment"}, "Laboratory-grown. No treatment."},
		{StoneWords{Nature: lab, Treatment: Facet{"moonbeams", book.LabReported}},
			"Natural (laboratory report). Moonbeams (laboratory report)."},
	} {
		s := CareStone{StoneWords: c.words}
		b := new(CareCards).stone(s, 1)
		if got := words([]paper.Block{{Rows: b.Rows[len(b.Rows)-1:]}}); got != c.want+"\n" {
			t.Errorf("got %swant %s", got, c.want)
		}
		foot := words(new(CareCards).foot(CareCard{Stones: []CareStone{s}}))
		if strings.Contains(foot, "where no laboratory report is named") != (c.words.Nature == lab) {
			t.Errorf("%s: %s", c.want, foot)
		}
	}
}

func TestCareStone_Measures(t *testing.T) {
	for _, c := range [][3]string{
		{"oval", "7.90-8.10 x 5.90-6.10 x 4.10", "7.90–8.10 × 5.90–6.10 × 4.10 mm"},
		{"round", "1.95-2.05 x 1.95-2.05 x 1.25", "1.95–2.05 × 1.25 mm"},
		{"round", "5.01 x 4.98 x 3.15", "5.01 × 4.98 × 3.15 mm"},
		{"cushion", "9.00 x 9.00 x 6.20", "9.00 × 9.00 × 6.20 mm"},
		{"", "4.00", "4.00 mm"}, {"round", "", ""},
	} {
		if got := strings.ReplaceAll(measureWords(c[0], c[1]), noBreak, " "); got != c[2] {
			t.Errorf("%s %s: %s, want %s", c[0], c[1], got, c[2])
		}
	}
}

// Stones are drawn as large as the box allows, each kind in a row; what has no
// shape or size is not drawn.
func TestCareCard_Drawing(t *testing.T) {
	stone := func(pieces int64, shape, size string) CareStone {
		return CareStone{Pieces: pieces, StoneWords: StoneWords{Shape: shape, Size: size}}
	}
	for _, c := range []struct {
		stones []CareStone
		want   string
	}{
		{[]CareStone{stone(1, "oval", "8.00 x 6.00 x 4.10")}, "stones at 2 times their size, 12.00 x 16.00"},
		{[]CareStone{stone(5, "round", "6.00 x 3.80")}, "stones at true size, 36.00 x 6.00"},
		{[]CareStone{stone(1, "round", "5.00"), stone(6, "round", "2.00")},
			"stones at 2 times their size, 31.50 x 15.50"},
		{[]CareStone{stone(40, "round", "1.50")}, "stones at 3 times their size, 4.50 x 4.50"},
		{[]CareStone{stone(1, "oval", "90.00 x 70.00")}, ", 0.00 x 0.00"},
		{[]CareStone{stone(1, "rough", "8.00 x 6.00"), stone(1, "oval", ""), stone(1, "oval", "large")},
			", 0.00 x 0.00"},
		{nil, ", 0.00 x 0.00"},
	} {
		d, scale := CareCard{Stones: c.stones}.drawing()
		if d == nil {
			d = &paper.Drawing{}
		}
		if got := fmt.Sprintf("%s, %.2f x %.2f", strings.ReplaceAll(scale, noBreak, " "), d.Width,
			d.Height); got != c.want {
			t.Errorf("%+v: %s, want %s", c.stones, got, c.want)
		}
		for _, l := range d.Lines {
			for _, q := range l.Points {
				if q.X < -1e-9 || q.Y < -1e-9 || q.X > d.Width+1e-9 || q.Y > d.Height+1e-9 {
					t.Fatalf("%v lies outside the drawing", q)
				}
			}
		}
	}
}
