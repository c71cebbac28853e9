package answer

import (
	"lotpaper/internal/book"
)

// LineShow is a line with its designs.
type LineShow struct {
	book.Line
	Designs []book.Design `json:"designs"`
}
