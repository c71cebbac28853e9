package intake

import (
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// CountColumns are the columns of a stock count.
var CountColumns = sheet.Columns{
	{Name: "lot", Required: true, Aliases: []string{"lot_no", "lot code"}, Note: "The lot's code in the book.",
		Example: "P12-3"},
	{Name: "name", Note: "As the book calls it; not read."},
	{Name: "size_mm", Note: "As the book has it; not read."},
	{Name: "place", Note: "Where it lies. Empty: the safe; of several offices the one where the lot lies.",
		Example: "safe"},
	{Name: "book_pieces", Kind: sheet.NumberColumn, Note: "What should be there; not read."},
	{Name: "book_ct", Kind: sheet.NumberColumn, Note: "What should be there; not read."},
	{Name: "pieces", Aliases: []string{"counted", "pcs"}, Required: true, Kind: sheet.NumberColumn,
		Note: "Stones counted; 0 when the paper is empty.", Example: "12"},
	{Name: "weight_ct", Aliases: []string{"weight", "carats", "ct"}, Kind: sheet.NumberColumn,
		Note: "Weight found, in carats. Empty: not weighed.", Example: "14.61"},
	{Name: "note", Aliases: []string{"notes", "remark"}, Note: "Anything else.", Example: ""},
}

// Count is what was found of one lot at one place.
type Count struct {
	Where   fault.Where
	Lot     string
	Place   string // as written; empty: the safe
	Pieces  int64
	Carats  num.Carat
	Weighed bool
	Note    string
}

// ReadCount reads a stock count; the rows come with their faults, so that what
// the book says against them can be told at once.
func ReadCount(f *sheet.File) ([]Count, fault.List) {
	var out []Count
	seen := map[string]int{}
	faults := f.Read(sheet.Table{Sheet: sheetFor(f, CountColumns, "count"), Kind: "count", Columns: CountColumns},
		func(row sheet.Row, l *fault.List) {
			c := cells{row, l}
			n := Count{Where: c.Where("lot"), Place: c.text("place"), Note: c.text("note")}
			if c.need("lot", "name the lot") {
				n.Lot = c.Text("lot")
				c.seen(seen, "lot", "lot", n.Lot+" "+n.Place)
			}
			pieces, ok := c.count("pieces")
			if n.Pieces = pieces; !ok {
				c.need("pieces", "enter the stones counted, 0 when the paper is empty")
			}
			if c.filled("weight_ct") {
				n.Weighed = true
				n.Carats = read(c, "weight_ct", num.ParseCarat)
				switch {
				case n.Carats < 0:
					c.faultf("weight_ct", "weight-negative", "enter the weight as a positive number, or 0",
						"a weight must not be negative, but is %s", c.Text("weight_ct"))
				case ok && n.Pieces == 0 && n.Carats > 0:
					c.faultf("pieces", "pieces-zero", "count again", "a lot that weighs %s ct has no pieces", n.Carats)
				case ok && n.Pieces > 0 && n.Carats == 0:
					c.faultf("weight_ct", "weight-zero", "weigh again, or leave it empty", "%d pieces weigh nothing",
						n.Pieces)
				}
			}
			out = append(out, n)
		})
	return out, faults
}
