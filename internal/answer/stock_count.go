package answer

import (
	"slices"
	"strings"

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
	Note       string     `json:"note"` // of whoever counted
}

// StockCount is a physical count held against the book.
type StockCount struct {
	Head        `json:"-"`
	Moved       *Moved            `json:"moved"` // what was booked; null: nothing
	Counted     int               `json:"counted"`
	Differences []CountDifference `json:"differences"`
	Missing     []string          `json:"missing"` // lots in the safe that nobody counted
	Warnings    fault.List        `json:"warnings"`
}

// ofCount is the value of a column of what was counted: empty for a lot that
// nobody counted, which has no place.
func ofCount(value func(*CountDifference) sheet.Cell) func(*CountDifference) sheet.Cell {
	return func(d *CountDifference) sheet.Cell {
		if d.Place == "" {
			return sheet.Empty()
		}
		return value(d)
	}
}

var countColumns = []column[CountDifference]{
	{"lot", "Lot", 12, func(d *CountDifference) sheet.Cell { return sheet.Text(d.Lot) }},
	{"place", "Place", 20, func(d *CountDifference) sheet.Cell { return sheet.Text(string(d.Place)) }},
	{"book pieces", "Book pieces", 10, ofCount(func(d *CountDifference) sheet.Cell {
		return sheet.Int(d.BookPieces)
	})},
	{"counted", "Counted", 10, ofCount(func(d *CountDifference) sheet.Cell { return sheet.Int(d.Counted) })},
	{"book ct", "Book (ct)", 11, ofCount(func(d *CountDifference) sheet.Cell { return sheet.Carats(d.BookCarats) })},
	{"weighed", "Weighed (ct)", 11, ofCount(func(d *CountDifference) sheet.Cell { return sheet.Carats(d.Weighed) })},
	{"what differs", "What differs", 44, func(d *CountDifference) sheet.Cell { return sheet.Text(d.What) }},
}

// missingShown is how many lots that nobody counted are named on screen.
const missingShown = 20

// List is what differs; files also hold each lot that nobody counted.
func (c *StockCount) List() Listing {
	rows := slices.Clone(c.Differences)
	for _, lot := range c.Missing {
		rows = append(rows, CountDifference{Lot: lot, What: "not counted"})
	}
	return &list[CountDifference]{head: c.Head, columns: countColumns, rows: rows, screen: func() Screen {
		s := Screen{{Table: tableOf(countColumns, c.Differences)}}
		if c.Moved != nil {
			s = append(s, c.Moved.Screen()...)
			s.line("%d differences are booked", len(c.Differences))
		}
		s.line("%d lots counted, %d differ, %d not counted", c.Counted, len(c.Differences), len(c.Missing))
		if len(c.Missing) > 0 {
			s.line("not counted: %s", Wrap(strings.Join(shown(c.Missing, missingShown), ", "), 86, "    "))
		}
		if more := len(c.Missing) - missingShown; more > 0 {
			s.cut(false, "    ... and %d more", more)
		}
		return s
	}}
}
