package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// CountDifference is one lot that a physical count found otherwise.
type CountDifference struct {
	Lot        string     `json:"lot"`
	Place      book.Place `json:"place"`
	BookPieces int64      `json:"book_pieces"`
	Counted    int64      `json:"counted"`
	BookCarats num.Carat  `json:"book_carats"`
	Weighed    num.Carat  `json:"weighed"`
	What       string     `json:"what"`
}

// StockCount is a physical count held against the book.
type StockCount struct {
	Counted     int               `json:"counted"`
	Differences []CountDifference `json:"differences"`
	Missing     []string          `json:"missing"` // lots in the safe that nobody counted
	Warnings    fault.List        `json:"warnings"`
}
