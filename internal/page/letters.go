package page

import (
	"cmp"
	"fmt"
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

// wrap breaks words into lines that are no wider than width: at spaces, and after
// a hyphen or stroke inside a word that is wider than a whole line. The last line
// has two words at least, where the line above it can spare one. It returns the
// first word that no line has room for; cut says that such a word is broken where the
// line ends.
func (advance Advance) wrap(l Look, words string, width float64, cut bool) (lines []string, wide string) {
	line, space := "", ""
	for word := range strings.FieldsFuncSeq(words, func(r rune) bool { return r == ' ' }) {
		for _, part := range advance.parts(l, word, width, cut) {
			longer := line + space + part
			switch space = ""; {
			case advance.width(l, longer) <= width+slack:
				line = longer
				continue
			case line != "":
				lines = append(lines, line)
			}
			if line = part; advance.width(l, line) > width+slack {
				wide = cmp.Or(wide, part)
			}
		}
		space = " "
	}
	if line != "" {
		lines = append(lines, line)
	}
	if n := len(lines); n > 1 && !strings.Contains(line, " ") {
		above := lines[n-2]
		if at := strings.LastIndex(above, " "); at > 0 && strings.Contains(above[:at], " ") &&
			advance.width(l, above[at+1:]+" "+line) <= width+slack {
			lines[n-2], lines[n-1] = above[:at], above[at+1:]+" "+line
		}
	}
	return lines, wide
}

// parts are a word, or what lies between its hyphens and strokes when it is wider
// than a line. What is still wider is cut into pieces that fill a line.
func (advance Advance) parts(l Look, word string, width float64, cut bool) []string {
	if advance.width(l, word) <= width+slack {
		return []string{word}
	}
	var out []string
	for rest := word; rest != ""; {
		end := len(rest)
		if at := strings.IndexAny(rest, "-/"); at >= 0 {
			end = at + 1
		}
		part := rest[:end]
		rest = rest[end:]
		for cut && advance.width(l, part) > width+slack {
			n := 0
			for i, r := range part {
				if i > 0 && advance.width(l, part[:i+utf8.RuneLen(r)]) > width+slack {
					break
				}
				n = i + utf8.RuneLen(r)
			}
			if n == len(part) {
				break
			}
			out, part = append(out, part[:n]), part[n:]
		}
		out = append(out, part)
	}
	return out
}

// slack is what rounding may add to a length.
const slack = 1e-6

// words are what a paragraph says.
func (p *Paper) words(t Text) string {
	if t.Value != nil {
		return t.Value.words(p.Dates)
	}
	return t.Words
}

// text breaks a paragraph into lines. It adds a fault for what cannot be printed
// and for a word that is wider than width, unless cut breaks it; where names the cell
// it stands in. A value is never broken.
func (l *layout) text(t Text, width float64, where string, cut bool) []string {
	look, words := t.Style.Look(), l.paper.words(t)
	if !l.printable(look.Face, words) {
		return nil
	}
	lines, wide := l.advance.wrap(look, words, width, cut && t.Value == nil)
	if wide != "" {
		l.fault("paper-wide", fmt.Sprintf("%q is too wide for %s", wide, where), "write it in shorter words")
	}
	return lines
}

// printable adds a fault for a text that a paper cannot show as it is written:
// what is wrong with it is named.
func (l *layout) printable(face Face, words string) bool {
	what := unprintable(l.advance, face, words)
	if what != "" {
		l.fault("paper-letters", fmt.Sprintf("%q cannot be printed: it holds %s", words, what), "write it without")
	}
	return what == ""
}

// fault adds a fault of the paper, once.
func (l *layout) fault(code, what, mend string) {
	if !l.told[what] {
		l.told[what] = true
		l.faults.Add(fault.New(fault.Invalid, code, what, mend+", and issue the paper anew").AtRef(l.paper.Number))
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
