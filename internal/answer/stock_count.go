package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
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

var countColumns = []column[CountDifference]{
	screen("lot", func(d *CountDifference) sheet.Cell { return sheet.Text(d.Lot) }),
	screen("place", func(d *CountDifference) sheet.Cell { return sheet.Text(string(d.Place)) }),
	screen("book pieces", func(d *CountDifference) sheet.Cell { return sheet.Int(d.BookPieces) }),
	screen("counted", func(d *CountDifference) sheet.Cell { return sheet.Int(d.Counted) }),
	screen("book ct", func(d *CountDifference) sheet.Cell { return sheet.Carats(d.BookCarats) }),
	screen("weighed", func(d *CountDifference) sheet.Cell { return sheet.Carats(d.Weighed) }),
	screen("what differs", func(d *CountDifference) sheet.Cell { return sheet.Text(d.What) }),
}

// Screen is the differences and what was counted.
func (c *StockCount) Screen() Screen {
	s := Screen{{Table: tableOf(countColumns, c.Differences)}}
	s.line("%d lots counted, %d differ, %d not counted", c.Counted, len(c.Differences), len(c.Missing))
	return s
}
