package answer

import (
	"lotpaper/internal/book"
)

// Lines are lines with their designs.
type Lines struct {
	Lines []LineShow `json:"lines"`
}

// LineShow is a line with its designs.
type LineShow struct {
	book.Line
	Designs []book.Design `json:"designs"`
}
