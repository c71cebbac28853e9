package pdf

import (
	"bytes"
	"compress/zlib"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"lotpaper/internal/page"
	"lotpaper/internal/testkit/office"
)

// Each specimen has its number of sheets in both sizes, is the same bytes each
// time, and a program that is not ours reads in it what was laid out, where it was
// laid out. No text stands outside the margins, none over another, and none is
// smaller than 8 points.
func TestSpecimens(t *testing.T) {
	sheets := map[string]int{"quote": 2, "stock": 2}
	for name, specimen := range specimens {
		for size, word := range map[page.Size]string{page.A4: "a4", page.Letter: "letter"} {
			t.Run(name+"-"+word, func(t *testing.T) {
				t.Parallel()
				p := specimen(size)
				raw := written(t, p)
				if dir := os.Getenv("LOTPAPER_TEST_PAPERS"); dir != "" {
					if err := os.WriteFile(filepath.Join(dir, name+"-"+word+".pdf"), raw, 0o644); err != nil {
						t.Fatal(err)
					}
				}
				if !bytes.Equal(raw, written(t, specimen(size))) {
					t.Error("drawn twice it is two files")
				}
				laid, err := Sheets(p)
				if err != nil {
					t.Fatal(err)
				}
				if want := max(1, sheets[name]); len(laid) != want {
					t.Errorf("%d sheets, want %d", len(laid), want)
				}
				for i := range laid {
					if what := misplaced(p, &laid[i]); what != "" {
						t.Errorf("sheet %d: %s", i+1, what)
					}
				}
				sameWords(t, raw, laid)
			})
		}
	}
}

// misplaced says which text of a sheet stands outside the margins or over
// another, or is too small; empty: none.
func misplaced(p *page.Paper, s *page.Sheet) string {
	const mm, eps = 25.4 / 72, 0.01
	left, high := 20.0, 297.0
	if p.Size == page.Letter {
		high = 279.4
	}
	if p.Landscape {
		left, high = 14, map[page.Size]float64{page.A4: 210, page.Letter: 215.9}[p.Size]
	}
	if s.Height != high {
		return fmt.Sprintf("it is %g mm high", s.Height)
	}
	above := func(w page.Placed) float64 { return w.Y - 0.7*mm*p.Look(w.Style).Points }
	below := func(w page.Placed) float64 { return w.Y + 0.2*mm*p.Look(w.Style).Points }
	for i, w := range s.Words {
		switch {
		case p.Look(w.Style).Points < 8:
			return fmt.Sprintf("%q is smaller than 8 points", w.Words)
		case w.X < left-eps, w.X+w.Width > s.Width-left+eps, above(w) < 10, below(w) > high-10:
			return fmt.Sprintf("%q stands outside the margins: %+v", w.Words, w)
		}
		for _, o := range s.Words[:i] {
			if w.X < o.X+o.Width-eps && o.X < w.X+w.Width-eps && above(w) < below(o)-eps && above(o) < below(w)-eps {
				return fmt.Sprintf("%q stands over %q", w.Words, o.Words)
			}
		}
	}
	return ""
}

// sameWords compares the words of a file with what was laid out: their order, and
// their places within 0.1 mm.
func sameWords(t *testing.T, raw []byte, sheets []page.Sheet) {
	t.Helper()
	type word struct {
		X    float64 `xml:"xMin,attr"`
		End  float64 `xml:"xMax,attr"`
		Text string  `xml:",chardata"`
	}
	var found struct {
		Pages []struct {
			Words []word `xml:"word"`
		} `xml:"body>doc>page"`
	}
	if err := xml.Unmarshal(office.Poppler(t, raw, "pdftotext", "-bbox", "-raw"), &found); err != nil {
		t.Fatal(err)
	}
	if len(found.Pages) != len(sheets) {
		t.Fatalf("the file has %d sheets, want %d", len(found.Pages), len(sheets))
	}
	for n, sheet := range sheets {
		words := found.Pages[n].Words
		for _, set := range sheet.Words {
			fields := strings.Fields(set.Words) // a no-break space parts words too
			if len(fields) > len(words) {
				t.Fatalf("sheet %d ends before %q", n+1, set.Words)
			}
			for i, f := range fields {
				if words[i].Text != f {
					t.Fatalf("sheet %d: %q, want %q of %q", n+1, words[i].Text, f, set.Words)
				}
			}
			const mm = 25.4 / 72
			from, to := words[0].X*mm, words[len(fields)-1].End*mm
			if math.Abs(from-set.X) > 0.1 || math.Abs(to-set.X-set.Width) > 0.1 {
				t.Errorf("sheet %d: %q stands from %.2f to %.2f mm, want %.2f to %.2f", n+1, set.Words, from, to, set.X,
					set.X+set.Width)
			}
			words = words[len(fields):]
		}
		if len(words) > 0 {
			t.Errorf("sheet %d says more: %v", n+1, words)
		}
	}
}

// What is drawn at full size measures so within 0.1 mm in the file: the bar of 50
// mm, an outline of 5 x 7 and one of 8 x 8.
func TestWrite_FullSize(t *testing.T) {
	drawn := extents(t, written(t, order(page.A4)))
	for _, want := range [][2]float64{{50, 0}, {5, 7}, {8, 8}} {
		found := false
		for _, e := range drawn {
			found = found || math.Abs(e[0]-want[0]) < 0.1 && math.Abs(e[1]-want[1]) < 0.1
		}
		if !found {
			t.Errorf("nothing measures %g x %g mm", want[0], want[1])
		}
	}
}

// extents are the widths and heights of all paths of a file, mm.
func extents(t *testing.T, raw []byte) [][2]float64 {
	t.Helper()
	var out [][2]float64
	for _, stream := range bytes.Split(raw, []byte("stream\n"))[1:] {
		z, err := zlib.NewReader(bytes.NewReader(stream))
		if err != nil {
			continue
		}
		text, _ := io.ReadAll(z)
		var numbers, xs, ys []float64
		for _, word := range strings.Fields(string(text)) {
			if n, err := strconv.ParseFloat(word, 64); err == nil {
				numbers = append(numbers, n/72*25.4)
				continue
			}
			switch n := len(numbers); {
			case word == "m" && n >= 2:
				xs, ys = []float64{numbers[n-2]}, []float64{numbers[n-1]}
			case word == "l" && n >= 2:
				xs, ys = append(xs, numbers[n-2]), append(ys, numbers[n-1])
			case (word == "S" || word == "s") && len(xs) > 0:
				out = append(out, [2]float64{spread(xs), spread(ys)})
				xs, ys = nil, nil
			}
			numbers = nil
		}
	}
	return out
}

func spread(of []float64) float64 {
	low, high := of[0], of[0]
	for _, x := range of {
		low, high = min(low, x), max(high, x)
	}
	return high - low
}

// Equal pictures are in the file once, and a picture that is none is an error.
func TestWrite_Pictures(t *testing.T) {
	if n := bytes.Count(written(t, memo(page.A4)), []byte("/Subtype /Image")); n != 1 {
		t.Errorf("%d pictures, want the logo", n)
	}
	if n := bytes.Count(written(t, quote(page.A4)), []byte("/Subtype /Image")); n != 5 {
		t.Errorf("%d pictures, want the logo and four", n)
	}
	p := memo(page.A4)
	p.Head.House.Logo = &page.Picture{Data: []byte("PK\x03\x04"), Wide: 1, High: 1}
	var b bytes.Buffer
	if err := Write(&b, p); err == nil || b.Len() > 0 {
		t.Errorf("%v, %d bytes", err, b.Len())
	}
}
