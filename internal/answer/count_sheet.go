package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// CountSheet is what should lie at a place, to be counted: lotpaper/count-sheet/1.
type CountSheet struct {
	Head
	Place book.Place `json:"place"`
	Lots  []CountLot `json:"lots"`
}

// CountLot is one lot of a count sheet.
type CountLot struct {
	Lot    string    `json:"lot"`
	Name   string    `json:"name"`
	Size   string    `json:"size"`
	Pieces int64     `json:"pieces"`
	Carats num.Carat `json:"carats"`
}

// JSON is the model's canonical form.
func (c *CountSheet) JSON() ([]byte, error) { return encode("lotpaper/count-sheet/1", c) }

// Workbook is one bare table, so that it can be read as it was filled in.
func (c *CountSheet) Workbook() (*sheet.Workbook, error) {
	s := &page{Sheet: sheet.Sheet{Name: "Count", Landscape: true, FreezeCol: 1,
		Footer: c.Number + ": count of " + string(c.Place) + ", fill in the yellow cells",
		Columns: []sheet.Col{{Header: "Lot", Width: 14}, {Header: "Name", Width: 24}, {Header: "Size (mm)", Width: 22},
			{Header: "Place", Width: 16}, {Header: "Book pieces", Width: 10}, {Header: "Book (ct)", Width: 11},
			{Header: "Pieces", Width: 9}, {Header: "Weight (ct)", Width: 11}, {Header: "Note", Width: 28}}}}
	for _, l := range c.Lots {
		cells := []cell{styled(l.Lot, sheet.Strong), text(l.Name), text(l.Size), text(string(c.Place)),
			whole(l.Pieces), plain(sheet.Carats(l.Carats))}
		for range 3 {
			cells = append(cells, plain(sheet.Empty().As(sheet.Input)))
		}
		s.add(cells...)
	}
	return assemble(c.Head, newTally(c.Currency), []*page{s})
}

// CountIssued is a count sheet that was issued.
type CountIssued struct {
	Place    book.Place   `json:"place"`
	Lots     int          `json:"lots"`
	Pieces   int64        `json:"pieces"`
	Carats   num.Carat    `json:"carats"`
	Document DocumentFile `json:"document"`
}

// Screen is what should be there, and the paper's number.
func (c *CountIssued) Screen() Screen {
	var s Screen
	s.line("%s: count %d lots at %s, by the book %d pieces, %s ct", c.Document.Number, c.Lots, c.Place, c.Pieces,
		c.Carats)
	return s
}
