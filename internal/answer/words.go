package answer

import (
	"strings"

	"lotpaper/internal/book"
)

// List is never nil, so that JSON says [] and not null.
func List(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}

func SizeWords(l book.Lot) string {
	var parts []string
	for _, d := range []book.Size{l.Length, l.Width, l.Depth} {
		if !d.IsZero() {
			parts = append(parts, d.String())
		}
	}
	return strings.Join(parts, " x ")
}
