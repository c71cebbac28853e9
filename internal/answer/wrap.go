package answer

import (
	"strings"
	"unicode/utf8"
)

// Wrap breaks text into lines of at most width characters, each after the
// first indented by indent.
func Wrap(text string, width int, indent string) string {
	var b strings.Builder
	n := 0
	for i, word := range strings.Fields(text) {
		w := utf8.RuneCountInString(word)
		switch {
		case i == 0:
		case n+1+w > width:
			b.WriteString("\n" + indent)
			n = utf8.RuneCountInString(indent)
		default:
			b.WriteByte(' ')
			n++
		}
		b.WriteString(word)
		n += w
	}
	return b.String()
}
