package page

import (
	"fmt"
	"iter"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"lotpaper/internal/fault"
)

// Advance is the width of a letter in thousandths of the size of its type; it
// reports false when the face has no such letter.
type Advance func(Face, rune) (thousandths int, has bool)

// width is the length of a text in millimetres.
func (advance Advance) width(l Look, text string) float64 {
	sum := 0
	for _, r := range text {
		w, _ := advance(l.Face, r)
		sum += w
	}
	return float64(sum) / 1000 * l.Points * mmPerPoint
}

// wrap breaks words into lines that are no wider than width: at spaces, and
// inside a word only when it is wider than a whole line. The last line has two
// words at least, where the line above it can spare one.
func (advance Advance) wrap(l Look, words string, width float64) []string {
	var lines []string
	line := ""
	for word := range strings.FieldsFuncSeq(words, func(r rune) bool { return r == ' ' }) {
		if longer := strings.TrimPrefix(line+" "+word, " "); advance.width(l, longer) <= width {
			line = longer
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for line = word; advance.width(l, line) > width && utf8.RuneCountInString(line) > 1; {
			at := advance.fitting(l, line, width)
			lines, line = append(lines, line[:at]), line[at:]
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	if n := len(lines); n > 1 && !strings.Contains(line, " ") {
		above := lines[n-2]
		if at := strings.LastIndex(above, " "); at > 0 && strings.Contains(above[:at], " ") &&
			advance.width(l, above[at+1:]+" "+line) <= width {
			lines[n-2], lines[n-1] = above[:at], above[at+1:]+" "+line
		}
	}
	return lines
}

// fitting is the number of bytes of a word that fit into width, one letter at
// least.
func (advance Advance) fitting(l Look, word string, width float64) int {
	at := 0
	for i, r := range word {
		if i > 0 && advance.width(l, word[:i+utf8.RuneLen(r)]) > width {
			break
		}
		at = i + utf8.RuneLen(r)
	}
	return at
}

// check returns a fault for each text of the paper that cannot be printed as it
// is written: what is wrong with it is named.
func (p *Paper) check(advance Advance) fault.List {
	var out fault.List
	seen := map[string]bool{}
	check := func(face Face, words string) {
		if what := unprintable(advance, face, words); what != "" && !seen[words] {
			seen[words] = true
			out.Add(fault.New(fault.Invalid, "paper-letters", fmt.Sprintf("%q cannot be printed: it holds %s",
				words, what),
				"write it without, and issue the paper anew").AtRef(p.Number))
		}
	}
	check(Regular, p.Title)
	check(Regular, p.Author)
	for t := range p.texts() {
		check(t.Style.Look().Face, t.Words)
	}
	return out
}

// texts are all texts of the paper.
func (p *Paper) texts() iter.Seq[Text] {
	return func(yield func(Text) bool) {
		for _, part := range p.Parts {
			for _, b := range slices.Concat(part.Blocks, part.Tight, part.Again, part.Foot) {
				for _, r := range b.Rows {
					for _, c := range r.Cells {
						for _, t := range c.Text {
							if !yield(t) {
								return
							}
						}
					}
				}
			}
		}
	}
}

// unprintable says what a text holds that a paper cannot show; empty: nothing.
func unprintable(advance Advance, face Face, words string) string {
	if !utf8.ValidString(words) {
		return "bytes that are no UTF-8"
	}
	var before rune
	for _, r := range words {
		_, has := advance(face, r)
		switch {
		case unicode.IsControl(r), unicode.Is(unicode.Cf, r), unicode.Is(unicode.Zl, r), unicode.Is(unicode.Zp, r):
			return fmt.Sprintf("the control character %U", r)
		case unicode.Is(unicode.M, r): // it would be drawn beside its letter
			return fmt.Sprintf("the mark %U after %q, which is not written as one letter with it", r, before)
		case !has:
			return fmt.Sprintf("%q (%U), for which there is no letter in its type", r, r)
		}
		before = r
	}
	return ""
}
